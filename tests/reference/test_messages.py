"""The catalogue of messages holds what the code says, and nothing else; another language says the same."""

import ast
import re
import string
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import get_args

import pytest
from pydantic_core import core_schema

import service
from service.domain.errors import LunchError
from service.domain.measures import MEASURES
from service.domain.messages import Message, message
from service.reference.fault_words import fault_sentence
from service.reference.files import data_path
from service.reference.lunch.standards import standard, standard_ids
from service.reference.message_templates import Catalogue, fields
from service.reference.messages import (
    catalogue,
    differences,
    page_catalogue,
    read_catalogue,
    say,
    worded,
    words_of,
)
from tests.refused import refused

SERVICE = Path(service.__file__).parent
TEXTS = catalogue().texts
ALWAYS_USED = {"weekday", "month", "unit", "measure", "half", "fault", "remedy"}
ALWAYS_USED |= {"problem-title", "problem-meaning", "problem-remedy"}


def word_groups(known: Catalogue) -> set[str]:
    """The groups of entries that the fields of other entries look their words up in."""
    return {
        (spec or "").partition(" ")[2]
        for text in known.texts.values()
        for _literal, _name, spec, _conversion in string.Formatter().parse(text)
        if (spec or "").startswith(("word ", "words "))
    }


def calls() -> Iterator[tuple[str, set[str], str]]:
    """Each call of ``message`` in the package: the code, the names of the values, and where it is."""
    for path in sorted(SERVICE.rglob("*.py")):
        code = path.read_text(encoding="utf-8")
        if "message(" in code:
            module = ast.parse(code)
            for function in (module, *(one for one in ast.walk(module) if isinstance(one, ast.FunctionDef))):
                yield from _calls_in(function, str(path.relative_to(SERVICE)))


def _calls_in(inside: ast.FunctionDef | ast.Module, file: str) -> Iterator[tuple[str, set[str], str]]:
    """Its own calls; values given as ``**values`` are those of the dictionary written out in the same function."""
    own = list(_own_nodes(inside))
    shared = {
        str(key.value)
        for node in own
        if isinstance(node, ast.AnnAssign) and isinstance(node.value, ast.Dict)
        for key in node.value.keys
        if isinstance(key, ast.Constant)
    }
    for node in own:
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "message":
            where = f"{file}:{node.lineno}"
            code = node.args[0]
            assert isinstance(code, ast.Constant), f"{where}: write the code out in full"
            names = {one.arg for one in node.keywords if one.arg}
            yield str(code.value), names | (shared if len(names) < len(node.keywords) else set()), where


def _own_nodes(inside: ast.AST) -> Iterator[ast.AST]:
    waiting = [inside]
    while waiting:
        for node in ast.iter_child_nodes(waiting.pop()):
            if not isinstance(node, ast.FunctionDef):
                yield node
                waiting.append(node)


CALLS = list(calls())


@pytest.mark.parametrize(("code", "names", "where"), CALLS, ids=[f"{code} {where}" for code, _names, where in CALLS])
def test_what_the_code_says_is_in_the_catalogue(code: str, names: set[str], where: str) -> None:
    texts = page_catalogue().texts if where.startswith("web/") else TEXTS
    assert code in texts, f"{where}: {code} is not in the catalogue"
    assert fields(texts[code]) <= names, f"{where}: the text of {code} needs values that are not given"
    if code.startswith("fault."):
        remedy = code.replace("fault.", "remedy.", 1)
        assert fields(texts[remedy]) <= names, f"{where}: the text of {remedy} needs values that are not given"


def test_every_entry_is_used() -> None:
    used = {code for code, _names, _where in CALLS}
    groups = word_groups(catalogue()) | ALWAYS_USED
    assert sorted(code for code in TEXTS.keys() - used if code.split(".")[0] not in groups) == []


