"""What taking several items of one food credits more than the items do one by one.

A food is credited for the whole lunch before it is rounded: three crackers taken one by one are three crackers, from one group
or from several.
"""

from collections import Counter
from collections.abc import Hashable, Mapping, Sequence
from functools import lru_cache

from service.domain.foods.amounts import ItemVector, beside_each, credited_as, item_vector
from service.domain.foods.crediting import CreditingScheme
from service.domain.foods.food import CreditOption, Food
from service.domain.measures import MEASURE_COUNT
from service.domain.offers.branches import Alike, Key, Option

Credited = tuple[Food, CreditOption | None, int]
"""A food, the way it credits, and milligrams of it."""


def credited_more(
    items: Sequence[Credited], scheme: CreditingScheme | None, beside: Sequence[Credited] = ()
) -> ItemVector | None:
    """What items taken together, and together with those ``beside`` them, credit beyond each by itself; None: nothing.

    >>> from service.reference.foods.catalogue import find_food
    >>> from service.reference.lunch.standards import crediting_scheme
    >>> scheme, saltines = crediting_scheme("us-school-meals"), find_food("saltines")
    >>> five_grams = (saltines, saltines.credit_options[0], 5_000)  # 22 g make an ounce equivalent: none by itself
    >>> max(credited_more([five_grams] * 6, scheme).nominal)  # 30 g: 1.36, rounded down to 1.25
    125000000
    """
    more = [0] * MEASURE_COUNT
    all_before = beside_each([*beside, *items])[len(beside) :]
    for (food, option, amount_mg), before in zip(items, all_before, strict=True):
        if before:
            alone = item_vector(food, amount_mg, scheme, option).nominal
            added = item_vector(food, amount_mg, scheme, option, before).nominal
            more = [so_far + now - was for so_far, now, was in zip(more, added, alone, strict=True)]
    return ItemVector(tuple(more), ()) if any(more) else None


class Together:
    """The items of an offer by group and key, as they credit together; remembers what was asked."""

    def __init__(self, items: Mapping[Key, Credited], scheme: CreditingScheme | None) -> None:
        self.items = items
        self.scheme = scheme
        number = Counter(food.id for food, _option, _amount in items.values())
        self._some_alike = {food for food, times in number.items() if times > 1}
        self._more = lru_cache(maxsize=None)(self._of)
        self.between_groups = {} if scheme is None else _in_several_groups(items)
        """Which food an item is credited as, for each item whose food another group has too."""

    def of(self, option: Option) -> ItemVector | None:
        """What an option credits beyond its items; None: nothing."""
        if self.scheme is None or len(option.items) + len(option.beside) < 2:
            return None
        keys = option.keyed()
        alike = tuple(key for key in keys if self.items[key][0].id in self._some_alike or keys.count(key) > 1)
        return self._more(alike, option.beside) if len(alike) + len(option.beside) > 1 else None

    def _of(self, keys: tuple[Key, ...], beside: tuple[Key, ...]) -> ItemVector | None:
        return credited_more([self.items[key] for key in keys], self.scheme, [self.items[key] for key in beside])


def _in_several_groups(items: Mapping[Key, Credited]) -> Alike:
    groups_of: dict[str, set[str]] = {}
    for (group, _key), (food, _option, _amount) in items.items():
        groups_of.setdefault(food.id, set()).add(group)
    alike = {
        key: credited_as(food, option)
        for key, (food, option, _amount) in items.items()
        if len(groups_of[food.id]) > 1 and option is not None and option.credits
    }
    groups: dict[Hashable, set[str]] = {}
    for (group, _key), one in alike.items():
        groups.setdefault(one, set()).add(group)
    number = {one: place for place, one in enumerate(groups)}
    return {key: number[one] for key, one in alike.items() if len(groups[one]) > 1}
