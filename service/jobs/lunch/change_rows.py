"""How a change is published: its numbers as fields, a code with parameters, and the English sentence made from these."""

from collections.abc import Mapping, Sequence
from typing import Any

from service.domain.lunch.changes import Change
from service.domain.lunch.handling import in_words
from service.reference.lunch.handling import handling_rules

SENTENCES: Mapping[str, str] = {
    "change_lunch_portion": "{name}: take {quantity:g} {unit} instead of {quantity_before:g}.",
    "change_lunch_remove": "Leave out {instead_of_name}.",
    "change_lunch_swap": "Swap {instead_of_name} for {name}{amount}.",
    "change_lunch_add": "Add {name}{amount}.",
    "change_lunch_form": "Give {name} {form_words}. {prepare}",
    "change_week_portion": "{name_first}: {times_words} {days_words} ({quantity:g} {unit} instead of {quantity_before:g}).",
    "change_week_portion_each": "{name_first}: {times_words} {days_words}.",
    "change_week_remove": "Leave out {instead_of_name} {days_words}.",
    "change_week_swap": "Swap {instead_of_name} for {name}{amount} {days_words}.",
    "change_week_add": "Add {name}{amount} {days_words}.",
    "change_offer_portion": "In {group}, portion {name} as {quantity:g} {unit}.",
    "change_offer_remove": "Take {instead_of_name} out of {group}.",
    "change_offer_swap": "In {group}, set out {name}{amount} instead of {instead_of_name}.",
    "change_offer_add": "Set out {name}{amount} in {group} too.",
    "change_offer_take": "From {group}, have at least {at_least} taken.",
    "change_offer_with": "With {instead_of_name}, have at least {at_least} taken from {group}.",
}
TIMES_WORDS = {0.5: "half as much", 1.5: "half as much again", 2.0: "twice as much"}
SCHOOL_DAYS = ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday"]


def change_row(change: Change[Any], code: str, **params: Any) -> dict[str, Any]:
    """The part of a change row that a lunch, a week and an offer share; ``params``: what the sentence needs besides."""
    into, out = change.into, change.out
    food = into.food if into is not None else out if change.kind == "portion" else None
    amount: dict[str, Any] = {
        "quantity": None if into is None else into.quantity,
        "unit": None if into is None else into.unit,
    }
    names = {"name": None if food is None else food.name, "instead_of_name": None if out is None else out.name}
    said = {key: value for key, value in {**names, **amount, **params}.items() if value is not None}
    return {
        "kind": change.kind,
        "code": code,
        "params": said,
        "sentence": change_sentence(code, said),
        "instead_of": None if out is None else out.id,
        "instead_of_name": names["instead_of_name"],
        "food": None if food is None else food.id,
        "name": names["name"],
        **amount,
        "grams": None if into is None else into.amount_mg / 1000,
        "form": change.form or (None if into is None else into.form),
    }


def change_sentence(code: str, params: Mapping[str, Any]) -> str:
    """A change in one English sentence, from its code and parameters."""
    shown = dict(params)
    shown["amount"] = f" ({params['quantity']:g} {params['unit']})" if "quantity" in params else ""
    name = params.get("name", "")
    shown["name_first"] = name[:1].upper() + name[1:]
    if "times" in params:
        shown["times_words"] = TIMES_WORDS[params["times"]]
    if "days" in params:
        shown["days_words"] = days_words(params["days"])
    if "form" in params:
        shown["form_words"] = in_words(params["form"])
        shown["prepare"] = handling_rules().choking[params["choking_rule"]].prepare
    return SENTENCES[code].format(**shown)


def days_words(on: Sequence[str]) -> str:
    """On which days: "on Monday", "on Monday and Thursday", "on Monday, Tuesday and Friday", "Monday to Friday"."""
    names = list(dict.fromkeys(on))
    if names == SCHOOL_DAYS:
        return "Monday to Friday"
    return "on " + (names[0] if len(names) == 1 else ", ".join(names[:-1]) + " and " + names[-1])
