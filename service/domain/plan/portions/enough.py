"""How many portions are enough: whatever everybody took before, nobody finds a choice group without what it must take.

On each of its mornings each eater takes between ``least`` and ``most`` portions from one choice group, of the foods it may
take, in any order. The portions are enough if there is no way to take that leaves one of them short.

Somebody is left short exactly if the others, and it itself on earlier mornings, can use up what it could take. That is a
matching of portions to takes, so by Hall's theorem it is impossible exactly if some set of foods, the *reserve*, has more
portions than can be taken from it. Each condition below is a list of reserves of which one must hold.

Source: P. Hall, On representatives of subsets, J. London Math. Soc. 10 (1935); the conditions are ours, held against a
search through every way to take (tests/properties/test_enough_laws.py).
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import combinations
from typing import NamedTuple

MOST_RESERVES = 4_000
"""Reserves of one condition that are looked at; beyond it the largest alone stands for them (a limit of ours)."""


class Eater(NamedTuple):
    """Somebody who takes from a choice group: the foods it may take, how many portions of them, and on which mornings.

    ``mornings``: numbers of the days, in order. ``repeats``: the same food may be taken more than once in a morning.
    """

    name: str
    may_take: frozenset[str]
    mornings: frozenset[int]
    least: int = 1
    most: int = 1
    repeats: bool = False

    @property
    def last(self) -> int:
        """The last morning."""
        return max(self.mornings)

    def takes_of(self, foods: frozenset[str]) -> int:
        """The most portions of these foods that it can take in one morning."""
        among = len(foods & self.may_take)
        return (self.most if among else 0) if self.repeats else min(self.most, among)


class Reserve(NamedTuple):
    """Foods that have, together, so many portions that they cannot all be taken before somebody's last morning."""

    foods: frozenset[str]
    portions: int


class Condition(NamedTuple):
    """What must hold for one eater: one of its reserves is there. ``exact``: all reserves that could be are among them."""

    eater: str
    reserves: tuple[Reserve, ...]
    exact: bool

    def holds(self, portions: Mapping[str, int]) -> bool:
        """Whether these portions of each food keep one of the reserves."""
        return any(sum(portions.get(food, 0) for food in one.foods) >= one.portions for one in self.reserves)


def conditions_of(eaters: Sequence[Eater]) -> list[Condition]:
    """What must hold so that nobody is left short on any morning; equal eaters stand for one another.

    An eater's last morning is the hardest: what others take later takes nothing from it. An eater who may take fewer foods
    than it must has a condition without reserves, which nothing keeps.

    >>> week = frozenset(range(5))
    >>> two = [Eater("Kit", frozenset({"apple", "pear"}), week), Eater("Sam", frozenset({"pear"}), week)]
    >>> for one in conditions_of(two):
    ...     print(one.eater, [(sorted(reserve.foods), reserve.portions) for reserve in one.reserves])
    Kit [(['apple'], 5), (['apple', 'pear'], 10)]
    Sam [(['pear'], 10)]
    """
    alike = {one[1:]: one for one in reversed(eaters) if one.least > 0 and one.mornings}
    found = []
    for eater in reversed(alike.values()):
        others = list(eaters)
        others.remove(eater)
        found += [_condition(eater, others, foods, left) for foods, left in _used_up(eater)]
    return found


def enough(eaters: Sequence[Eater], portions: Mapping[str, int]) -> bool:
    """Whether nobody can be left short; exact where every condition is.

    >>> week = frozenset(range(5))
    >>> two = [Eater("Kit", frozenset({"apple", "pear"}), week), Eater("Sam", frozenset({"pear"}), week)]
    >>> enough(two, {"apple": 5, "pear": 5})  # Kit may take the pears
    False
    >>> enough(two, {"apple": 0, "pear": 10})
    True
    """
    return all(one.holds(portions) for one in conditions_of(eaters))


def _used_up(eater: Eater) -> Iterator[tuple[frozenset[str], int]]:
    """The sets of foods that leave an eater short if so many portions at most are left of them.

    Where it may repeat, all its foods with one portion too few; where it may not, as many foods as leave too few others.
    """
    if eater.repeats:
        yield eater.may_take, eater.least
        return
    if len(eater.may_take) < eater.least:
        yield frozenset(), 1
        return
    for foods in combinations(sorted(eater.may_take), len(eater.may_take) - eater.least + 1):
        yield frozenset(foods), 1


def _condition(eater: Eater, others: Sequence[Eater], foods: frozenset[str], left: int) -> Condition:
    def needed(reserve: frozenset[str]) -> int:
        mornings = [sum(day <= eater.last for day in one.mornings) for one in others]
        before = sum(many * one.takes_of(reserve) for many, one in zip(mornings, others, strict=True))
        return before + (len(eater.mornings) - 1) * eater.takes_of(reserve) + left

    sets, exact = _reserves(foods, [eater, *others])
    return Condition(eater.name, tuple(Reserve(one, needed(one)) for one in sets), exact)


def _reserves(foods: frozenset[str], eaters: Sequence[Eater]) -> tuple[list[frozenset[str]], bool]:
    """The sets of foods that can serve as a reserve, and whether they are all: none that another serves better.

    A food that can be added without another portion being taken from the reserve is always added.
    """
    if not foods:
        return [], True
    kinds: dict[frozenset[int], list[str]] = {}
    for food in sorted(foods):
        who = frozenset(place for place, one in enumerate(eaters) if food in one.may_take)
        kinds.setdefault(who, []).append(food)
    found = {frozenset[str]()}
    for some in kinds.values():
        most = max(1 if one.repeats else one.most for one in eaters)
        # Of foods that the same people may take, so many as they can take in a morning count one by one; the rest come along.
        parts = [frozenset(part) for size in range(min(most, len(some))) for part in combinations(some, size)]
        found = {have | part for have in found for part in (*parts, frozenset(some))}
        if len(found) > MOST_RESERVES:
            return [foods], False
    closed = {_with_all_that_costs_nothing(one, foods, eaters) for one in found if one}
    return sorted(closed, key=lambda one: (len(one), sorted(one))), True


def _with_all_that_costs_nothing(
    reserve: frozenset[str], foods: Iterable[str], eaters: Sequence[Eater]
) -> frozenset[str]:
    takes = [one.takes_of(reserve) for one in eaters]
    for food in sorted(foods):
        more = reserve | {food}
        if [one.takes_of(more) for one in eaters] == takes:
            reserve = more
    return reserve
