"""A food of the tables by its id."""

from service.domain.errors import UnknownName
from service.domain.foods.food import Food
from service.reference.foods.catalogue import find_food, near_food_ids


def food_by_id(food_id: str) -> Food:
    """A food of the tables; ``UnknownName`` with near names otherwise."""
    food = find_food(food_id)
    if food is None:
        raise UnknownName(
            value=food_id,
            kind="food",
            near=near_food_ids(food_id),
            known="Search with GET /v1/foods?q=, or send the food from its label.",
        )
    return food
