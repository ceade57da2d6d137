"""A food of the tables by its id."""

from service.domain.errors import UnknownName
from service.domain.foods.food import Food
from service.domain.messages import message
from service.reference.foods.catalogue import find_food, in_salted_water, near_food_ids


def food_by_id(food_id: str, salted_water: bool = False) -> Food:
    """A food of the tables, cooked in salted water where there is such a kind; ``UnknownName`` with near names otherwise."""
    food = (in_salted_water(food_id) if salted_water else None) or find_food(food_id)
    if food is None:
        raise UnknownName(
            value=food_id,
            kind=message("kind.food"),
            near=near_food_ids(food_id),
            known=message("help.search-or-label"),
        )
    return food
