"""A change to a lunch in words."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from service.domain.allergens.to_read import foods_to_read
from service.domain.foods.amounts import Portion
from service.domain.foods.food import Food
from service.domain.lunch.changing.changes import LunchChange
from service.domain.lunch.handling import holding_figure
from service.domain.messages import Message, message
from service.jobs.lunch.may_have import MayHave, unread
from service.reference.allergens.vocabulary import vocabulary
from service.reference.foods.household_measures import food_amount
from service.reference.lunch.handling import handling_rules

if TYPE_CHECKING:
    from service.jobs.lunch.items import PreparedItem


def labels_to_read(food: Food, may_have: MayHave) -> list[str]:
    """The names on the packets that settle a food: of a dish, those of its ingredients that are still to be read."""
    found = foods_to_read(vocabulary(), food, may_have.avoidances)
    return list(dict.fromkeys(one.food.name for one in found)) or [food.name]


def with_labels_to_read(brought: Message, food: Food, may_have: MayHave) -> Message:
    """What a change brings in, and the label that has to be read for it, if any."""
    to_read = unread(food, may_have)
    if not to_read:
        return brought
    return message("text.sentences", parts=[brought, _reading(food, to_read, may_have)])


def said(change: LunchChange, of: "PreparedItem | None", may_have: MayHave) -> Message:
    """The change in words; ``of``: the item that goes or changes."""
    into, out = change.into, change.out
    if change.kind == "read" and out is not None:
        allergens = [one.partition(":")[2] for one in change.fixes_beside]
        return _reading(out, allergens, may_have)
    rules = handling_rules()
    if change.kind == "keep":
        figure = holding_figure(rules, "cold_sources", may_have.regions)
        return message("change.keep", keep=figure.sentence)
    if into is None:
        return message("change.leave-out", name="" if out is None else out.name)
    if change.kind == "form" and out is not None:
        prepare = rules.choking[out.handling.choking_rule].prepare
        return message("change.form", name=out.name, form=rules.in_words(change.form or ""), prepare=prepare)
    if change.kind == "portion" and out is not None and of is not None:
        quantity, unit, before = into.quantity, into.unit, of.quantity
        food = food_amount(out.name, quantity, unit)
        if food.code == "food-amount.beside":
            return message("change.portion", name=out.name, quantity=quantity, unit=unit, before=before)
        return message("change.portion-of", food=food, unit=unit, before=before)
    return with_labels_to_read(_brought_in(into, out, may_have), into.food, may_have)


def _reading(food: Food, allergens: Sequence[str], may_have: MayHave) -> Message:
    names = vocabulary().allergens
    avoided = [names[one].name for one in allergens]
    return message("change.read-label", names=labels_to_read(food, may_have), allergens=avoided)


def _brought_in(into: Portion, out: Food | None, may_have: MayHave) -> Message:
    """A food added, or in the place of another."""
    form = None
    if into.form and may_have.cut_asked_for(into.food, into.form):
        form = handling_rules().in_words(into.form)
    food = food_amount(into.food.name, into.quantity, into.unit)
    if out is None:
        return message("change.add", food=food) if form is None else message("change.add-cut", food=food, form=form)
    if form is not None:
        return message("change.swap-cut", name=out.name, food=food, form=form)
    return message("change.swap", name=out.name, food=food)
