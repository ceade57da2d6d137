"""An entry of the stock, and what happens to one, as forms."""

from collections.abc import Mapping
from datetime import date
from typing import Any
from uuid import uuid4

from service.jobs.requests.fields import day_in
from service.web.forms.form import Form
from service.web.forms.numbers import figure, number_in
from service.web.language.chosen import text

PLACES = ("fridge", "freezer", "cupboard")
OF_ENTRY = {
    "/food": "portions",
    "/portions": "portions",
    "/portion_grams": "grams",
    "/place": "place",
    "/made_on": "on",
    "/bought_on": "on",
    "/opened_on": "opened",
    "/printed_date": "printed",
    "/note": "note",
}
OF_EVENT = {"/portions": "portions", "/to": "event", "/event": "event", "/on": "portions"}
EVENTS = ("taken", "to-fridge", "to-freezer", "to-cupboard", "thrown", "counted", "made")
"""What can be told of an entry; ``to-...``: it was moved there."""


def new_form(on: date) -> Form:
    """The form for a new entry, made today and put into the fridge."""
    given = {"repeat": uuid4().hex, "portions": "1", "place": "fridge", "how": "made", "on": on.isoformat()}
    return Form({name: [value] for name, value in given.items()})


def form_of(entry: Mapping[str, Any]) -> Form:
    """The form with what can be changed of an entry beside what happens to it."""
    given = {"opened": entry["opened_on"], "printed": entry["printed_date"], "note": entry["note"]}
    return Form({name: [value or ""] for name, value in given.items()} | {"event": ["taken"], "portions": [""]})


def parts_of_new(form: Form, food: str, language: str) -> dict[str, Any]:
    """The record that the form makes. Faults are noted in the form."""
    portions = number_in(form, "portions", language)
    if portions is None and not form.fault_of("portions"):
        form.wrong("portions", text("stock.give-portions", language))
    how = "bought_on" if form.text("how") == "bought" else "made_on"
    return {
        "food": food,
        "place": form.text("place"),
        "portions": portions,
        "portion_grams": number_in(form, "grams", language),
        how: _day(form, "on", language),
        "printed_date": _day(form, "printed", language, needed=False),
        "note": form.text("note"),
    }


def parts_of_change(form: Form, language: str) -> dict[str, Any]:
    """What was changed of an entry. Faults are noted in the form."""
    return {
        "opened_on": _day(form, "opened", language, needed=False),
        "printed_date": _day(form, "printed", language, needed=False),
        "note": form.text("note"),
    }


def event_of(form: Form, language: str) -> dict[str, Any]:
    """What happened, as the job takes it. Faults are noted in the form."""
    event = form.text("event")
    if event not in EVENTS:
        form.wrong("event", text("stock.say-what", language))
    kind, _, to = event.partition("to-")
    portions = number_in(form, "portions", language)
    if portions is None and event in ("counted", "made") and not form.fault_of("portions"):
        form.wrong("portions", text("stock.give-portions", language))
    return {"event": kind or "moved", "to": to or None, "portions": portions}


def one_portion(there: float) -> str:
    """What one tap takes: a portion, or what is left where that is less; all of it is sent as nothing."""
    return figure(1.0) if there > 1 else ""


def _day(form: Form, field: str, language: str, *, needed: bool = True) -> str | None:
    typed = form.text(field)
    if not typed and not needed:
        return None
    on = day_in(typed)
    if on is None:
        form.wrong(field, text("stock.give-day", language))
        return None
    return on.isoformat()
