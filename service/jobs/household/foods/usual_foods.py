"""Foods to begin with: those of a country's ordinary lunches, and those like the ones that are in a group already."""

from collections.abc import Collection, Mapping, Sequence
from datetime import date
from typing import Any
from uuid import UUID

from service.domain.allergens.screening import Avoidance, screen_food
from service.domain.errors import BadInput
from service.domain.foods.food import Food
from service.domain.messages import message
from service.jobs.allergens.avoidances import avoidances_of
from service.jobs.foods.at_hand import everyday_foods
from service.jobs.foods.by_id import food_by_id
from service.jobs.foods.packets import packets_at_hand
from service.jobs.foods.resolve import food_of
from service.jobs.household.requests import KeptChild
from service.jobs.household.stored.kept_things import KeptThings
from service.jobs.lunch.standards import list_standards
from service.jobs.requests.fields import is_kept_id
from service.reference.allergens.vocabulary import vocabulary
from service.reference.foods.first_offer import first_offers
from service.store.household.kinds import CHILD
from service.store.household.records import Connection
from service.store.household.whole_household import records_of

COUNTRY_WITHOUT_STANDARD = "US"
"""Whose foods a household begins with where there are none for its standard's country."""
UP_TO_TWO, ONE = (0, 2), (1, 1)
GROUPS_OF_EXTRAS = frozenset({"extra"})
ENOUGH = 2
"""Foods of a group that are ticked for each child where there are so many that it may have (ours)."""


def foods_like(foods: Sequence[str], group: str = "") -> list[dict[str, Any]]:
    """Everyday foods of the categories of these foods, as a search shows them.

    Where there are none yet, those of the category that the name of the group speaks of; all everyday foods where it speaks
    of none. Own foods say nothing of what is like them.
    """
    everyday = everyday_foods()
    categories = {food_by_id(one).category for one in foods if not is_kept_id(one)}
    if not categories:
        categories = {one.food.category for one in everyday if one.food.category.removesuffix("s") in group.lower()}
    return [
        {
            "id": one.food.id,
            "name": one.food.name,
            "kind": one.food.kind,
            "category": one.food.category,
            "usual_unit": one.unit,
            "usual_grams": one.amount_mg / 1000,
        }
        for one in everyday
        if not categories or one.food.category in categories
    ]


def country_of(standard: str) -> str:
    """The country whose ordinary foods go with a standard."""
    for one in list_standards()["items"]:
        if one["id"] == standard and one["jurisdiction"][:2] in first_offers():
            return str(one["jurisdiction"][:2])
    return COUNTRY_WITHOUT_STANDARD


def usual_foods(country: str) -> list[dict[str, Any]]:
    """By group what a household of a country may usually set out: each food with its name, portion, and whether it is ticked."""
    groups = []
    for group in first_offers()[country]:
        rows = []
        for one in group.foods:
            food = food_by_id(one.food)
            rows.append(
                {
                    "food": food.id,
                    "name": food.name,
                    "category": food.category,
                    "quantity": one.quantity,
                    "unit": one.unit or food.units[0].name,
                    "ticked": one.ticked,
                }
            )
        groups.append({"id": group.id, "foods": rows})
    return groups


def usual_foods_for(connection: Connection, household: UUID, country: str, on: date) -> list[dict[str, Any]]:
    """The same for the children of a household: by what each must not have, and the packets that were read.

    A food has two lists more of nicknames: ``not_for`` whom it is not, and ``read_for`` whom its packet is to be read first. One
    that no child may have is not ticked. Where too few are ticked for a child, more are, those with nothing to read first.
    """
    children = [KeptChild.model_validate(one.body) for one in records_of(connection, CHILD, household)]
    kept = KeptThings(connection, household)
    packets = packets_at_hand(kept.packets(on, on), on, kept.salts_cooking_water())
    avoided = {child.nickname: avoidances_of(child, child.setting()) for child in children}
    groups = usual_foods(country)
    for group in groups:
        rows = group["foods"]
        screened = {
            row["food"]: {name: _how_it_is(food_of(row["food"], packets), some) for name, some in avoided.items()}
            for row in rows
        }
        usual = sum(row["ticked"] for row in rows)
        for row in rows:
            found = screened[row["food"]]
            row["not_for"] = [name for name, how in found.items() if how == MUST_NOT]
            row["read_for"] = [name for name, how in found.items() if how == READ_FIRST]
            row["ticked"] = row["ticked"] and (not found or min(found.values()) < READ_FIRST)
        for name in avoided:
            _tick_for(rows, {food: found[name] for food, found in screened.items()}, min(usual, ENOUGH))
    return groups


CLEAR, READ_ONCE, READ_FIRST, MUST_NOT = range(4)
"""How a food is for a child: nothing to read; its packet once; its packet before it is packed; not at all."""


def _how_it_is(food: Food, avoided: Sequence[Avoidance]) -> int:
    results = [screen_food(vocabulary(), food, one) for one in avoided]
    if any(one.do_not_pack for one in results):
        return MUST_NOT
    if any(one.keeps_out for one in results):
        return READ_FIRST
    return READ_ONCE if any(one.unread for one in results) else CLEAR


def _tick_for(rows: Sequence[dict[str, Any]], how: Mapping[str, int], enough: int) -> None:
    """Tick so many foods of a group that a child may have, one with nothing to read among them where there is one."""
    may = sorted((row for row in rows if how[row["food"]] < READ_FIRST), key=lambda row: how[row["food"]])
    missing = enough - sum(row["ticked"] for row in may)
    others = [row for row in may if not row["ticked"]]
    if (
        others
        and how[others[0]["food"]] == CLEAR
        and not any(row["ticked"] and how[row["food"]] == CLEAR for row in may)
    ):
        missing = max(missing, 1)
    for row in others[: max(missing, 0)]:
        row["ticked"] = True


def first_offer(
    country: str, ticked: Mapping[str, Collection[str]], names: Mapping[str, str], name: str
) -> dict[str, Any]:
    """The body of an offer from ticks: one of each group, and up to two extras.

    ``ticked``: food ids by group; ``names``: what each group is called. A group without a tick is left out. Raises
    ``BadInput`` where nothing is ticked at all.
    """
    groups = []
    for group in usual_foods(country):
        items = [
            {"food": one["food"], "key": one["food"], "quantity": one["quantity"], "unit": one["unit"]}
            for one in group["foods"]
            if one["food"] in ticked.get(group["id"], ())
        ]
        low, high = UP_TO_TWO if group["id"] in GROUPS_OF_EXTRAS else ONE
        if items:
            take = {"at_least": low, "at_most": high, "repeats": False}
            groups.append({"id": names.get(group["id"], group["id"]), "items": items, "take": take})
    if not groups:
        raise BadInput(field="foods", value="", problem=message("fault.nothing-ticked"))
    return {"name": name, "groups": groups, "alternatives": [], "rules": []}
