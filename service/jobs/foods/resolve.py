"""From what a request names to foods of the engine: by id, from a label, or from a recipe.

Label reading and recipes are loaded with the first food that needs them, to keep starting fast.
"""

from service.domain.errors import LunchError, UnknownName
from service.domain.foods.amounts import amount_mg_of
from service.domain.foods.food import Food
from service.domain.measures import SCALE
from service.jobs.requests import LabelFood, LunchItem, Recipe
from service.reference.foods.catalogue import find_food, near_food_ids


def food_by_id(food_id: str, pointer: str) -> Food:
    """A food of the tables; ``UnknownName`` with near names otherwise."""
    food = find_food(food_id)
    if food is None:
        raise UnknownName(
            pointer=pointer,
            value=food_id,
            kind="food",
            near=near_food_ids(food_id),
            known="Search with GET /v1/foods?q=, or send the food from its label.",
        )
    return food


def food_of(asked: str | LabelFood | Recipe, pointer: str) -> Food:
    """The food that a request speaks of."""
    if isinstance(asked, str):
        return food_by_id(asked, pointer)
    if isinstance(asked, Recipe):
        from service.jobs.foods.from_recipe import food_of_recipe

        return food_of_recipe(asked, pointer, food_of)
    from service.jobs.foods.from_label import food_of_label

    return food_of_label(asked, pointer)


def food_of_item(item: LunchItem, pointer: str) -> Food:
    """The food of an item, with what was read on its label where that is said."""
    food = food_of(item.food, pointer + "/food")
    if not item.label_read:
        return food
    from service.jobs.foods.label_read import with_label_read

    try:
        return with_label_read(food, item.label_read)
    except LunchError as fault:
        raise fault.under(pointer) from None


def amount_of(food: Food, quantity: float, unit: str | None, pointer: str = "") -> tuple[int, str]:
    """Weight in milligrams of so much of a food, and the unit used (the usual portion where none is named)."""
    used = unit or food.units[0].name
    return amount_mg_of(food, round(quantity * SCALE), used, pointer), used
