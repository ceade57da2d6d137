"""Every lunch that a child can be given from a few choice groups, with what each costs and by how much it misses its targets.

A lunch's *cost* here is one number: what it costs to buy or make, in lunches of the usual price, and what it misses, each
target as a share of its bound. Laid out as arrays, an option of a group a row, so that a hundred thousand take milliseconds.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations, combinations_with_replacement
from math import prod
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from service.domain.plan.robust import Row

MISSED = 10.0
"""What a target counts that is missed by its whole bound, in lunches of the usual price; ours."""
MOST_LUNCHES = 200_000
"""Lunches of a child that are looked at; beyond it the least fitting foods are left aside (a limit of ours)."""
MOST_ROUNDS = 8
"""How often all days are gone through at most."""
Numbers = npt.NDArray[np.float64]


class Given(NamedTuple):
    """A food that a child can be given: its key in the group, what it is, its cost, and what it adds to each row.

    ``cost``: in lunches of the usual price. ``food``: its food key. ``portions``: how many portions of the food the child gets.
    """

    key: str
    food: str
    cost: float
    values: tuple[int, ...]
    portions: float = 1.0


class GroupGiven(NamedTuple):
    """A choice group of a child: how many are taken, and for how many days a food does not come again."""

    id: str
    least: int
    most: int
    repeats: bool
    no_repeat: int
    items: tuple[Given, ...]


class ChildGiven(NamedTuple):
    """A child: the rows that each lunch should keep, those of its mean (place among the values, bound), and its groups."""

    rows: tuple[Row, ...]
    means: tuple[tuple[int, int], ...]
    groups: tuple[GroupGiven, ...]
    days: tuple[int, ...]


Option = tuple[int, ...]
"""Places of the items of a group that are taken together."""


def options_of(group: GroupGiven) -> Iterator[Option]:
    """All ways to take from a group."""
    ways = combinations_with_replacement if group.repeats else combinations
    for number in range(group.least, group.most + 1):
        yield from ways(range(len(group.items)), number)


def missed(total: float, row: Row, largest: float) -> float:
    """By how much a sum is over the bound of a row, as a share of the bound."""
    return max(0.0, total - row.bound) / unit_of(row.bound, largest)


def unit_of(bound: int, largest: float) -> float:
    """What a row is measured in: its bound; the largest of its values where that is nil, or next to nil (a share of energy)."""
    return float(abs(bound)) if abs(bound) * 1000 > largest else max(1.0, largest)


def largest_values(child: ChildGiven) -> list[float]:
    """The largest value that an item has of each row of a child, whatever its sign."""
    items = [item for group in child.groups for item in group.items]
    return [float(max((abs(item.values[place]) for item in items), default=0)) for place in range(len(child.rows))]


@dataclass(frozen=True, eq=False)
class AllLunches:
    """The lunches of one child, numbered: the number of a lunch is that of its options, the last group counting fastest.

    ``complete``: none was left aside.
    """

    child: ChildGiven
    options: tuple[tuple[Option, ...], ...]
    complete: bool

    @property
    def number(self) -> int:
        """How many there are."""
        return prod(len(some) for some in self.options)

    def items(self, lunch: int) -> tuple[tuple[int, int], ...]:
        """The items of a lunch: place of the group, place of the item."""
        found: list[tuple[int, int]] = []
        places = np.unravel_index(lunch, tuple(len(some) for some in self.options)) if self.options else ()
        for group, place in enumerate(places):
            found += [(group, item) for item in self.options[group][int(place)]]
        return tuple(found)

    def sums(self, of_items: Sequence[Sequence[float]], once: Sequence[Sequence[float]] | None = None) -> Numbers:
        """For each lunch the sum of a number of its items; ``of_items``: the numbers by group and item.

        ``once``: numbers that are added once for an item, however often it is taken.
        """
        total = np.zeros(1)
        for place, (some, numbers) in enumerate(zip(self.options, of_items, strict=True)):
            mine = np.array([sum(numbers[item] for item in option) for option in some], dtype=float)
            if once is not None:
                mine += [sum(once[place][item] for item in set(option)) for option in some]
            total = np.add.outer(total, mine).ravel()
        return total

    @cached_property
    def costs(self) -> Numbers:
        """The cost of each lunch."""
        groups = self.child.groups
        total = self.sums([[item.cost for item in group.items] for group in groups])
        largest = largest_values(self.child)
        for place, row in enumerate(self.child.rows):
            values = [[float(item.values[place]) for item in group.items] for group in groups]
            over = np.maximum(0.0, self.sums(values) - row.bound) / unit_of(row.bound, largest[place])
            total = total + MISSED * over
        return total

    @property
    def least_cost(self) -> float:
        """What no lunch costs less than; 0 where some were left aside, as nothing costs less."""
        return float(self.costs.min()) if self.complete else 0.0


def all_lunches(child: ChildGiven, most: int = MOST_LUNCHES) -> AllLunches:
    """Lay out every lunch of a child; where there are too many, the dearer options of the largest groups are left aside."""
    options = [list(options_of(group)) for group in child.groups]
    complete = True
    while prod(len(some) for some in options) > most:
        complete = False
        at = max(range(len(options)), key=lambda place: len(options[place]))
        items = child.groups[at].items
        options[at].sort(key=lambda option: sum(items[place].cost for place in option))
        options[at] = options[at][: max(1, len(options[at]) * 3 // 4)]
    return AllLunches(child, tuple(tuple(some) for some in options), complete)


def _foods(lunches: AllLunches, lunch: int, apart: int) -> frozenset[tuple[int, int]]:
    groups = lunches.child.groups
    return frozenset((group, item) for group, item in lunches.items(lunch) if groups[group].no_repeat >= apart)


def one_by_one(lunches: AllLunches, days: int, fixed: Mapping[int, int], costs: Numbers | None = None) -> list[int]:
    """The cheapest lunch for each day in turn that has no food which comes again too soon; ``fixed``: lunches that stay.

    Where every lunch has one, the cheapest of all is taken.
    """
    costs = lunches.costs if costs is None else costs
    found: dict[int, int] = dict(fixed)
    for day in range(days):
        if day not in found:
            free = np.where(_too_soon(lunches, found, day), np.inf, costs)
            found[day] = int(np.argmin(costs if np.isinf(free).all() else free))
    return [found[day] for day in range(days)]


def better_days(lunches: AllLunches, begun: Sequence[int], of_foods: Mapping[str, float]) -> list[int]:
    """The same lunches, each day's exchanged for the one that goes best with all others, until none is.

    Looks at the mean of all days too. ``of_foods``: what a portion of a food costs besides, by food key.
    """
    groups, days = lunches.child.groups, len(begun)
    costs = lunches.costs + lunches.sums(
        [[of_foods.get(item.food, 0.0) * item.portions for item in group.items] for group in groups]
    )
    means = []
    for place, bound in lunches.child.means:
        values = [[float(item.values[place]) for item in group.items] for group in groups]
        unit = unit_of(bound, max((abs(value) for some in values for value in some), default=0.0))
        means.append((lunches.sums(values) / unit, bound * days / unit))
    found = dict(enumerate(begun))
    for _round in range(MOST_ROUNDS):
        before = dict(found)
        for day in range(days):
            total = costs
            for of_lunches, most in means:
                others = sum(float(of_lunches[lunch]) for other, lunch in found.items() if other != day)
                total = total + MISSED * np.maximum(0.0, of_lunches + (others - most))
            free = np.where(_too_soon(lunches, found, day), np.inf, total)
            if free.min() < free[found[day]]:
                found[day] = int(np.argmin(free))
        if found == before:
            break
    return [found[day] for day in range(days)]


def _too_soon(lunches: AllLunches, given: Mapping[int, int], day: int) -> npt.NDArray[np.bool_]:
    """Which lunches have a food that comes again too soon before or after a day."""
    longest = max((group.no_repeat for group in lunches.child.groups), default=0)
    barred = np.zeros(lunches.number, dtype=bool)
    for other in range(day - longest, day + longest + 1):
        if other in given and other != day:
            barred |= _has_any(lunches, _foods(lunches, given[other], abs(other - day)))
    return barred


def _has_any(lunches: AllLunches, foods: frozenset[tuple[int, int]]) -> npt.NDArray[np.bool_]:
    of_items = [
        [float((group, item) in foods) for item in range(len(one.items))]
        for group, one in enumerate(lunches.child.groups)
    ]
    return lunches.sums(of_items) > 0
