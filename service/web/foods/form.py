"""A food's label as a form, and back."""

from collections.abc import Mapping
from typing import Any

from service.domain.measures import LABEL_MEASURES
from service.jobs.foods.counts_as import NOTHING
from service.jobs.household.foods.own_foods import lunch_food_of_name
from service.web.forms.form import FieldFault, Form
from service.web.forms.numbers import figure, number_in
from service.web.label_figures import FIGURE_FIELDS
from service.web.language.chosen import text

LIKE, CREDITS = "like", "credits"
"""What a food counts as: like the lunch food that is named beside it; or as was said in another way, which stays."""
US, OTHER = "us", "other"
WORDS = {"contains": "contains-field", "may_contain": "may-contain-field", "counts_as": "counts-as-field"}
"""Codes of fields that are not the field's name."""
PLACES = {
    "/name": "name",
    "/serving/grams": "grams",
    "/serving/ml": "ml",
    "/serving/name": "serving",
    "/serving": "grams",
    "/facts_per": "facts_per",
    "/counts_as": "counts_as",
    "/choking_rule": "choking_rule",
    **{f"/{name}": name for name in ("ingredients", "contains", "may_contain")},
    **{f"/facts/{one}": one for one in FIGURE_FIELDS},
}


def form_of(record: Mapping[str, Any], like_name: str = "") -> Form:
    """The form with what is kept; ``like_name``: the lunch food that it counts as, by name."""
    serving, facts = record["serving"], record["facts"]
    counts_as = record["counts_as"]
    if record["credits"] is not None:
        counts_as = CREDITS if record["credits"] else NOTHING
    perishable = record["perishable"]
    given = {
        "name": record["name"],
        "serving": "" if serving["name"] == "serving" else serving["name"],
        "grams": figure(serving["grams"]),
        "ml": figure(serving["ml"]),
        "facts_per": record["facts_per"],
        "printed": US if record["facts_rounded"] else OTHER,
        "ingredients": record["ingredients"] or "",
        "contains": record["contains"] or "",
        "may_contain": record["may_contain"] or "",
        "counts_as": LIKE if like_name else counts_as,
        "like": like_name,
        "perishable": "" if perishable is None else "yes" if perishable else "no",
        "choking_rule": record["choking_rule"],
        **{one.id: figure(facts.get(one.id)) for one in LABEL_MEASURES},
    }
    return Form({name: [value] for name, value in given.items()})


def parts_of(form: Form, language: str) -> dict[str, Any]:
    """The parts of the record that the form is about; faults that the form itself shows are noted in it."""
    if not form.text("name"):
        form.wrong("name", text("foods.give-name", language))
    grams, ml = number_in(form, "grams", language), number_in(form, "ml", language)
    if (grams is None) == (ml is None) and not form.fault_of("grams") and not form.fault_of("ml"):
        form.wrong("grams", text("foods.give-serving", language))
    perishable = form.text("perishable")
    parts: dict[str, Any] = {
        "name": form.text("name"),
        "serving": {"name": form.text("serving") or "serving", "grams": grams, "ml": ml},
        "facts": {one: number_in(form, one, language) for one in FIGURE_FIELDS},
        "facts_per": form.text("facts_per") or "serving",
        "facts_rounded": form.text("printed") != OTHER,
        **{name: form.text(name) or None for name in ("ingredients", "contains", "may_contain")},
        "perishable": None if perishable not in ("yes", "no") else perishable == "yes",
        "choking_rule": form.text("choking_rule"),
    }
    counts_as: str | None = form.text("counts_as")
    if counts_as == LIKE:
        counts_as, near = lunch_food_of_name(form.text("like"))
        if counts_as is None:
            said: dict[str, Any] = {"name": form.text("like")} | ({"near": near} if near else {})
            code = "foods.like-near" if near else "foods.like-unknown"
            form.wrong("like", text(code, language, **said))
    if counts_as != CREDITS:
        parts |= {"counts_as": counts_as or "", "credits": None}
    return parts


def with_faults(form: Form, found: Any, language: str) -> Form:
    """The form with what the job found wrong."""
    taken = FieldFault("name", text("foods.there-already", language, name=form.text("name")))
    return form.with_faults(found, PLACES, taken)


def said(form: Form, language: str, words: Mapping[str, Mapping[str, str]]) -> dict[str, str]:
    """What the form says, as a person reads it; ``words``: of a field with a choice, the words of each value."""
    shown = {}
    for field in (
        "name", "serving", "grams", "ml", "ingredients", "contains", "may_contain", "like",
        "facts_per", "printed", "counts_as", "perishable", "choking_rule",
    ):  # fmt: skip
        value = form.text(field)
        name = text(f"foods.{WORDS.get(field, field.replace('_', '-'))}", language)
        shown[name] = words.get(field, {}).get(value, value)
    return shown | {one.label: form.text(one.id) for one in LABEL_MEASURES}
