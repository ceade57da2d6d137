"""How the amount of a food is said: reference_data/foods/household_measures.toml."""

from functools import lru_cache

from service.domain.messages import Message, message
from service.reference.files import Sourced, data_path, read_toml


class HouseholdMeasuresFile(Sourced):
    """The whole file."""

    of_the_food: list[str]


@lru_cache(maxsize=1)
def of_the_food() -> frozenset[str]:
    """The measures that hold a food, weigh it or are cut from it."""
    return frozenset(read_toml(data_path("foods/household_measures.toml"), HouseholdMeasuresFile).of_the_food)


def food_amount(name: str, quantity: float, unit: str) -> Message:
    """So much of a food, as a person says it.

    >>> from service.reference.messages import say
    >>> say(food_amount("whole wheat bread", 2, "slice")), say(food_amount("clementine", 2, "clementine"))
    ('2 slices of whole wheat bread', '2 clementines')
    >>> say(food_amount("ham sandwich", 2, "sandwich")), say(food_amount("plain omelette", 1, "large egg"))
    ('2 ham sandwiches', 'plain omelette (1 large egg)')
    >>> say(food_amount("brown rice", 1, "half cup")), say(food_amount("brown rice", 3, "half cup"))
    ('half a cup of brown rice', '1½ cups of brown rice')
    """
    if unit in of_the_food():
        return message("food-amount.of-it", quantity=quantity, unit=unit, name=name)
    if unit == name or unit.endswith(f" {name}"):
        return message("food-amount.itself", quantity=quantity, unit=unit)
    if name.endswith(f" {unit}") and "," not in name:
        return message("food-amount.last", quantity=quantity, unit=unit, first=name.removesuffix(f" {unit}"))
    return message("food-amount.beside", quantity=quantity, unit=unit, name=name)
