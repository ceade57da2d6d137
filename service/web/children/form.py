"""A child as a form, and back: fields that a parent fills in, to the parts of the record and from them."""

from collections.abc import Callable, Mapping
from typing import Any
from uuid import uuid4

from service.domain.errors import UnknownName
from service.jobs.household.access.households import today
from service.jobs.household.children.child_in_words import meant_by, near_allergens
from service.web.forms.form import FieldFault, Form
from service.web.forms.numbers import figure, number_in
from service.web.language.chosen import text

EMPTY_ROWS = 3
MOST_ROWS = 50
OLDEST = 19
TICKED = "yes"
UNKNOWN = ("children.unknown", "children.unknown-near")
"""What is said of words that mean no allergen: where none is near, and where some are."""
UNKNOWN_BAN = ("children.ban-unknown", "children.ban-unknown-near")
"""The same of what a class or school bans."""
FIELDS = {"/nickname": "nickname", "/name": "nickname", "/birth_month": "month", "/standard": "standard"} | {
    f"/{name}": name
    for name in ("lunch_standard", "yardsticks", "dislikes", "bans", "sex", "height_cm", "weight_kg", "activity")
}
"""Places in the record, each with the field that it is typed in; those of the rows are added in ``field_of``."""


def new_form(standard: str) -> Form:
    """The form for a new child; ``standard``: the one chosen at first, or empty."""
    return Form({"repeat": [uuid4().hex], "standard": [standard], "inside": [TICKED], **_rows([])})


def form_of(record: Mapping[str, Any], name_of: Callable[[str], str]) -> Form:
    """The form with what is kept; ``name_of``: a disliked food's name by its id."""
    year, _dash, month = (record["birth_month"] or "").partition("-")
    given = {
        "nickname": record["nickname"],
        "year": year,
        "month": month,
        "standard": record["standard"],
        "lunch_standard": record["lunch_standard"] or "",
        "dislikes": "\n".join(name_of(one) for one in record["dislikes"]),
        "inside": TICKED if record["dislikes_in_dishes"] else "",
        "vegetarian": TICKED if record["vegetarian"] else "",
        "bans": "\n".join(record["bans"]),
        "ban_traces": TICKED if record["ban_threshold"] == "may_contain" else "",
        "sex": record["sex"] or "",
        "height_cm": figure(record["height_cm"]),
        "weight_kg": figure(record["weight_kg"]),
        "activity": record["activity"] or "",
    }
    ticked = {"yardsticks": list(record["yardsticks"])}
    return Form({**{name: [value] for name, value in given.items()}, **ticked, **_rows(record["avoids"])})


def rows_of(form: Form) -> list[int]:
    """The rows for what must not be eaten: those that were sent, or those filled in and a few empty ones."""
    return [number for number in range(MOST_ROWS) if f"avoid-{number}" in form]


def parts_of(form: Form, language: str, ids: Mapping[str, str], age_group: str | None = None) -> dict[str, Any]:
    """The parts of the record that the form is about; faults that the form itself shows are noted in it.

    ``ids``: disliked foods by their names, as they were shown. ``age_group``: kept instead of a month of birth.
    """
    if not form.text("nickname"):
        form.wrong("nickname", text("children.give-nickname", language))
    birth_month = birth_month_of(form, language, age_group)
    for row in filled_rows(form):
        see_known(form, f"avoid-{row}", form.text(f"avoid-{row}"), language)
    if not form.text("standard"):
        form.wrong("standard", text("children.choose-standard", language))
    for banned in _lines(form.text("bans")):
        see_known(form, "bans", banned, language, UNKNOWN_BAN)
    return {
        "nickname": form.text("nickname"),
        "birth_month": birth_month,
        "standard": form.text("standard"),
        "lunch_standard": form.text("lunch_standard") or None,
        "yardsticks": form.texts("yardsticks"),
        "avoids": [
            {"allergen": form.text(f"avoid-{row}"), "threshold": _threshold(form, f"traces-{row}")}
            for row in filled_rows(form)
        ],
        "dislikes": [ids.get(one, one) for one in _lines(form.text("dislikes"))],
        "dislikes_in_dishes": form.text("inside") == TICKED,
        "vegetarian": form.text("vegetarian") == TICKED,
        "bans": _lines(form.text("bans")),
        "ban_threshold": _threshold(form, "ban_traces"),
        "sex": form.text("sex") or None,
        "height_cm": number_in(form, "height_cm", language),
        "weight_kg": number_in(form, "weight_kg", language),
        "activity": form.text("activity") or None,
    }


