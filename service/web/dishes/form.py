"""A dish as a form, and back: its ingredients as rows that are added by searching, in grams or household measures."""

from collections.abc import Mapping, Sequence
from contextlib import suppress
from fractions import Fraction
from typing import Any, NamedTuple
from uuid import uuid4

import orjson

from service.web.forms.form import FieldFault, Form
from service.web.forms.numbers import figure, number_in, number_of
from service.web.language.chosen import text
from service.web.language.words import measure

MOST_ROWS = 60
GRAMS = "g"
OUT = "yes"
Measures = Mapping[str, Mapping[str, Any]]
"""Of foods by their ids: name, category, units (``jobs.household.own_foods.measures_of``)."""


class Row(NamedTuple):
    """One ingredient of the form: its number, the food (an id, or a label as JSON), and what is kept of it besides."""

    number: int
    food: str
    name: str
    category: str
    units: list[str]


def new_form() -> Form:
    """The form for a new dish."""
    return Form({"repeat": [uuid4().hex], "name": [""], "portions": ["4"], "weighs": [""]})


def form_of(record: Mapping[str, Any]) -> Form:
    """The form with what is kept; amounts in grams."""
    given = {
        "name": record["name"],
        "portions": figure(record["portions"]),
        "weighs": figure(_weighs(record)) if record["weight_change_percent"] else "",
    }
    for number, one in enumerate(record["ingredients"]):
        given |= {
            f"food-{number}": one["food"] if isinstance(one["food"], str) else orjson.dumps(one["food"]).decode(),
            f"amount-{number}": figure(one["grams"]),
            f"unit-{number}": GRAMS,
            f"credit-{number}": one["credit_as"] or "",
            f"cut-{number}": one["form"] or "",
        }
    return Form({name: [value] for name, value in given.items()})


def foods_in(form: Form) -> list[str]:
    """The ids of the foods of the rows."""
    return [form.text(f"food-{row}") for row in numbers_of(form)]


def numbers_of(form: Form) -> list[int]:
    """The rows that are there and not to be left out."""
    return [row for row in range(MOST_ROWS) if form.text(f"food-{row}") and form.text(f"out-{row}") != OUT]


def rows_of(form: Form, known: Measures) -> list[Row]:
    """The rows with the names and measures of their foods."""
    rows = []
    for number in numbers_of(form):
        food = form.text(f"food-{number}")
        there = known.get(food)
        name = str(there["name"]) if there else _label_name(food)
        units = [GRAMS, *(there["units"] if there else ())]
        rows.append(Row(number, food, name, str(there["category"]) if there else "", units))
    return rows


def with_row(form: Form, food: str, known: Measures) -> Form:
    """The form with one more ingredient, in its usual measure; the rows numbered anew."""
    kept = _renumbered(form)
    number = len(numbers_of(kept))
    units = list(known[food]["units"]) if food in known else []
    given = {name: kept.texts(name) for name in kept.names()}
    given |= {f"food-{number}": [food], f"amount-{number}": ["1"], f"unit-{number}": [units[0] if units else GRAMS]}
    return Form(given)


def parts_of(form: Form, language: str, known: Measures, before: Mapping[str, Any] | None = None) -> dict[str, Any]:
    """The parts of the record that the form is about; faults that the form itself shows are noted in it.

    ``before``: the record as it is kept, whose change of weight stays where the weight shown was not touched.
    """
    if not form.text("name"):
        form.wrong("name", text("dishes.give-name", language))
    ingredients = [_ingredient(form, row, language, known) for row in numbers_of(form)]
    if not ingredients:
        form.wrong("search", text("dishes.give-ingredient", language))
    portions = number_in(form, "portions", language)
    if portions is None and not form.fault_of("portions"):
        form.wrong("portions", text("dishes.give-portions", language))
    parts: dict[str, Any] = {"name": form.text("name"), "portions": portions, "ingredients": ingredients}
    weighs = number_in(form, "weighs", language)
    raw = sum(Fraction(str(one["grams"])) for one in ingredients)
    if before is not None and weighs is not None and figure(_weighs(before)) == form.text("weighs"):
        return parts
    changed = 0.0 if weighs is None or not raw else float((Fraction(str(weighs)) / raw - 1) * 100)
    return parts | {"weight_change_percent": changed}


def with_faults(form: Form, found: Any, language: str) -> Form:
    """The form with what the job found wrong."""
    rows = numbers_of(form)
    places = {"/name": "name", "/portions": "portions", "/weight_change_percent": "weighs", "/ingredients": "search"}
    places |= {f"/ingredients/{place}": f"amount-{row}" for place, row in enumerate(rows)}
    taken = FieldFault("name", text("dishes.there-already", language, name=form.text("name")))
    return form.with_faults(found, places, taken)


def said(form: Form, language: str, known: Measures) -> dict[str, str]:
    """What the form says, as a person reads it, to set two versions side by side."""
    lines = [
        text(
            "dishes.so-much",
            language,
            amount=form.text(f"amount-{row.number}"),
            unit=measure(
                form.text(f"unit-{row.number}"),
                language,
                float(number_of(form.text(f"amount-{row.number}"), language) or 1),
            ),
            name=row.name,
        )
        for row in rows_of(form, known)
    ]
    return {
        text("dishes.name", language): form.text("name"),
        text("dishes.portions", language): form.text("portions"),
        text("dishes.weighs", language): form.text("weighs"),
        text("dishes.ingredients", language): "\n".join(lines),
    }


def _ingredient(form: Form, row: int, language: str, known: Measures) -> dict[str, Any]:
    food, unit = form.text(f"food-{row}"), form.text(f"unit-{row}")
    amount = number_in(form, f"amount-{row}", language)
    if (amount is None or amount <= 0) and not form.fault_of(f"amount-{row}"):
        form.wrong(f"amount-{row}", text("dishes.give-amount", language))
    per_unit = known[food]["units"].get(unit, 1.0) if food in known and unit != GRAMS else 1.0
    return {
        "food": _food_of(food),
        "grams": round((amount or 0) * per_unit, 3),
        "credit_as": form.text(f"credit-{row}") or None,
        "form": form.text(f"cut-{row}") or None,
    }


def _renumbered(form: Form) -> Form:
    """The form without the rows that are left out, the others numbered from 0."""
    of_rows = ("food", "amount", "unit", "credit", "cut", "out")
    given: dict[str, Sequence[str]] = {
        name: form.texts(name) for name in form.names() if name.partition("-")[0] not in of_rows
    }
    for place, row in enumerate(numbers_of(form)):
        for name in of_rows:
            if f"{name}-{row}" in form:
                given[f"{name}-{place}"] = form.texts(f"{name}-{row}")
    return Form(given)


def _weighs(record: Mapping[str, Any]) -> float:
    raw = sum(Fraction(str(one["grams"])) for one in record["ingredients"])
    return round(float(raw * (1 + Fraction(str(record["weight_change_percent"])) / 100)), 1)


def _label_name(food: str) -> str:
    """The name of a food that stands in the recipe in full; an id that is not known is shown as it is."""
    sent = _food_of(food)
    return str(sent.get("name", "")) if isinstance(sent, dict) else food


def _food_of(sent: str) -> Any:
    """The food of a row: its id, or its label where it stands in the recipe in full (JSON). What is neither is an id that nobody knows."""
    if sent.startswith("{"):
        with suppress(orjson.JSONDecodeError):
            return orjson.loads(sent)
    return sent
