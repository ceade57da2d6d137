"""A lunch, a screening, an offer and a week said in Spanish: each sentence is another than in English, and is kept apart from it."""

import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from service.jobs.allergens.screen_family import screen_family
from service.jobs.lunch.check_lunch import check_lunch
from service.jobs.offers.audit_offer import audit_offer
from service.jobs.offers.requests import OfferAuditRequest
from service.jobs.requests.lunches import LunchCheckRequest
from service.jobs.requests.screenings import ScreeningRequest
from service.jobs.weeks.requests import WeekRequest
from service.jobs.weeks.sum_up_week import sum_up_week
from service.reference.messages import LANGUAGE

EXAMPLES = Path(__file__).parents[2] / "openapi_examples"
JOBS: dict[str, Callable[[dict[str, Any]], dict[str, Any]]] = {
    "check-lunch": lambda body: check_lunch(LunchCheckRequest.model_validate(body)),
    "screen-allergens": lambda body: screen_family(ScreeningRequest.model_validate(body)),
    "audit-offer": lambda body: audit_offer(OfferAuditRequest.model_validate(body)),
    "sum-up-week": lambda body: sum_up_week(WeekRequest.model_validate(body)),
}
CASES = [
    (job, path)
    for job in JOBS
    for path in sorted((EXAMPLES / job).glob("*.request.json"))
    if "error" not in path.name and "kept" not in path.name
]


@contextmanager
def language(code: str) -> Iterator[None]:
    """As the pages set it for a request."""
    before = LANGUAGE.set(code)
    try:
        yield
    finally:
        LANGUAGE.reset(before)


def said(reply: Any) -> list[tuple[str, dict[str, Any]]]:
    """Every sentence of a reply with its message: those next to a ``code``, and the texts that have a ``..._message``."""
    found: list[tuple[str, dict[str, Any]]] = []
    if isinstance(reply, dict):
        if "sentence" in reply:
            found.append((reply["sentence"], {"code": reply["code"], "params": reply["params"]}))
        for name, value in reply.items():
            messages = reply.get(f"{name}_message") or reply.get(f"{name.removesuffix('s')}_messages")
            if isinstance(value, str) and value and messages:
                found.append((value, messages))
            elif isinstance(value, list) and messages:
                found += zip(value, messages, strict=True)
            elif name not in ("params",) and not name.endswith(("_message", "_messages")):
                found += said(value)
    elif isinstance(reply, list):
        for one in reply:
            found += said(one)
    return found


ENGLISH_WORDS = frozenset(
    [
        "the",
        "of",
        "is",
        "are",
        "was",
        "not",
        "and",
        "with",
        "for",
        "this",
        "that",
        "each",
        "from",
        "at",
        "least",
        "most",
        "which",
        "it",
        "has",
        "have",
        "too",
        "much",
        "little",
        "known",
        "read",
        "label",
        "look",
        "enter",
        "lunch",
        "lunches",
        "week",
        "school",
        "day",
        "days",
        "child",
        "wanted",
        "rules",
        "rule",
        "may",
        "must",
    ]
)
"""Words that no Spanish sentence has, except within the name of a food."""


COMMAND = "packed-lunch"


def names_of(reply: Any) -> set[str]:
    """The names that people or food tables gave, which stay as they are: of foods, of groups, of children."""
    if isinstance(reply, list):
        return {one for value in reply for one in names_of(value)}
    if not isinstance(reply, dict):
        return set()
    named = [reply.get(name) for name in ("name", "instead_of_name", "menu", "group", "nickname")]
    listed = [one for name in ("items", "names", "groups") for one in reply.get(name) or []]
    own = {one for one in [*named, *listed] if isinstance(one, str)}
    return own | {one for value in reply.values() for one in names_of(value)}


def words_besides(text: str, names: set[str]) -> set[str]:
    """The words of a sentence, those of the names taken out."""
    for name in sorted({*names, COMMAND}, key=len, reverse=True):
        text = text.replace(name, "").replace(name[:1].upper() + name[1:], "")
    return set("".join(letter if letter.isalpha() else " " for letter in text).lower().split())


@pytest.mark.parametrize(("job", "path"), CASES, ids=[f"{job} {path.stem}" for job, path in CASES])
def test_all_is_said_in_spanish_and_then_in_english_again(job: str, path: Path) -> None:
    body = json.loads(path.read_text(encoding="utf-8"))
    english = said(JOBS[job](body))
    with language("es"):
        reply = JOBS[job](body)
    again = said(JOBS[job](body))
    spanish, names = said(reply), names_of(reply)
    assert english
    assert english == again
    assert len(english) == len(spanish)
    assert [text for (text, _), (other, _) in zip(english, spanish, strict=True) if text == other] == []
    for text, _message in spanish:
        assert not words_besides(text, names) & ENGLISH_WORDS, text