def filled_rows(form: Form) -> list[int]:
    """The rows in which something is typed, in the order in which they are in the record."""
    return [row for row in rows_of(form) if form.text(f"avoid-{row}")]


def with_faults(form: Form, found: Any, language: str) -> Form:
    """The form with what the job found wrong."""
    fields = FIELDS | {f"/avoids/{place}": f"avoid-{row}" for place, row in enumerate(filled_rows(form))}
    taken = FieldFault("nickname", text("children.there-already", language, name=form.text("nickname")))
    return form.with_faults(found, fields, taken)


def said(form: Form, language: str, words: Mapping[str, Mapping[str, str]]) -> dict[str, str]:
    """What the form says, as a person reads it, to set two versions side by side.

    ``words``: of a field with a choice, the words of each value.
    """
    tick = {TICKED: text("children.yes", language)}
    shown = {
        text("children.nickname", language): form.text("nickname"),
        text("children.born", language): f"{form.text('year')}-{form.text('month')}".strip("-"),
        text("children.avoids", language): "\n".join(
            text("children.avoid-traces", language, words=form.text(f"avoid-{row}"))
            if form.text(f"traces-{row}") == TICKED
            else form.text(f"avoid-{row}")
            for row in filled_rows(form)
        ),
        text("children.inside", language): tick.get(form.text("inside"), ""),
        text("children.vegetarian", language): tick.get(form.text("vegetarian"), ""),
        text("children.ban-traces", language): tick.get(form.text("ban_traces"), ""),
    }
    shown[text("children.yardsticks", language)] = "\n".join(
        words["yardsticks"].get(one, one) for one in form.texts("yardsticks")
    )
    for field in ("dislikes", "bans"):
        shown[text(f"children.{field}", language)] = "\n".join(_lines(form.text(field)))
    for field in ("height_cm", "weight_kg"):
        shown[text(f"children.{field.replace('_', '-')}", language)] = form.text(field)
    for field in ("standard", "lunch_standard", "sex", "activity"):
        chosen = form.text(field)
        shown[text(f"children.{field.replace('_', '-')}", language)] = words[field].get(chosen, chosen)
    return shown


def _rows(avoids: list[dict[str, Any]]) -> dict[str, list[str]]:
    rows: dict[str, list[str]] = {}
    for number in range(min(MOST_ROWS, len(avoids) + EMPTY_ROWS)):
        there = avoids[number] if number < len(avoids) else {"allergen": "", "threshold": "may_contain"}
        rows[f"avoid-{number}"] = [there["allergen"]]
        rows[f"traces-{number}"] = [TICKED if there["threshold"] == "may_contain" else ""]
    return rows


def see_known(form: Form, field: str, words: str, language: str, codes: tuple[str, str] = UNKNOWN) -> None:
    """Note words that mean no allergen, with those that are near; ``codes``: what is said without and with these."""
    try:
        meant_by(words)
    except UnknownName as fault:
        near = near_allergens(fault)
        code = codes[1] if near else codes[0]
        form.wrong(field, text(code, language, words=words, **({"near": near} if near else {})))


def _threshold(form: Form, field: str) -> str:
    return "may_contain" if form.text(field) == TICKED else "contains"


def _lines(typed: str) -> list[str]:
    """What is typed one a line; names of foods may hold commas."""
    return [one for line in typed.splitlines() if (one := line.strip())]


def birth_month_of(form: Form, language: str, age_group: str | None = None) -> str | None:
    """The month that is chosen; None, noted as a fault of the form unless an ``age_group`` is kept, where none is."""
    year, month = form.text("year"), form.text("month")
    if not year and not month and age_group is not None:
        return None
    on = today()
    if not year or not month:
        form.wrong("month", text("children.choose-month", language))
        return None
    if (year, month) > (str(on.year), f"{on.month:02d}"):
        form.wrong("month", text("children.month-to-come", language))
    return f"{year}-{month}"
