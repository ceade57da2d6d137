"""The words of the pages: each that a template or a page's code asks for is in the catalogue, and no other."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from jinja2 import Environment, nodes

import service
from service.reference.files import data_path, read_toml
from service.reference.message_templates import fields
from service.reference.messages import (
    PageWordsFile,
    catalogue,
    differences,
    languages,
    page_catalogue,
    page_words_path,
)

WEB = Path(service.__file__).parent / "web"
OF_PAGES = page_catalogue().texts.keys() - catalogue().texts.keys()


OF_WHAT_IS_TYPED = (
    "string-too-short",
    "string-too-long",
    "one-line",
    "plain-text",
    "float-type",
    "finite-number",
    "int-type",
    "int-from-float",
    "greater-than",
    "greater-than-equal",
    "less-than-equal",
    "no-plain-number",
    "no-day",
    "no-month",
    "no-gtin",
    "already-there",
    "already-there-with-id",
    "still-used",
    "not-here",
    "unknown-name",
    "literal-error",
    "not-listed",
    "least-above-most",
    "must-not-be-packed",
    "allergen-in-lunch",
    "danger-in-lunch",
    "serving-alone",
    "packet-says-nothing",
    "too-few-to-stand-in",
    "only-group",
    "group-name-taken",
    "outside-age-groups",
    "last-keep-key",
    "no-photo",
)
"""Faults that the forms of the pages can meet: found by sending each form with empty, long, far and wrong values."""


def asked_in_templates() -> Iterator[tuple[str, frozenset[str], str, bool]]:
    """Each ``t(...)``: code, names of the values, place, and whether only the beginning of the code is written there."""
    environment = Environment(extensions=["jinja2.ext.do"], autoescape=True)
    for path in sorted((WEB / "templates").rglob("*.html")):
        for call in environment.parse(path.read_text(encoding="utf-8")).find_all(nodes.Call):
            if not (isinstance(call.node, nodes.Name) and call.node.name == "t"):
                continue
            names, where = frozenset(one.key for one in call.kwargs), f"{path.relative_to(WEB)}:{call.lineno}"
            for text, begins in _codes(call.args[0]):
                yield text, names, where, begins


def _codes(node: nodes.Node) -> Iterator[tuple[str, bool]]:
    """The codes that an expression may stand for; a name stands for one that Python wrote out."""
    if isinstance(node, nodes.Const):
        yield str(node.value), False
    elif isinstance(node, nodes.CondExpr):
        for one in (node.expr1, node.expr2):
            if one is not None:
                yield from _codes(one)
    elif isinstance(node, nodes.Concat) and isinstance(node.nodes[0], nodes.Const):
        yield str(node.nodes[0].value), True
    elif isinstance(node, nodes.Add) and isinstance(node.left, nodes.Const):
        yield str(node.left.value), True


def written_in_python() -> Iterator[tuple[str, bool]]:
    """The texts of the pages' code that may be codes, and beginnings of codes ("problem.{...}").

    The remedy of a fault goes with it.
    """
    for path in sorted(WEB.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                yield node.value, False
                yield node.value.replace("fault.", "remedy.", 1), False
            if isinstance(node, ast.JoinedStr) and isinstance(node.values[0], ast.Constant):
                yield str(node.values[0].value), True


@pytest.fixture(scope="module")
def asked() -> list[tuple[str, frozenset[str], str, bool]]:
    """All that the templates ask for."""
    return sorted(set(asked_in_templates()), key=str)


def test_what_the_templates_ask_for_is_in_the_catalogue(asked: list[tuple[str, frozenset[str], str, bool]]) -> None:
    texts = page_catalogue().texts
    wrong = []
    for code, names, where, begins in asked:
        if begins:
            wrong += [f"{where}: no code begins with {code}"] if not any(one.startswith(code) for one in texts) else []
        elif code not in texts:
            wrong.append(f"{where}: {code} is not in the catalogue")
        elif not fields(texts[code]) <= names:
            wrong.append(f"{where}: the text of {code} needs values that are not given")
    assert wrong == []


def test_no_word_of_the_pages_is_unused(asked: list[tuple[str, frozenset[str], str, bool]]) -> None:
    written = [*((code, begins) for code, _names, _where, begins in asked), *written_in_python()]
    whole = {text for text, begins in written if not begins}
    begun = tuple({text for text, begins in written if begins and "." in text})
    assert sorted(code for code in OF_PAGES if code not in whole and not code.startswith(begun)) == []


def test_each_language_of_the_pages_says_the_same_and_what_it_is_called() -> None:
    known = languages()
    assert known["en"] == "English"
    assert known["es"] == "Español"
    for language in known:
        assert differences(page_catalogue(), page_catalogue(language)) == []
        assert read_toml(page_words_path(language), PageWordsFile).language == language
        assert data_path(f"messages/{language}.toml").exists()


def test_what_the_pages_say_in_words_of_their_own_needs_no_other_values() -> None:
    """A text of the pages in the place of one of a reply: it may leave a value out, but there is no more than there was."""
    replies, pages = catalogue().texts, page_catalogue().texts
    own = [code for code in replies if pages[code] != replies[code]]
    assert "remedy.float-type" in own
    assert [code for code in own if not fields(pages[code]) <= fields(replies[code])] == []


def test_every_fault_of_the_pages_has_a_remedy() -> None:
    names = {
        group: {code.removeprefix(f"{group}.") for code in page_catalogue().texts if code.startswith(f"{group}.")}
        for group in ("fault", "remedy")
    }
    assert names["fault"] == names["remedy"]


def test_no_sentence_of_the_pages_speaks_of_the_interface_for_programs() -> None:
    """What a page says to a parent, or of what a parent typed, names no field of a request, no command and no JSON."""
    jargon = re.compile(r"JSON|/v1|packed-lunch |\b[a-z]+_[a-z_]+\b|YYYY|ETag|If-Match|finite|'[a-z]+'|\bids?\b")
    for language in languages():
        texts = page_catalogue(language).texts
        said = [code for code in texts if code.startswith(("caution.", "offer.", "offer-note.", "finding.", "week."))]
        said += [f"{group}.{fault}" for group in ("fault", "remedy") for fault in OF_WHAT_IS_TYPED]
        assert {code: texts[code] for code in said if jargon.search(_without_fields(texts[code]))} == {}


def test_only_words_that_are_the_same_in_spanish_stay_as_they_are() -> None:
    """A text that was copied and not translated would be the English one."""
    english, spanish = page_catalogue().texts, page_catalogue("es").texts
    same = {
        code for code, text in spanish.items() if text == english[code] and any(map(str.isalpha, _without_fields(text)))
    }
    no_or_extra = {"care.salts-no", "set-out.no", "start.group-extra"}
    grams = {"foods.per-100g", "packets.per-100g", "unit.grams_each", "unit.ml_each", "label.portion-grams"}
    signs = {f"kitchen-unit.{unit}" for unit in ("g", "kg", "l", "lb", "ml", "oz")}
    names = {
        "packets.from-index",
        "packets.law-AU",
        "dishes.cups-au",
        "calendar.portions",
        "label.portion",
        "noun.plan",
        "kitchen.of-plan",
        "kitchen.paper-a4",
    }
    assert same <= no_or_extra | grams | signs | names


def _without_fields(text: str) -> str:
    return re.sub(r"\{[^}]*\}", "", text)