def test_no_two_codes_have_the_same_text() -> None:
    """Single words may be the same in two groups, since another language may have two words there."""
    words = word_groups(catalogue()) | ALWAYS_USED
    texts = Counter(text for code, text in TEXTS.items() if code.split(".")[0] not in words)
    twice = [text for text, count in texts.items() if count > 1]
    assert twice == []


def test_nothing_is_called_safe_and_no_unknown_is_left_without_a_way_out() -> None:
    for code, text in page_catalogue().texts.items():
        assert "safe" not in text.lower().replace("unsafe", ""), code
        assert "nobody can tell" not in text, code


def test_nothing_is_called_safe_in_spanish() -> None:
    """Nor "usted" and its kin: parents and children are "tú" throughout."""
    texts = {**page_catalogue("es").texts, **words_of("es")}
    for code, text in texts.items():
        words = re.findall(r"\w+", text.lower())
        assert not {
            "seguro",
            "segura",
            "seguros",
            "seguras",
            "inofensivo",
            "garantizado",
            "usted",
            "ustedes",
            "vos",
        } & {*words}, code


def test_the_units_of_the_standards_have_words() -> None:
    """A unit without an entry is written as it is, so only those that a parent knows may be without one."""
    units = {row.unit for name in standard_ids() for row in standard(name).rows} | {one.unit for one in MEASURES}
    assert {one for one in units if f"unit.{one}" not in TEXTS} <= {"kcal", "g", "mg", "µg", "µg RAE", "µg DFE"}


def test_every_fault_of_a_request_has_a_remedy() -> None:
    names = {group: {code.split(".")[1] for code in TEXTS if code.startswith(group + ".")} for group in ALWAYS_USED}
    assert names["fault"] == names["remedy"]


def test_every_fault_in_the_catalogue_can_be_raised() -> None:
    """Those that no message names are found while a request is read: kinds of pydantic's, or of our own fields."""
    said = {code for code, _names, _where in CALLS}
    read = {kind.replace("_", "-") for kind in get_args(core_schema.ErrorType)}
    own = {"label-read", "kept-id", "one-line", "plain-text", "pattern", "other", "given-twice"}
    own |= {"stored-id", "time-of-day", "currency-code", "country-code", "grain-group", "web-address", "list-of-ids"}
    own |= {
        "not-listed",
        "no-day",
        "no-month",
        "no-gtin",
        "no-food",
        "no-ingredient",
        "no-offer",
        "no-fhir-list",
        "mixed-gs1-code",
        "no-gs1-code",
    }
    names = {code.removeprefix("fault.") for code in TEXTS if code.startswith("fault.")}
    assert sorted(name for name in names if f"fault.{name}" not in said and name not in read | own) == []


SMALL = """
language = "xx"
[writing]
plurals = "one_is_below_2"
decimal_sign = ","
thousands_sign = "."
comma = ", "
semicolon = "; "
last_and = " e "
last_or = " o "
date = "{weekday} {day} {month}"
year = "{day} {month} {year}"
[messages.unit]
cup = "{n} {n:one=tazza|other=tazze}"
[messages.weekday]
1 = "lunedi"
[messages.month]
11 = "novembre"
[messages.test]
met = "{label:first}: {amount:in unit}."
names = "{names} | {names:or} | {names:each}"
on = "{on:date}"
"""


def small(tmp_path: Path, text: str = SMALL, name: str = "xx.toml") -> Catalogue:
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return read_catalogue(path)


def test_another_language_is_another_catalogue(tmp_path: Path) -> None:
    other = small(tmp_path)
    met = Message("test.met", {"label": "frutta", "amount": 1.5, "unit": "cup"})
    assert other.say(met) == "Frutta: 1,5 tazza."
    assert other.say(Message("test.met", {"label": "sodio", "amount": 1234.5, "unit": "mg"})) == "Sodio: 1.234,5 mg."
    assert other.say(Message("test.names", {"names": ["a", "b", "c"]})) == "a, b e c | a, b o c | a; b; c"
    assert other.say(Message("test.on", {"on": "2026-11-30"})) == "lunedi 30 novembre"


