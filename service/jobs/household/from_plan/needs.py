"""What a stored plan needs, and what is at home, as a shopping list asks for them."""

from collections.abc import Iterator, Sequence
from datetime import date
from fractions import Fraction
from math import ceil
from typing import Any, NamedTuple
from uuid import UUID

from service.domain.foods.amounts import HEAVIEST_ITEM_MG
from service.domain.stock.keeping import FREEZER
from service.domain.stock.lots import Lot
from service.jobs.household.from_plan.planned import A_DAY, StoredPlan, food_sent
from service.jobs.household.stock.amounts import grams_of
from service.jobs.household.stored.stored_ids import with_ids_resolved
from service.jobs.plan.shopping.requests import MOST_LOTS, AtHand, ShoppingListRequest, ShoppingListWithIds
from service.jobs.plan.shopping.resolve import resolve_shopping
from service.reference.plan.buying import bought_for_eaten
from service.store.household.records import Connection

Row = dict[str, Any]


class WhatCounts(NamedTuple):
    """A list that is asked for. ``shares``: of each row of what is at home the lot it is of, and milligrams of that lot for one of the row."""

    asked: ShoppingListRequest
    shares: list[tuple[Lot, Fraction]]


def asked_of(
    connection: Connection,
    household: UUID,
    plan: StoredPlan,
    needs: Sequence[Row],
    lots: Sequence[Lot],
    shop_on: date | None = None,
) -> WhatCounts:
    """The list of some needs of a plan less some lots; ``ValidationError`` for a first day of shopping that is too late."""
    body: Row = {
        **plan.kitchen(),
        "needs": needs,
        "at_hand": [{"food": one.food, **in_grams(one.amount_mg), "use_by": keeps_until(one)} for one in lots][
            :MOST_LOTS
        ],
        "shop_on": shop_on or first_day(needs),
    }
    if plan.kept.asked.prices:
        body["prices"] = plan.kept.asked.prices
    asked = with_ids_resolved(connection, household, ShoppingListWithIds.model_validate(body, strict=False))
    asked = asked.model_copy(update={"school_meal": plan.asked.school_meal})  # as many as there are
    return with_what_cooks(asked, lots)


def needs_of(plan: StoredPlan) -> list[Row]:
    """All that a plan needs: its batches, and what is eaten that is not made in batches."""
    return [*of_batches(plan), *besides_batches(plan)]


def besides_batches(plan: StoredPlan) -> list[Row]:
    """What is eaten that is not made in batches."""
    return list(of_lunches(plan) if plan.asked.way == "lunches" else of_offers(plan))


def first_day(needs: Sequence[Row]) -> date:
    """The day before the first lunch, or the first prep day where that is earlier."""
    days: list[date] = [one["made_on"] or one["on"] - A_DAY for one in needs]
    return min(days)


def of_batches(plan: StoredPlan) -> Iterator[Row]:
    """Of each batch, in the order of the plan."""
    foods = plan.foods()
    for one in plan.reply()["batches"]:
        item, made_on = foods[one["food"]], date.fromisoformat(one["made_on"])
        yield {
            "food": food_sent(plan, one["food"]),
            "quantity": item.quantity,
            "unit": item.unit,
            "portions": one["portions"],
            "on": made_on,
            "made_on": made_on,
        }


def of_offers(plan: StoredPlan) -> Iterator[Row]:
    """Of what is set out, all that is not made in batches."""
    for one in plan.reply()["needs"]:
        if not one["dish"]:
            on = date.fromisoformat(one["by_day"])
            yield {
                "food": food_sent(plan, one["food"]),
                "quantity": one["grams"] / one["portions"],
                "unit": "g",
                "portions": one["portions"],
                "on": on,
                "made_on": None,
            }


def of_lunches(plan: StoredPlan) -> Iterator[Row]:
    """Of each lunch that is given out, for its child, all that is not made in batches."""
    reply = plan.reply()
    dishes = {one.food for one in plan.asked.dishes}
    names = [one.nickname or f"child {place}" for place, one in enumerate(plan.asked.children, 1)]
    for day in reply["days"]:
        for lunch in day["lunches"]:
            for item in lunch["items"]:
                if item["food"] not in dishes:
                    yield {
                        "food": food_sent(plan, item["food"]),
                        "quantity": item["quantity"],
                        "unit": item["unit"],
                        "portions": 1,
                        "on": date.fromisoformat(day["day"]),
                        "made_on": None,
                        "child": names.index(lunch["child"]),
                    }


def keeps_until(lot: Lot) -> date | None:
    """The last day on which it may be eaten; None: no figure is known, or it lies in the freezer."""
    return None if lot.place == FREEZER else lot.use_by


def with_what_cooks(asked: ShoppingListRequest, lots: Sequence[Lot]) -> WhatCounts:
    """What is at home raw or dry counts as what it becomes: dry rice in the cupboard as cooked rice, for the first food that it makes."""
    there: dict[str, list[Lot]] = {}
    for one in lots:
        there.setdefault(one.food, []).append(one)
    made = resolve_shopping(asked)
    more: list[AtHand] = []
    shares = [(one, Fraction(1)) for one in lots[:MOST_LOTS]]
    for key in made.wanted:
        form = made.bought(key)
        if form.food not in made.wanted:  # what is wanted raw as well counts as that, and not twice
            for lot in there.pop(form.food, []):
                cooked = int(lot.amount_mg * bought_for_eaten(form.food) / form.per_gram)
                if cooked:
                    more.append(AtHand(food=key, use_by=keeps_until(lot), **in_grams(cooked)))
                    shares.append((lot, Fraction(lot.amount_mg, cooked)))
    whole = asked.model_copy(update={"at_hand": [*asked.at_hand, *more][:MOST_LOTS]}) if more else asked
    return WhatCounts(whole, shares[:MOST_LOTS])


def in_grams(amount_mg: int) -> Row:
    """An amount as a request may say it: of more than it may say at once, several portions."""
    number = max(1, ceil(Fraction(amount_mg, HEAVIEST_ITEM_MG)))
    return {"quantity": grams_of(amount_mg) / number, "unit": "g", "portions": number}
