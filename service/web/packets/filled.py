"""The form of a packet, filled in from a public database of branded foods; what it came from stays with the form until it is kept."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from service.domain.measures import LABEL_MEASURES
from service.domain.messages import Message, message_of
from service.web.forms.form import Form
from service.web.forms.numbers import figure
from service.web.packets.typed import FIGURE, new_form, wrong

SOURCE, ENTRY, NAME, ON, READ, COMPARED = (
    f"filled-{one}" for one in ("source", "entry", "name", "on", "read", "compared")
)
MEASURES_ON_LABELS = frozenset(one.id for one in LABEL_MEASURES)
ROUNDED_MARKETS = frozenset({"United States"})
"""Where figures are printed for a serving and rounded as the rules for US labels say."""
LENGTHS = (8, 12, 13, 14)


@dataclass(frozen=True)
class Filled:
    """What a form was filled in from. ``source``: ``index`` or ``live``; ``on``, ``read``: days, or empty; ``notes``: what is doubtful."""

    source: str
    entry: str
    name: str
    on: str
    read: str
    notes: list[Message] = field(default_factory=list)


def filled_form(food: str, on: date, found: Mapping[str, Any]) -> Form:
    """The form of a packet of a food with what a reply says of a branded food; ``found``: an item of ``look_up_branded``."""
    new = new_form(food, on)
    typed = {
        **{name: new.texts(name) for name in new.names()},
        "ingredients": [found["ingredients"] or ""],
        "gtin": [_as_printed(found)],
        **_facts(found),
        SOURCE: [found["source"]],
        ENTRY: [str(found["fdc_id"])],
        NAME: [name_of(found)],
        ON: [found["date"] or ""],
        READ: [found["read"] or ""],
    }
    return Form({name: some for name, some in typed.items() if any(some)})


def filled_of(form: Form, notes: list[Message] | None = None) -> Filled | None:
    """What a form was filled in from, as it carries it along; None for one that was typed."""
    if SOURCE not in form:
        return None
    source = "live" if form.text(SOURCE) == "live" else "index"
    return Filled(source, form.text(ENTRY), form.text(NAME), _day(form.text(ON)), _day(form.text(READ)), notes or [])


def notes_of(found: Mapping[str, Any]) -> list[Message]:
    """What is doubtful or missing of a branded food."""
    return [message_of(one) for one in found["note_messages"] if not one["code"].startswith("branded-note.compare")]


def name_of(found: Mapping[str, Any]) -> str:
    """The product with its brand."""
    brand = found["brand_name"] or found["brand_owner"]
    return f"{found['description']} ({brand})" if brand else str(found["description"])


def see_compared(form: Form, language: str) -> bool:
    """Whether whoever keeps a form that was filled in has said that the packet says the same; the form says where not."""
    if SOURCE not in form or form.text(COMPARED):
        return True
    wrong(form, COMPARED, language, "packets.not-compared")
    return False


def _facts(found: Mapping[str, Any]) -> dict[str, list[str]]:
    """The figures as the packet is likely to print them: for a serving where labels are made so, else for 100 g or 100 ml.

    A value that is not known, or cannot well be right, stays empty.
    """
    known = {
        one["nutrient"]: one["amount"]
        for one in found["values"]
        if one["amount"] is not None and not one["implausible"] and one["nutrient"] in MEASURES_ON_LABELS
    }
    if not known:
        return {}
    unit = "ml" if found["values"][0]["basis"] == "100 ml" else "g"
    serving = float(found["serving_amount"] or 0) if found["serving_unit"] == unit else 0.0
    rounded = found["market"] in ROUNDED_MARKETS and serving > 0
    if not rounded and unit == "g":
        exact = {FIGURE + one: [figure(amount)] for one, amount in known.items()}
        return {**exact, "facts_per": ["100g"], "rounding": ["exact"]}
    size = serving if rounded else 100.0
    return {
        **{FIGURE + one: [figure(round(amount * size / 100, 1 if rounded else 3))] for one, amount in known.items()},
        "facts_per": ["serving"],
        "serving": [figure(size)],
        "serving_unit": [unit],
        "serving_name": [found["household_serving"] if rounded else "100 ml"],
        "rounding": ["rounded" if rounded else "exact"],
    }


def _as_printed(found: Mapping[str, Any]) -> str:
    """The code in as many digits as are printed; empty where its check digit is wrong, since the packet would be refused."""
    if any(one["code"] == "branded-note.check-digit" for one in found["note_messages"]):
        return ""
    digits = found["gtin"].lstrip("0")
    return digits.zfill(next((one for one in LENGTHS if one >= len(digits)), LENGTHS[-1])) if digits else ""


def _day(text: str) -> str:
    try:
        return date.fromisoformat(text).isoformat()
    except ValueError:
        return ""
