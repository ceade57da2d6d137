"""Foods to begin with: those of a country's ordinary lunches, and those like the ones that are in a group already."""

from collections.abc import Collection, Mapping, Sequence
from typing import Any

from service.domain.errors import BadInput
from service.domain.messages import message
from service.jobs.foods.at_hand import everyday_foods
from service.jobs.foods.by_id import food_by_id
from service.jobs.lunch.standards import list_standards
from service.jobs.requests.fields import is_kept_id
from service.reference.foods.first_offer import first_offers

COUNTRY_WITHOUT_STANDARD = "US"
"""Whose foods a household begins with where there are none for its standard's country."""
UP_TO_TWO, ONE = (0, 2), (1, 1)
GROUPS_OF_EXTRAS = frozenset({"extra"})


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
        raise BadInput(field="foods", value="nothing", problem=message("fault.nothing-ticked"))
    return {"name": name, "groups": groups, "alternatives": [], "rules": []}
