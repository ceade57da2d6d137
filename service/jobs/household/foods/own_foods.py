"""A food of the tables or of the household as its page shows it: with the packets read, and whose packet is still to be read."""

from collections.abc import Sequence
from datetime import date
from typing import Any
from uuid import UUID

from service.domain.allergens.to_read import foods_to_read
from service.domain.errors import LunchError
from service.domain.foods.food import Food
from service.domain.foods.packets import Packets
from service.jobs.allergens.avoidances import avoidances_of
from service.jobs.foods.by_id import food_by_id
from service.jobs.foods.counts_as import NOTHING
from service.jobs.foods.in_words import food_in_words
from service.jobs.foods.packets import packet_id, packets_at_hand
from service.jobs.foods.resolve import food_of
from service.jobs.foods.search import search_foods
from service.jobs.household.requests import KeptChild
from service.jobs.household.stored.kept_things import KeptThings
from service.jobs.requests.fields import is_kept_id
from service.jobs.requests.foods import LabelFood, Recipe
from service.reference.allergens.vocabulary import vocabulary
from service.reference.foods.components import components
from service.reference.foods.generic_credits import generic_credit_rules, grams_per_unit_mg
from service.reference.foods.lunch_foods import lunch_foods
from service.store.household.kinds import CHILD
from service.store.household.records import Connection, page

MOST_CHILDREN = 200


def food_as_known(connection: Connection, household: UUID, food_id: str, on: date) -> dict[str, Any]:
    """A food with what its packets say on a day: as ``food_in_words``, with ``id``, ``name``, ``category`` and ``to_read``.

    ``to_read``: foods whose packet decides for a child, with the children's nicknames. Raises ``UnknownName`` or
    ``NotThere``.
    """
    kept = KeptThings(connection, household)
    packets = packets_at_hand(kept.packets(on, on), on)
    asked: str | LabelFood | Recipe = kept.food(food_id, "/id") if is_kept_id(food_id) else food_id
    if isinstance(asked, str):
        food_by_id(asked)
    food = food_of(asked, packets)
    return {
        "id": food_id,
        "name": food.name,
        "category": food.category,
        **food_in_words(food),
        "to_read": _to_read(connection, household, asked, kept, packets),
    }


def measures_of(connection: Connection, household: UUID, food_ids: Sequence[str]) -> dict[str, dict[str, Any]]:
    """Of foods by their ids: name, category, and household measures with the grams of each; those not known are left out."""
    kept = KeptThings(connection, household)
    found = {}
    for one in dict.fromkeys(food_ids):
        food = _found(kept, one)
        if food is not None:
            units = {unit.name: unit.grams_mg / 1000 for unit in food.units}
            found[one] = {"name": food.name, "category": food.category, "units": units}
    return found


def kinds_to_count_as() -> list[str]:
    """The kinds that a food from a label can count as: ids of reference_data/crediting/generic-foods.toml."""
    return [
        rule.id
        for rule in generic_credit_rules().values()
        if rule.component in components() and grams_per_unit_mg(rule, None) is not None
    ]


def lunch_food_of_name(name: str) -> tuple[str | None, list[str]]:
    """The id of the lunch food of a name or an id; None with up to three names that are near where there is none.

    >>> lunch_food_of_name("apple"), lunch_food_of_name("aple")[0]
    (('apple', []), None)
    """
    rows = lunch_foods().rows()
    if name in rows and name != NOTHING:
        return name, []
    found = [one for one in search_foods(name, 20, None)["items"] if one["kind"] == "lunch_food"] if name else []
    for one in found:
        if one["name"].casefold() == name.casefold():
            return one["id"], []
    return None, [one["name"] for one in found[:3]]


def _found(kept: KeptThings, food_id: str) -> Food | None:
    try:
        return food_of(kept.food(food_id, "/food") if is_kept_id(food_id) else food_id)
    except LunchError:
        return None


def _to_read(
    connection: Connection, household: UUID, asked: str | LabelFood | Recipe, kept: KeptThings, packets: Packets
) -> list[dict[str, Any]]:
    whom: dict[str, dict[str, Any]] = {}
    whole = kept.food(asked, "/food") if isinstance(asked, str) and is_kept_id(asked) else asked
    for record in page(connection, CHILD, household, None, MOST_CHILDREN):
        child = KeptChild.model_validate(record.body)
        avoidances = avoidances_of(child, child.setting())
        for food, _allergens in foods_to_read(vocabulary(), food_of(whole, packets), avoidances):
            food_id = packet_id(food)
            if food_id is None:
                continue
            one = whom.setdefault(food_id, {"food": food_id, "name": food.name, "children": []})
            if child.nickname not in one["children"]:
                one["children"].append(child.nickname)
    return list(whom.values())
