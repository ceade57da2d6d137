"""The foods whose packets can be read: searched by name; of a dish, its ingredients."""

from typing import Any
from uuid import UUID

from service.jobs.foods.packets import food_ids
from service.jobs.household.foods.search import household_foods_of_ids, search_household_foods
from service.jobs.household.stored.kept_things import KeptThings
from service.jobs.requests.fields import is_kept_id
from service.store.household.records import Connection

MOST = 12
DISHES = ("recipe", "own_recipe")
Row = dict[str, Any]


def foods_to_read(connection: Connection, household: UUID, query: str) -> dict[str, Any]:
    """Foods that match, own foods first, and the ingredients of dishes that match.

    ``foods``: rows with id, name, kind and category. ``dishes``: of each its ``name`` and its ``foods``.
    """
    found = search_household_foods(connection, household, query, MOST, None)["items"] if query.strip() else []
    return {
        "foods": [row for row in found if row["kind"] not in DISHES],
        "dishes": [_dish(connection, household, row) for row in found if row["kind"] in DISHES],
    }


def food_to_read(connection: Connection, household: UUID, food_id: str) -> tuple[Row | None, Row | None]:
    """A food by its id as a row, and where it is a dish its ingredients instead; None and None for one that is not here.

    A dish is settled by the packets of its ingredients.
    """
    rows = household_foods_of_ids(connection, household, [food_id])["items"]
    if not rows:
        return None, None
    (row,) = rows
    return (None, _dish(connection, household, row)) if row["kind"] in DISHES else (row, None)


def _dish(connection: Connection, household: UUID, row: Row) -> Row:
    asked = KeptThings(connection, household).food(row["id"], "/food") if is_kept_id(row["id"]) else row["id"]
    ids = [one for one in food_ids(asked) if one != row["id"]]
    foods = household_foods_of_ids(connection, household, ids)["items"]
    return {"name": row["name"], "foods": [one for one in foods if one["kind"] not in DISHES]}
