"""Promise: nothing is ever called safe. The word stands in no reply, page, command output, document or table.

Allowed are names that others gave: the titles, keys and addresses of sources, and names of programming (the argument
``safe=``, ``urlsafe_b64encode`` and the like of the standard library, the library ``markupsafe``, ``'unsafe-inline'`` of the Fetch standard).
"""

import re
import tomllib
from functools import lru_cache
from pathlib import Path
from typing import get_args

import orjson
import pytest
from pydantic import TypeAdapter
from starlette.testclient import TestClient
from typer.testing import CliRunner

from service.cli.main import app as command_line
from service.cli.terminal.printing import HANDLING_WORDS, OUTCOME_WORDS, STATUS_WORDS, VERDICT_WORDS
from service.domain.lunch.verdict import Verdict
from service.jobs.word_lists import Outcome
from service.reference.foods.generic_foods import generic_foods
from tests.contract.example_files import FOLDER, Example, example_files

ROOT = Path(__file__).resolve().parents[2]
WORD = re.compile(r"(?<!\ba)safe", re.I)
OF_PROGRAMMING = ("markupsafe", "'unsafe-inline'", "urlsafe_b64encode", "urlsafe_b64decode", "token_urlsafe", "safe=")
LUNCHES = [one for one in example_files() if one.operation == "check-lunch"]
VENDORED = ROOT / "service" / "api" / "docs" / "static" / "swagger-ui"


@lru_cache(maxsize=1)
def names_of_sources() -> tuple[str, ...]:
    """Keys, titles, publishers and addresses of the sources that hold the word; the longest first."""
    names: set[str] = set()
    for path in (ROOT / "reference_data").rglob("*.toml"):
        if not path.name.startswith("sources"):
            continue
        for key, source in tomllib.loads(path.read_text("utf-8")).items():
            rows = source if isinstance(source, dict) else {}
            for name in (key, *(value for value in rows.values() if isinstance(value, str))):
                if WORD.search(name):
                    names.add(name)
            names |= {row for row in _nested(source) if WORD.search(row)}
    return tuple(sorted(names, key=len, reverse=True))


def _nested(value: object) -> list[str]:
    """Every key and text below."""
    if isinstance(value, dict):
        return [str(key) for key in value] + [text for one in value.values() for text in _nested(one)]
    if isinstance(value, list):
        return [text for one in value for text in _nested(one)]
    return [value] if isinstance(value, str) else []


def called(text: str) -> list[str]:
    """Where the word is left when the names that others gave are removed."""
    for name in (*names_of_sources(), *OF_PROGRAMMING):
        text = text.replace(name, "")
    return [text[max(0, hit.start() - 40) : hit.end() + 40] for hit in WORD.finditer(text)]


def test_the_sources_with_the_word_in_their_names_are_few() -> None:
    """What the other tests leave out are whole names of sources, not the bare word."""
    assert names_of_sources()
    assert all(len(name) > len("safety") for name in names_of_sources())


def shipped() -> list[Path]:
    """Every text file of the program, its data, its examples and its own documents."""
    kinds = {".py", ".toml", ".csv", ".txt", ".json", ".md", ".html"}
    found = [
        path for folder in ("service", "reference_data", "openapi_examples") for path in (ROOT / folder).rglob("*")
    ]
    found += list(ROOT.glob("*.md"))
    return [
        path
        for path in found
        if path.suffix in kinds and VENDORED not in path.parents and not path.name.startswith("sources")
    ]


def test_no_file_holds_the_word() -> None:
    """Code, data, examples and documents."""
    found = {str(path.relative_to(ROOT)): called(path.read_text("utf-8")) for path in shipped()}
    assert {name: hits for name, hits in found.items() if hits} == {}


@pytest.mark.parametrize("path", ["/openapi.json", "/docs", "/v1/standards", "/v1/choking-rules", "/v1/allergens"])
def test_no_page_or_list_holds_the_word(service: TestClient, path: str) -> None:
    """Served texts."""
    assert called(service.get(path).text) == []


def test_no_food_and_no_rule_holds_the_word(service: TestClient) -> None:
    """All foods' names, and every standard on a day."""
    assert called("\n".join(generic_foods().names())) == []
    for head in service.get("/v1/standards").json()["items"]:
        assert called(service.get(f"/v1/standards/{head['id']}?on=2027-07-01").text) == []


@pytest.mark.parametrize("arguments", [
    ["--help"], ["check", "--help"], ["screen", "--help"], ["foods", "--help"], ["standards", "--help"], ["serve", "--help"],
    ["demo"], ["demo", "--json"], ["standards"], ["foods", "milk"], ["foods", "yogurt-vanilla-low-fat"],
    ["standards", "us-child-care-lunch", "--on", "2026-12-01"],
])  # fmt: skip
def test_no_command_prints_the_word(arguments: list[str]) -> None:
    """Help, tables and JSON."""
    told = CliRunner().invoke(command_line, arguments)
    assert told.exit_code in (0, 1)
    assert told.output
    assert called(told.output) == []


def test_no_example_printed_as_a_table_holds_the_word() -> None:
    """Every lunch and screening of the examples, as the command line shows it."""
    for example in example_files():
        command = {"check-lunch": "check", "screen-allergens": "screen"}.get(example.operation)
        if command is None:
            continue
        file = FOLDER / example.operation / f"{example.case}.request.json"
        assert called(CliRunner().invoke(command_line, [command, str(file)]).output) == [], example.id()


def test_the_best_a_lunch_can_be_called_is_that_it_keeps_the_rules() -> None:
    """The words for verdicts and outcomes promise nothing."""
    assert set(get_args(Verdict)) == {"do_not_pack", "check_label", "adjust", "pack"} == set(VERDICT_WORDS)
    assert (
        set(TypeAdapter(Outcome).json_schema()["enum"])
        == {"avoid", "may_contain", "check_label", "label_not_seen", "not_declared"}
        == set(OUTCOME_WORDS)
    )
    words = [*VERDICT_WORDS.values(), *OUTCOME_WORDS.values(), *STATUS_WORDS.values(), *HANDLING_WORDS.values()]
    promises = re.compile(r"safe|\bfree\b|\bok\b|fine|clear|harmless|guarante", re.I)
    assert [word for word in words if promises.search(word)] == []


@pytest.mark.parametrize("example", LUNCHES, ids=Example.id)
def test_no_reply_promises_anything(example: Example) -> None:
    """The sentences of a reply use none of the words that promise."""
    promises = re.compile(r"\bharmless|\bguarante|\bno risk|\ballergen[- ]free|\bsuitable\b|\bhealthy\b", re.I)
    assert promises.findall(orjson.dumps(example.reply()).decode()) == []
