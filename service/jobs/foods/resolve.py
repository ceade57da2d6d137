"""From what a request names to foods of the engine: by id, from a label, or from a recipe.

Faults have their place within what is resolved. Label reading and recipes are loaded with the first food that needs
them, to keep starting fast.
"""

from service.domain.errors import at
from service.domain.foods.amounts import amount_mg_of
from service.domain.foods.food import Food
from service.domain.foods.packets import NO_PACKETS, Packet, Packets
from service.domain.measures import THOUSANDTHS
from service.jobs.foods.by_id import food_by_id
from service.jobs.foods.packets import of_food, table_food, with_packet
from service.jobs.requests.foods import LabelFood, Recipe
from service.jobs.requests.lunches import LunchItem


def food_with(food_id: str, packets: tuple[Packet, ...], salted_water: bool = False) -> Food:
    """A food of the tables with the packets that speak of it; ``UnknownName`` as ``food_by_id``."""
    return table_food(food_id, packets, salted_water) if packets else food_by_id(food_id, salted_water)


def food_of(asked: str | LabelFood | Recipe, packets: Packets = NO_PACKETS) -> Food:
    """The food that a request speaks of, with the packets that were read of it and of its ingredients.

    Raises ``UnknownName`` for an id, and what its label or recipe raises. Places are within it.
    """
    if isinstance(asked, str):
        return food_with(asked, of_food(packets, asked), packets.salted_water)
    if isinstance(asked, Recipe):
        from service.jobs.foods.from_recipe import food_of_recipe

        return food_of_recipe(asked, lambda one: food_of(one, packets))
    from service.jobs.foods.from_label import food_of_label

    food = food_of_label(asked)
    packet = packets.by_food.get(food.id)
    return food if packet is None else with_packet(food, packet)


def food_of_item(item: LunchItem, packets: Packets = NO_PACKETS) -> Food:
    """The food of an item, with what was read on its label where that is said.

    Raises as ``food_of``; places are within the item.
    """
    with at("food"):
        return food_of(item.food, packets)


def amount_of(food: Food, quantity: float, unit: str | None) -> tuple[int, str]:
    """Weight in milligrams of so much of a food, and the unit used (the usual portion where none is named).

    ``quantity``: how many units. Raises as ``amount_mg_of``.

    >>> amount_of(food_by_id("apple"), 0.5, None)
    (91000, 'apple')
    """
    used = unit or food.units[0].name
    return amount_mg_of(food, round(quantity * THOUSANDTHS), used), used
