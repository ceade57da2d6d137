"""Own foods and recipes next to the reference foods: searched first, and shown with what was kept of them."""

from collections.abc import Sequence
from typing import Any
from uuid import UUID

from service.domain.errors import NotThere
from service.domain.foods.food import Food
from service.domain.messages import message
from service.jobs.foods.as_recipe import dish_as_recipe
from service.jobs.foods.resolve import food_of
from service.jobs.foods.search import food_reply, foods_of_ids, search_foods
from service.jobs.household.records import shown
from service.jobs.household.stored.kept_things import KeptThings
from service.jobs.requests.fields import is_kept_id
from service.reference.foods.catalogue import find_food
from service.reference.foods.search import WORD, fold
from service.store.household.kinds import FOOD, RECIPE
from service.store.household.records import Connection, Record, find, page

MOST_OWN = 5_000


def search_household_foods(
    connection: Connection, household: UUID, query: str, limit: int, cursor: str | None
) -> dict[str, Any]:
    """One page of foods that match: own foods first, then own recipes, then the reference foods."""
    kept = KeptThings(connection, household)
    own = [
        _found(kept, kind, record)
        for kind in (FOOD, RECIPE)
        for record in page(connection, kind, household, None, MOST_OWN)
        if matches_name(record.body["name"], query)
    ]
    return search_foods(query, limit, cursor, own)


def household_foods_of_ids(connection: Connection, household: UUID, ids: Sequence[str]) -> dict[str, Any]:
    """Foods of these ids, own ones too, in their order; those that are not known here are left out."""
    kept = KeptThings(connection, household)
    own = {}
    for one in dict.fromkeys(ids):
        for kind in (FOOD, RECIPE) if is_kept_id(one) else ():
            record = find(connection, kind, household, UUID(one))
            if record is not None:
                own[one] = _found(kept, kind, record)
    return foods_of_ids(ids, own)


def show_household_food(connection: Connection, household: UUID, food_id: str) -> tuple[dict[str, Any], Record] | None:
    """An own food or recipe as all foods are shown, with ``kept``: the record; None for an id of another form.

    ``NotThere`` if this household has none of that id.
    """
    if not is_kept_id(food_id):
        return None
    record = find(connection, FOOD, household, UUID(food_id)) or find(connection, RECIPE, household, UUID(food_id))
    if record is None:
        raise NotThere(
            pointer="/id",
            value=food_id,
            problem=message("fault.no-food-here"),
        )
    kind = "own_recipe" if "ingredients" in record.body and isinstance(record.body["ingredients"], list) else "own_food"
    reply = food_reply(_food(KeptThings(connection, household), record))
    return {**reply, "id": food_id, "kind": kind, "kept": shown(record)}, record


def household_dish_as_recipe(
    connection: Connection, household: UUID, food_id: str
) -> tuple[dict[str, Any], Record] | None:
    """An own recipe as schema.org Recipe with its record; None for a food that is no own recipe."""
    found = show_household_food(connection, household, food_id)
    if found is None or found[0]["kind"] != "own_recipe":
        return None
    reply, record = found
    kept = KeptThings(connection, household)
    parts = [(_name_of(kept, one["food"]), one["grams"]) for one in record.body["ingredients"]]
    linked = dish_as_recipe(reply, parts, record.body["portions"])
    address = record.body.get("from_address")
    return {**linked, "url": address} if address else linked, record


def _name_of(kept: KeptThings, food: str | dict[str, Any]) -> str:
    """The name of an ingredient: of a stored food, of one of the tables, or as it was sent along."""
    if not isinstance(food, str):
        return str(food["name"])
    if is_kept_id(food):
        return kept.food(food, "/food").name
    known = find_food(food)
    return food if known is None else known.name


def _food(kept: KeptThings, record: Record) -> Food:
    return food_of(kept.food(str(record.id), "/id"))


def _found(kept: KeptThings, kind: Any, record: Record) -> dict[str, Any]:
    food = _food(kept, record)
    unit = food.units[0]
    return {
        "id": str(record.id),
        "name": food.name,
        "kind": "own_food" if kind is FOOD else "own_recipe",
        "category": food.category,
        "usual_unit": unit.name,
        "usual_grams": unit.grams_mg / 1000,
    }


def matches_name(name: str, query: str) -> bool:
    """Whether every word of the query is the beginning of a word of the name."""
    words = WORD.findall(fold(query))
    of_name = WORD.findall(fold(name))
    return bool(words or not query.strip()) and all(any(one.startswith(word) for one in of_name) for word in words)
