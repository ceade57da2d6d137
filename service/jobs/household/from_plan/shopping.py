"""The shopping list of a stored plan: what it needs less what is at home and other plans leave, with what was bought of it already.

What came home for this plan does not count as at home, so a line stays on the list when it is ticked; and what the plan's
own lunches and batches took counts as at home still, since the plan needs it too. So the list stays as it is while it is worked through.
"""

import re
from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any, NamedTuple
from uuid import UUID

from service.domain.errors import LunchError
from service.domain.foods.food import Food
from service.domain.stock.keeping import CUPBOARD, FREEZER, FRIDGE
from service.jobs.household.from_plan.claims import Days, at_home, days_of, said_of_first
from service.jobs.household.from_plan.needs import asked_of, needs_of
from service.jobs.household.from_plan.planned import StoredPlan
from service.jobs.household.stock.amounts import grams_of, mg_of
from service.jobs.household.stock.entries import today
from service.jobs.household.stock.for_plans import ToBring, bring_in, brought_in
from service.jobs.household.stock.known_foods import KnownFoods
from service.jobs.household.stock.requests import StockEntry
from service.jobs.plan.kitchen.words import NOT_COUNTED
from service.jobs.plan.shopping.requests import ShoppingListRequest
from service.jobs.plan.shopping.shopping_list import shopping_list
from service.reference.messages import json_of, say
from service.reference.plan.buying import bought_for_eaten
from service.reference.plan.kitchen import is_poured, volume_of
from service.store.household.records import Connection, Record
from service.store.household.stock import events_of_entries

Reply = dict[str, Any]
DRY_IN_THE_SHOP = frozenset({"grains", "beans-and-soy"})
"""Kinds of food that are bought dry where they are not bought as they are eaten; ours."""
FROZEN, CANNED = "frozen", "canned"
"""What the tables of foods call one that is sold so."""
NEAR_ENOUGH = 0.02
"""The part by which an amount at home may differ from a whole number of pieces that is said in its place, or be less than is needed and be enough."""


class ListAsked(NamedTuple):
    """A list that is asked for.

    ``first``: the first and last school day of each plan that comes before and leaves less at home; ``unclear``: of each that
    cannot be worked out any more.
    """

    asked: ShoppingListRequest
    first: list[Days]
    unclear: list[Days]


def shopping_asked(
    connection: Connection, household: UUID, plan: StoredPlan, shop_on: date | None = None
) -> ListAsked | None:
    """What is asked of the list; None where the plan needs nothing. ``shop_on``: the first day of shopping; None: ``first_day``.

    ``ValidationError`` for a day that is too late.
    """
    needs = needs_of(plan)
    if not needs:
        return None
    counted = at_home(connection, household, plan)
    asked = asked_of(connection, household, plan, needs, counted.lots, shop_on).asked
    return ListAsked(asked, days_of(counted.first), days_of(counted.unclear))


def list_of_plan(
    listed: ListAsked, ticked: Mapping[str, list[Record]], came: Mapping[UUID, int], foods: KnownFoods
) -> Reply:
    """The list, as ``shopping_list`` replies it; each line with more.

    ``line``: what tells it apart within the plan; ``place``: where it is usually kept; ``can_be_stock``; ``ml_per_gram``: of
    what is poured, otherwise None; ``bought``: None, or what came home of it: ``grams``, ``place`` and the ``id`` of its entry
    in the stock, and ``short_grams``, still to be bought of it since less came home than the plan needs (``came``: ``came_home``). Each row of what is at home has its ``ml_per_gram`` too, and ``pieces`` of ``piece`` where it is counted.
    The cost has ``still_to_pay_minor``, of the lines that are not bought, and whether that is all: each of these has a price and
    of no other more is to be bought (``still_to_pay_complete``); ``to_pay_minor`` is of all lines, bought or not.
    """
    reply = shopping_list(listed.asked)
    said = said_of_first(listed.first, listed.unclear)
    reply["notes"] += [say(one) for one in said]
    reply["note_messages"] += json_of(said)
    seen: dict[str, int] = {}
    for line in lines_of(reply):
        key = line["id"].partition(":")[2]
        seen[key] = seen.get(key, 0) + 1
        line["line"] = f"buy:{key}:{seen[key]}"
        food = _known(foods, key)
        line["can_be_stock"] = food is not None
        line["ml_per_gram"] = _ml_per_gram(food)
        line["place"] = FRIDGE if food is None else usual_place(food, foods, line)
        line["bought"] = _bought(line, ticked.get(line["line"], []), came)
    for one in reply["taken"]:
        food = _known(foods, one["food"])
        one["ml_per_gram"] = _ml_per_gram(food)
        one["pieces"], one["piece"] = (None, None) if food is None else _counted(food, one["grams"])
    if reply["cost"] is not None:
        to_come = [line["cost_minor"] for line in lines_of(reply) if line["bought"] is None]
        short = any(line["bought"]["short_grams"] for line in lines_of(reply) if line["bought"] is not None)
        reply["cost"]["still_to_pay_minor"] = sum(one for one in to_come if one is not None)
        reply["cost"]["still_to_pay_complete"] = None not in to_come and not short
    return reply


