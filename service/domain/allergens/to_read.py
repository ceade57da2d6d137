"""Which packets are still to be read before a food is settled for those who avoid something.

A dish is settled by the packets of the foods in it; what it is made of is known to the dish itself.
"""

from collections.abc import Iterable
from typing import NamedTuple

from service.domain.allergens.screening import Avoidance, screen_food
from service.domain.allergens.vocabulary import AllergenVocabulary
from service.domain.foods.food import Food


class FoodToRead(NamedTuple):
    """A food whose packet is still to be read, and the ids of the allergens to look for on it."""

    food: Food
    allergens: tuple[str, ...]


def foods_to_read(vocabulary: AllergenVocabulary, food: Food, avoidances: Iterable[Avoidance]) -> list[FoodToRead]:
    """The foods whose packets settle a food: of a dish those in it that are still open, otherwise the food itself.

    Empty where no label is to be read. A dish of which no part is open, though it is itself, is named itself.

    Source: ours; common practice that a dish holds what its ingredients hold, no source.

    >>> from service.reference.allergens.vocabulary import vocabulary
    >>> from service.reference.foods.catalogue import find_food
    >>> milk = [Avoidance("milk", "contains")]
    >>> [one.food.id for one in foods_to_read(vocabulary(), find_food("apple"), milk)]
    []
    """
    unread = [one for one in avoidances if screen_food(vocabulary, food, one).unread]
    if not unread:
        return []
    found = [
        FoodToRead(part, allergens)
        for part in food.made_of or (food,)
        if (allergens := _each_once(one for one in unread if screen_food(vocabulary, part, one).unread))
    ]
    return found or [FoodToRead(food, _each_once(unread))]


def _each_once(avoidances: Iterable[Avoidance]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(one.allergen for one in avoidances))
