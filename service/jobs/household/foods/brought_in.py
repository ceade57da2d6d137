"""Reads a recipe for a household: with its own foods, and the cups of its region."""

from typing import Any
from uuid import UUID

from service.domain.foods.food import Food
from service.jobs.foods.by_id import food_by_id
from service.jobs.foods.resolve import food_of
from service.jobs.household.foods.search import search_household_foods
from service.jobs.household.settings import settings_of
from service.jobs.household.stored.kept_things import KeptThings
from service.jobs.recipes.matching import LOOKED_AT, FoodsAtHand
from service.jobs.recipes.read_recipe import read_recipe
from service.jobs.recipes.requests import RecipeReadingRequest
from service.jobs.requests.fields import is_kept_id
from service.store.database import Store
from service.store.household.records import Connection

OWN_RECIPE = "own_recipe"


def read_recipe_of_household(store: Store, household: UUID, asked: RecipeReadingRequest) -> dict[str, Any]:
    """As ``read_recipe``; own foods come first, own dishes are no ingredients. One region of the household is the usual country."""
    with store.reading() as connection:
        regions = settings_of(connection, household).regions or []
        usual = regions[0] if len(regions) == 1 else None
        return read_recipe(asked, _foods_at_hand(connection, household), usual)


def _foods_at_hand(connection: Connection, household: UUID) -> FoodsAtHand:
    kept = KeptThings(connection, household)

    def search(words: str) -> list[dict[str, Any]]:
        found = search_household_foods(connection, household, words, LOOKED_AT, None)["items"]
        return [one for one in found if one["kind"] != OWN_RECIPE]

    def food(food_id: str) -> Food:
        if not is_kept_id(food_id):
            return food_by_id(food_id)
        return food_of(kept.food(food_id, "", recipes=False))

    return FoodsAtHand(search, food)