def test_another_catalogue_must_say_the_same(tmp_path: Path) -> None:
    one = small(tmp_path)
    assert differences(one, small(tmp_path, SMALL.replace("xx", "yy"), "yy.toml")) == []
    text = SMALL.replace('"xx"', '"yy"').replace("\non = ", "\noff = ").replace("{amount:in unit}", "{amount}")
    assert differences(one, small(tmp_path, text, "yy.toml")) == [
        "test.met has not the same values in xx and yy",
        "test.off is only in yy",
        "test.on is only in xx",
    ]


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("{on:date}", "{on:dat}", "'dat' is not a way to write a value"),
        ("{on:date}", "{0}", "'0' is not the name of a value"),
        ("{on:date}", "{on", "is not a template"),
        ("one=tazza|other", "one=tazza|more", "is not one=...|other=..."),
        ('comma = ", "', 'comma = ", "\ncolon = ":"', "Extra inputs are not permitted"),
        ('"one_is_below_2"', '"one_is_odd"', "Input should be"),
    ],
)
def test_a_fault_of_a_catalogue_is_refused_with_its_place(old: str, new: str, words: str, tmp_path: Path) -> None:
    with refused(LunchError, match=r"xx\.toml") as told:
        small(tmp_path, SMALL.replace(old, new))
    assert words in fault_sentence(told.value)


def test_a_message_comes_with_its_code_and_values() -> None:
    wanted = message("wanted.at-least", low=1, unit="cup", basis="lunch")
    said = worded(message("finding.met", label="fruit", amount=1.5, unit="cup", wanted=wanted))
    assert said == {
        "sentence": "Fruit: 1.5 cups. Wanted: at least 1 cup in each lunch.",
        "code": "finding.met",
        "params": {
            "label": "fruit",
            "amount": 1.5,
            "unit": "cup",
            "wanted": {"code": "wanted.at-least", "params": {"low": 1, "unit": "cup", "basis": "lunch"}},
        },
    }


def test_days_numbers_and_lists_in_spanish() -> None:
    """Decimal comma, "." from five digits on, "y" and "o": Unicode CLDR, Spanish (Spain)."""
    over = message("week.over-days", over=3, school_days=5, absent=["2026-11-30", "2026-12-01"])
    assert say(over, "es").endswith("no hay datos de lunes 30 de noviembre y martes 1 de diciembre.")
    short = message("finding.short", label="sodium", amount=1234.5, unit="mg", gap=12345, wanted="x")
    assert say(short, "es") == "Sodio: 1234,5 mg; falta 12.345 mg. Se pide: x."
    assert say(message("cost.money", amount=310, currency="USD", digits=2), "es") == "3,10 USD"


def test_words_of_the_data_are_said_in_spanish_and_words_of_a_label_as_they_stand() -> None:
    in_spanish = message("summary.allergen-in", allergen="peanut", names=["oat bar", "trail mix"])
    assert say(in_spanish, "es") == "cacahuete (maní) en oat bar; trail mix"
    quoted = message(
        "evidence.label-words", words="milk", reason=message("label-reason.word-for", allergens=["milk", "egg"])
    )
    assert say(quoted, "es") == "«milk» en la etiqueta: Quiere decir leche y huevo."


def test_days_and_lists_in_english() -> None:
    over = message("week.over-days", over=3, school_days=5, absent=["2026-11-30", "2026-12-01"])
    assert say(over).endswith("no figures for Monday 30 November and Tuesday 1 December.")
    assert say(message("finding.no-figure", names=["milk, 1%", "soup"])).startswith(
        "There is no figure for milk, 1%; soup:"
    )


def test_every_catalogue_says_what_the_english_one_says() -> None:
    for path in data_path("messages").glob("*.toml"):
        assert differences(catalogue(), catalogue(path.stem)) == []
        assert path.stem == catalogue(path.stem).language
