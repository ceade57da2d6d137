"""The portions that are enough in, say, 95 of 100 cases: found by taking away from those that are always enough."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from fractions import Fraction
from typing import NamedTuple

from service.domain.plan.portions.enough import Eater, conditions_of
from service.domain.plan.portions.usual import EQUAL, Chance, Shares, chance

QUICK = 2_000
"""Draws of one look during the search; what is found is looked at again with `CAREFUL` draws."""
CAREFUL = 40_000
PROBE = 1
"""Draws of the look that only shows whether the exact form is for these eaters."""
NO_FLOORS: Mapping[str, int] = {}


class Usual(NamedTuple):
    """Portions that are enough so often; ``found``: cheaper ones may exist, since not all are tried."""

    portions: Mapping[str, int]
    cost: Fraction
    chance: Chance

    @property
    def total(self) -> int:
        """All portions together."""
        return sum(self.portions.values())


def usual_portions(
    eaters: Sequence[Eater],
    always: Sequence[Mapping[str, int]],
    cost: Mapping[str, Fraction | int],
    wanted: float = 0.95,
    shares: Shares = EQUAL,
    at_least: Mapping[str, int] = NO_FLOORS,
    seed: int = 1,
) -> Usual:
    """Portions that are enough with a chance of ``wanted``, as cheap as taking away from those always enough finds them.

    Parameters
    ----------
    always: one or more choices of portions that are always enough. cost: of one portion of each food. shares: how readily
    each eater takes each food. at_least: portions of a food that there are to be in any case.

    The chance of what is found is exact, or its lower end (share less error) is at least ``wanted``. Where it is known what is
    liked, a second start has all that anybody could like: those always enough may leave out what is cheap and mostly taken.
    Of what costs the same, that one counts. Source: ours.
    """
    found = []
    if shares:
        start = _all_that_is_liked(eaters, always[0], at_least)
        tries = [(food, size) for food in _costliest_first(start, cost) for size in _sizes(start)]
        found.append(_taken_away(eaters, start, tries, cost, wanted, shares, at_least, seed))
    for one in always:
        tries = [(food, size) for size in _sizes(one) for food in _costliest_first(one, cost)]
        found.append(_taken_away(eaters, one, tries, cost, wanted, shares, at_least, seed))
    return min(found, key=lambda one: (one.cost, one.total))


def _all_that_is_liked(eaters: Sequence[Eater], foods: Iterable[str], at_least: Mapping[str, int]) -> dict[str, int]:
    """So many of each food that everybody could take it every morning."""
    return {
        food: max(at_least.get(food, 0), sum(one.takes_of(frozenset({food})) * len(one.mornings) for one in eaters))
        for food in foods
    }


def _costliest_first(portions: Mapping[str, int], cost: Mapping[str, Fraction | int]) -> list[str]:
    return sorted(portions, key=lambda one: (-cost[one], -portions[one], one))


def _sizes(portions: Mapping[str, int]) -> list[int]:
    """How many portions are taken away at once: first half of the most of a food, then half of that, down to one."""
    sizes = [max(1, max(portions.values(), default=1) // 2)]
    while sizes[-1] > 1:
        sizes.append(sizes[-1] // 2)
    return sizes


def _taken_away(
    eaters: Sequence[Eater],
    always: Mapping[str, int],
    tries: Sequence[tuple[str, int]],
    cost: Mapping[str, Fraction | int],
    wanted: float,
    shares: Shares,
    at_least: Mapping[str, int],
    seed: int,
) -> Usual:
    exactly = chance(eaters, always, shares, PROBE, seed).error is None
    eaten = sum(one.least * len(one.mornings) for one in eaters)
    conditions = conditions_of(eaters)

    def certain(portions: Mapping[str, int]) -> bool:
        """Whether they are enough whatever is taken: then there is no chance to look at."""
        return all(one.holds(portions) for one in conditions)

    def quick(portions: Mapping[str, int]) -> bool:
        if sum(portions.values()) < eaten:  # so many are taken in any case
            return False
        if certain(portions):
            return True
        found = chance(eaters, portions, shares, QUICK, seed, exactly=exactly, wanted=wanted)
        return found.share >= wanted

    steps = [dict(always)]
    for food, size in tries:
        _take_from(steps, food, size, at_least.get(food, 0), quick)
    # The quick look may have been lucky: go back step by step until the careful one agrees.
    while True:
        portions = steps.pop()
        careful = Chance(1.0)
        if steps and not certain(portions):
            careful = chance(eaters, portions, shares, CAREFUL, seed + 1, wanted=wanted)
        if careful.at_least >= wanted or not steps:
            spent = sum((Fraction(cost[food]) * number for food, number in portions.items()), Fraction(0))
            return Usual(portions, spent, careful)


def _take_from(
    steps: list[dict[str, int]],
    food: str,
    size: int,
    floor: int,
    still_enough: Callable[[Mapping[str, int]], bool],
) -> None:
    """Take so many portions of a food away, again and again, as long as the rest is still enough."""
    while steps[-1][food] - size >= floor:
        less = {**steps[-1], food: steps[-1][food] - size}
        if not still_enough(less):
            return
        steps.append(less)