def lines_of(reply: Mapping[str, Any]) -> Iterator[Reply]:
    """Every line, in its order."""
    for day in reply["days"]:
        for kind in day["kinds"]:
            yield from kind["lines"]


def ticked_lines(connection: Connection, household: UUID, plan: StoredPlan) -> dict[str, list[Record]]:
    """The entries of the stock that the ticked lines and batches of a plan made, by line."""
    return brought_in(connection, household, plan.id)


def usual_place(food: Food, foods: KnownFoods, line: Mapping[str, Any]) -> str:
    """Where a food is usually kept once it is bought: as its name says, by the figures that there are of it, otherwise cold.

    Food that is bought dry to be cooked (rice, pasta, beans) and of which nothing is known goes into the cupboard.
    """
    bought_otherwise = line["eaten_as"] or line["table_name"]
    signs = set(re.findall("[a-z]+", food.name.lower()))
    known = foods.rules.of(food)
    places = set() if known is None else {one.place for one in known.times}
    if FROZEN in signs and bought_otherwise:
        return FREEZER
    if food.handling.perishable is False or CANNED in signs:
        return CUPBOARD
    if food.handling.perishable is None and not places and line["kind"] in DRY_IN_THE_SHOP and bought_otherwise:
        return CUPBOARD
    return CUPBOARD if CUPBOARD in places and FRIDGE not in places else FRIDGE


def keep_bought(
    connection: Connection, household: UUID, plan: StoredPlan, line: Mapping[str, Any], grams: float, place: str
) -> None:
    """Put a line that was bought in the stock, once; ``LunchError`` or ``ValidationError`` for what cannot be.

    ``grams``: as it was bought; the stock counts what can be eaten of it, without peel, core or shell, as lunches take it.
    """
    key = line["id"].partition(":")[2]
    eaten_mg = round(mg_of(grams) / bought_for_eaten(key))
    portion_mg = KnownFoods(connection, household).food(key).units[0].grams_mg
    number = max(1, round(eaten_mg / portion_mg))
    entry = StockEntry(
        food=key,
        place=place,  # type: ignore[arg-type]
        portions=number,
        portion_grams=round(grams_of(eaten_mg) / number, 3),
        bought_on=today(),
    )
    bring_in(connection, household, plan.id, line["line"], [ToBring(entry, eaten_mg)])


def came_home(connection: Connection, household: UUID, ticked: Mapping[str, list[Record]]) -> dict[UUID, int]:
    """Milligrams that came home of each entry that ticked lines made, whatever was taken of it since."""
    found: dict[UUID, int] = {}
    for event in events_of_entries(connection, household, [one.id for some in ticked.values() for one in some]):
        if event.body["event"] == "made":
            entry = UUID(event.body["stock"])
            found[entry] = found.get(entry, 0) + mg_of(event.body["grams"])
    return found


def _bought(line: Reply, entries: list[Record], came: Mapping[UUID, int]) -> Reply | None:
    if not entries:
        return None
    first = entries[0]
    grams = sum(mg_of(one.body["grams"]) for one in entries)
    home = max(grams, sum(came.get(one.id, 0) for one in entries))
    wanted_mg = mg_of(line["exact_grams"])
    short_mg = wanted_mg - round(home * bought_for_eaten(line["id"].partition(":")[2]))
    return {
        "id": str(first.id),
        "grams": grams_of(grams),
        "place": first.body["place"],
        "short_grams": grams_of(short_mg) if short_mg > NEAR_ENOUGH * wanted_mg else 0,
    }


def _known(foods: KnownFoods, key: str) -> Food | None:
    try:
        return foods.food(key)
    except LunchError:  # a food that was only sent along with the plan
        return None


def _counted(food: Food, grams: float) -> tuple[int, str] | tuple[None, None]:
    """How many whole ones an amount is, where the food is counted and it is near a whole number."""
    unit = food.units[0] if food.units else None
    if unit is None or unit.name.startswith(NOT_COUNTED):
        return None, None
    number = mg_of(grams) / unit.grams_mg
    near = round(number)
    return (near, unit.name) if near and abs(number - near) <= NEAR_ENOUGH * near else (None, None)


def _ml_per_gram(food: Food | None) -> float | None:
    """Millilitres that a gram of what is poured takes up; None for other food, and where it is not known."""
    if food is None or not is_poured(food):
        return None
    volume = volume_of(food)
    return None if volume is None else round(float(volume[0]), 4)
