"""What taking several items of one food from a group credits more than the items do one by one.

A food is credited for the whole lunch before it is rounded: three crackers taken one by one are three crackers. Items of the same
food in different groups are still rounded group by group.
"""

from collections.abc import Mapping, Sequence
from functools import lru_cache

from service.domain.foods.amounts import ItemVector, beside_each, item_vector
from service.domain.foods.crediting import CreditingScheme
from service.domain.foods.food import CreditOption, Food
from service.domain.measures import MEASURE_COUNT

Credited = tuple[Food, CreditOption | None, int]
"""A food, the way it credits, and milligrams of it."""


def credited_more(items: Sequence[Credited], scheme: CreditingScheme | None) -> ItemVector | None:
    """What items taken together credit beyond each by itself; None: nothing.

    >>> from service.reference.foods.catalogue import find_food
    >>> from service.reference.lunch.standards import crediting_scheme
    >>> scheme, saltines = crediting_scheme("us-school-meals"), find_food("saltines")
    >>> five_grams = (saltines, saltines.credit_options[0], 5_000)  # 22 g make an ounce equivalent: none by itself
    >>> max(credited_more([five_grams] * 6, scheme).nominal)  # 30 g: 1.36, rounded down to 1.25
    125000000
    """
    more = [0] * MEASURE_COUNT
    for (food, option, amount_mg), before in zip(items, beside_each(items), strict=True):
        if before:
            alone = item_vector(food, amount_mg, scheme, option).nominal
            beside = item_vector(food, amount_mg, scheme, option, before).nominal
            more = [so_far + now - was for so_far, now, was in zip(more, beside, alone, strict=True)]
    return ItemVector(tuple(more), ()) if any(more) else None


class Together:
    """The items of an offer by group and key, as they credit together; remembers what was asked."""

    def __init__(self, items: Mapping[tuple[str, str], Credited], scheme: CreditingScheme | None) -> None:
        self.items = items
        self.scheme = scheme
        foods = [food.id for food, _option, _amount in items.values()]
        self._some_alike = {food for food in foods if foods.count(food) > 1}
        self._more = lru_cache(maxsize=None)(self._of)

    def of(self, group: str, keys: Sequence[str]) -> ItemVector | None:
        """What an option credits beyond its items; None: nothing."""
        if self.scheme is None or len(keys) < 2:
            return None
        alike = tuple(key for key in keys if self.items[(group, key)][0].id in self._some_alike or keys.count(key) > 1)
        return self._more(group, alike) if len(alike) > 1 else None

    def _of(self, group: str, keys: tuple[str, ...]) -> ItemVector | None:
        return credited_more([self.items[(group, key)] for key in keys], self.scheme)
