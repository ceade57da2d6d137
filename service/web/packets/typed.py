"""A packet as it is typed into its form, and as it is kept: the one made from the other, both ways."""

import hashlib
from collections.abc import Mapping
from datetime import date
from typing import Any

from pydantic import TypeAdapter, ValidationError
from pydantic_core import to_json

from service.domain.errors import LunchError
from service.domain.messages import Message
from service.jobs.household.access.households import today
from service.jobs.household.kinds import PACKETS
from service.jobs.household.records import read_asked
from service.jobs.household.requests import KeptPacket
from service.jobs.requests.fields import Gtin, day_in
from service.reference.messages import page_catalogue
from service.web.forms.form import Form
from service.web.forms.numbers import figure, number_in
from service.web.label_figures import FIGURE_FIELDS

TICK, FIGURE = "tick-", "figure-"
TEXTS = ("ingredients", "contains", "may_contain")
NO_WARNING = "no_warning"
USUAL_DAYS = "90"
GTIN: TypeAdapter[str] = TypeAdapter(Gtin)
Body = dict[str, Any]
FIELDS = {
    "/food": "food",
    "/gtin": "gtin",
    "/read_on": "read_on",
    "/holds_for_days": "holds",
    "/ingredients": "ingredients",
    "/contains": "contains",
    "/may_contain": "may_contain",
    "/label_law": "label_law",
    "/serving": "serving",
    "/facts": "facts_per",
    **{f"/facts/{one}": FIGURE + one for one in FIGURE_FIELDS},
    "/photo": "photo",
}
"""The field that each part of a packet is typed in."""


def new_form(food: str, on: date) -> Form:
    """The form of a packet that nobody has read yet."""
    return Form({"food": [food], "read_on": [on.isoformat()], "holds": [USUAL_DAYS]})


def as_typed(body: Mapping[str, Any]) -> dict[str, list[str]]:
    """A kept packet as it would be typed."""
    typed = {
        "food": [body["food"]],
        "read_on": [body["read_on"]],
        "holds": [str(body["holds_for_days"])],
        "gtin": [body.get("gtin") or ""],
        **{name: [body.get(name) or ""] for name in TEXTS},
        "label_law": [body.get("label_law") or ""],
        NO_WARNING: ["yes"] if body.get("may_contain") == "" else [],
        "claims": list(body.get("claims", [])),
        "facts_per": [body.get("facts_per", "100g")],
        "rounding": ["rounded" if body.get("facts_rounded", True) else "exact"],
    }
    for tick in body.get("allergens", []):
        typed[TICK + tick["allergen"]] = [tick["level"]]
    for name, value in (body.get("facts") or {}).items():
        if value is not None:
            typed[FIGURE + name] = [figure(value)]
    serving = body.get("serving")
    if serving is not None:
        unit = "g" if serving.get("ml") is None else "ml"
        typed["serving"] = [figure(serving["grams" if unit == "g" else "ml"])]
        typed["serving_unit"] = [unit]
        typed["serving_name"] = [serving["name"]]
    return {name: some for name, some in typed.items() if some}


def packet_typed(form: Form, language: str) -> KeptPacket | None:
    """The packet that was typed; None where something is wrong with it, which the form then says."""
    body = _body(form, language)
    if form.faults:
        return None
    try:
        packet: KeptPacket = read_asked(PACKETS, to_json(body))
    except (ValidationError, LunchError) as found:
        form.with_faults(found, FIELDS)
        return None
    return packet


def mark_of(packet: KeptPacket) -> str:
    """What tells one reading from another: a reading that was shown is kept only as it was shown."""
    return hashlib.sha256(to_json(packet)).hexdigest()[:16]


def wrong(form: Form, field: str, language: str, code: str, **values: Any) -> None:
    """Note in the form what is wrong with a field, in the words of the pages."""
    form.wrong(field, page_catalogue(language).say(Message(code, values)))


def _body(form: Form, language: str) -> Body:
    """What was typed as it is sent to be kept; what cannot be is noted in the form."""
    texts = {name: form.text(name).replace("\r\n", "\n").replace("\r", "\n") or None for name in TEXTS}
    if NO_WARNING in form:
        if texts["may_contain"]:
            wrong(form, "may_contain", language, "packets.two-warnings")
        texts["may_contain"] = ""
    facts = {name: number_in(form, FIGURE + name, language) for name in _figures(form)}
    body: Body = {
        "food": form.text("food"),
        "read_on": _day(form, language),
        "holds_for_days": _days(form, language),
        "gtin": _gtin(form, language),
        **texts,
        "allergens": [
            {"allergen": name.removeprefix(TICK), "level": form.text(name)}
            for name in form.names()
            if name.startswith(TICK) and form.text(name)
        ],
        "label_law": form.text("label_law") or None,
        "claims": form.texts("claims"),
        "facts": facts or None,
    }
    if not any(body[name] for name in (*TEXTS, "allergens", "claims", "facts")):
        wrong(form, "ingredients", language, "packets.nothing-typed")
    if facts:
        body |= {
            "facts_per": form.text("facts_per") or "100g",
            "facts_rounded": form.text("rounding") != "exact",
            "serving": _serving(form, language),
        }
    return body


def _figures(form: Form) -> list[str]:
    return [one for one in FIGURE_FIELDS if form.text(FIGURE + one)]


def _serving(form: Form, language: str) -> Body | None:
    if form.text("facts_per") != "serving":
        return None
    if not form.text("serving"):
        wrong(form, "serving", language, "packets.no-serving")
        return None
    size = "ml" if form.text("serving_unit") == "ml" else "grams"
    return {"name": form.text("serving_name") or "serving", size: number_in(form, "serving", language)}


def _day(form: Form, language: str) -> str:
    on = day_in(form.text("read_on"))
    if on is None:
        wrong(form, "read_on", language, "packets.no-day")
        return ""
    if on > today():
        wrong(form, "read_on", language, "packets.day-to-come")
    return on.isoformat()


def _days(form: Form, language: str) -> int:
    days = form.text("holds")
    if not (days.isascii() and days.isdigit() and len(days) <= 3):
        wrong(form, "holds", language, "packets.no-days")
        return 0
    return int(days)


def _gtin(form: Form, language: str) -> str | None:
    typed = form.text("gtin").replace("-", " ")
    if not typed:
        return None
    try:
        GTIN.validate_python(typed)
    except ValidationError:
        wrong(form, "gtin", language, "packets.no-gtin")
    return typed
