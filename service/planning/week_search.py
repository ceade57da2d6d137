"""Other sizes and foods for an offer that is right, so that its weeks keep their means more often; every lunch stays right.

A local search: the sizes of one group of one child at a time, then the one food for another after which weeks come out best, from
there on again even where they come out worse, and the best offer on the way is kept (tabu search). What it goes by is quick to reckon (means and spreads of single lunches); how often a week is right is counted by the audit afterwards.

Source: tabu search, F. Glover, ORSA J. Comput. 1 (1989), 190; the numbers are ours; that a mean of five varies by a fifth of the variance of one is the usual rule for independent draws.
"""

import time
from collections.abc import Iterable, Mapping, Sequence
from itertools import product
from math import comb, prod
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from service.domain.plan.narrowing import MOST, worst_of
from service.domain.plan.robust import Candidates
from service.planning.offer_model import ChildToServe, Designed, Food, alike

Whole = npt.NDArray[np.int64]
Real = npt.NDArray[np.float64]
DAYS = 5
ENOUGH = 1.75
"""How many spreads the mean of a week is to stay inside its bound: some 96 of 100 weeks, if sums spread normally."""
FARTHEST = 50.0
BETTER = 1e-9
MOST_SIZES = 300
"""So many ways to choose the sizes of one group are looked at together; ours."""
PATIENCE = 20
"""So many swaps are tried on from the best offer known before the search ends; ours."""
REMEMBERED = 20
"""So many of the foods swapped last are left as they are; ours."""
ALIKE = 0.1
"""Swaps after which weeks are off alike, to so many spreads, are chosen by the wish; ours."""
Chosen = dict[str, int]
"""The size of each food of a group, as a place among its sizes."""


class _Parts(NamedTuple):
    """What a group adds in each of some choices: the worst of each row, and mean and variance of each sum of a week's mean."""

    worst: Whole
    mean: Real
    variance: Real

    def at(self, place: int) -> "_Parts":
        """One choice by itself."""
        one = slice(place, place + 1)
        return _Parts(self.worst[one], self.mean[one], self.variance[one])


class _Group:
    """A child's foods of a group as arrays: for each food a row a size, with the rows first and then the means."""

    def __init__(self, child: ChildToServe, one: Candidates) -> None:
        self.one = one
        self.rows, self.means = len(child.rows), [mean.at for mean in child.means]
        self.values: dict[str, Whole] = {
            food: np.array([sized.values for sized in sizes], dtype=np.int64) for food, sizes in one.foods.items()
        }

    def parts(self, choices: Sequence[Chosen]) -> _Parts:
        """What the group adds in each of some choices of as many foods, each way to take from it as likely as another."""
        one, number = self.one, len(choices[0])
        if not number:
            sums = np.zeros((len(choices), len(self.means)))
            return _Parts(np.zeros((len(choices), self.rows), dtype=np.int64), sums, sums)
        values = np.array([[self.values[food][size] for food, size in chosen.items()] for chosen in choices])
        sums = values[:, :, self.means].astype(np.float64)
        takes = range(one.least, min(one.most, number) + 1)
        ways = np.array([comb(number, taken) for taken in takes], dtype=np.float64)
        taken = np.array(takes, dtype=np.float64)
        shares = ways / ways.sum()
        each, spread = sums.mean(axis=1), sums.var(axis=1)
        apart = (number - taken) / max(1, number - 1)
        variance = (shares * taken * apart).sum() * spread + (shares * taken**2).sum() * each**2
        mean = (shares * taken).sum() * each
        return _Parts(worst_of(values[:, :, : self.rows], one), mean, np.maximum(0.0, variance - mean**2))

    def sizes_near(self, now: Chosen) -> list[Chosen]:
        """The same foods in all other sizes; where these are too many, with one size changed."""
        number = {food: len(self.values[food]) for food in now}
        if prod(number.values()) <= MOST_SIZES:
            return [dict(zip(now, sizes, strict=True)) for sizes in product(*map(range, number.values()))]
        return [{**now, food: size} for food in now for size in range(number[food])]


class _Best(NamedTuple):
    """The best of some choices in a group: the foods with their sizes, what they add, and how far the weeks are off."""

    chosen: Chosen
    parts: _Parts
    off: float


class _Child:
    """A child with its groups, the sizes chosen, and how far its weeks are from keeping their means.

    ``names``: of all children that are like it and get the same: they are looked at once, and count so many times.
    """

    def __init__(self, child: ChildToServe, designed: Designed) -> None:
        self.child = child
        self.names = [child.name]
        self.bounds: Whole = np.array([max(-MOST, min(MOST, row.bound)) for row in child.rows], dtype=np.int64)
        self.means = np.array([float(mean.bound) for mean in child.means])
        self.groups = {one.group: _Group(child, one) for one in child.groups}
        self.chosen: dict[str, Chosen] = {}
        for one in child.groups:
            places = {food: [sized.size for sized in sizes] for food, sizes in one.foods.items()}
            given = designed.sizes[child.name][one.group]
            self.chosen[one.group] = {food: places[food].index(size) for food, size in given.items()}
        self.parts = {group: one.parts([self.chosen[group]]) for group, one in self.groups.items()}
        self.off = float(self._off(*self._sum(self.parts.values()))[0])

    def _sum(self, parts: Iterable[_Parts]) -> _Parts:
        nothing = np.zeros((1, len(self.means)))
        total = _Parts(np.zeros((1, len(self.bounds)), dtype=np.int64), nothing, nothing)
        for one in parts:
            total = _Parts(total.worst + one.worst, total.mean + one.mean, total.variance + one.variance)
        return total

    def _off(self, worst: Whole, mean: Real, variance: Real) -> Real:
        """How far the weeks are off, in spreads; no number is as far as a choice of which some lunch is not right."""
        spread = np.sqrt(variance / DAYS) + 1e-6 * np.maximum(1.0, np.abs(self.means))
        inside = np.clip((self.means - mean) / spread, -FARTHEST, FARTHEST)
        return np.where((worst > self.bounds).any(axis=1), np.inf, np.maximum(0.0, ENOUGH - inside).sum(axis=1))

    def best_of(self, group: str, choices: Sequence[Chosen], names: Sequence[str]) -> dict[str, _Best]:
        """The best of the choices of each name in a group, the other groups as they are; without those that are not right."""
        if not choices:
            return {}
        parts = self.groups[group].parts(choices)
        others = self._sum(part for of, part in self.parts.items() if of != group)
        off = self._off(*self._sum((others, parts)))
        found: dict[str, int] = {}
        for place in np.flatnonzero(np.isfinite(off)).tolist():
            best = found.setdefault(names[place], place)
            if off[place] < off[best]:
                found[names[place]] = place
        return {name: _Best(choices[place], parts.at(place), float(off[place])) for name, place in found.items()}

    def take_on(self, group: str, best: _Best) -> None:
        """Have other foods or sizes in a group."""
        self.chosen[group], self.parts[group], self.off = best

    def better_sizes(self) -> bool:
        """Change the sizes of the one group that helps most; whether any does."""
        found: dict[str, _Best] = {}
        for group, now in self.chosen.items():
            choices = self.groups[group].sizes_near(now)
            found |= self.best_of(group, choices, [group] * len(choices))
        group = min(found, key=lambda one: found[one].off, default="")
        if not group or found[group].off >= self.off - BETTER:
            return False
        self.take_on(group, found[group])
        return True

    def with_another(self, group: str, gone: str, comes: Sequence[str]) -> dict[str, _Best]:
        """Each of some foods for another in a group, in the size that is best for this child; without those that cannot be."""
        one = self.groups[group]
        left = {food: size for food, size in self.chosen[group].items() if food != gone}
        found: dict[str, _Best] = {}
        if len(left) >= one.one.choices:
            same = self.best_of(group, [left], [""])
            found |= {food: same[""] for food in comes if food not in one.values and same}
        if len(left) + 1 >= one.one.choices:
            sized = [(food, size) for food in comes if food in one.values for size in range(len(one.values[food]))]
            choices = [{**left, food: size} for food, size in sized]
            found |= self.best_of(group, choices, [food for food, _size in sized])
        return found


def better_weeks(
    children: list[ChildToServe], usable: Mapping[Food, float], found: Designed, until: float, *, swaps: bool = True
) -> Designed:
    """The offer found, or one of as many foods whose weeks keep their means better; every row is kept as before.

    ``usable``: the foods that may stand in the offer. ``swaps``: one food for another too, not sizes alone. ``until``: when to
    stop, on the clock of ``time.monotonic``.
    """
    now = _once_for_all_alike(children, found)
    foods = {group: list(some) for group, some in found.foods.items()}
    _best_sizes(now, until)
    best, least = _designed(found, now, foods), _off(now)
    lately: list[Food] = []
    rounds = 0
    while swaps and least > BETTER and rounds < PATIENCE and time.monotonic() < until:
        swap = _best_swap(now, foods, usable, lately[-REMEMBERED:])
        if swap is None:
            break
        foods[swap.group][foods[swap.group].index(swap.gone)] = swap.comes
        for one, taken in zip(now, swap.taken, strict=True):
            one.take_on(swap.group, taken)
        lately += [(swap.group, swap.gone), (swap.group, swap.comes)]
        _best_sizes(now, until)
        rounds += 1
        if _off(now) < least - BETTER:
            best, least, rounds = _designed(found, now, foods), _off(now), 0
    return best


def _once_for_all_alike(children: Sequence[ChildToServe], found: Designed) -> list[_Child]:
    once: dict[int, list[_Child]] = {}
    for child, first in zip(children, alike(children), strict=True):
        sizes = found.sizes[child.name]
        same = next((one for one in once.get(first, ()) if found.sizes[one.child.name] == sizes), None)
        if same is None:
            once.setdefault(first, []).append(_Child(child, found))
        else:
            same.names.append(child.name)
    return [one for some in once.values() for one in some]


def _off(children: Sequence[_Child]) -> float:
    return sum(one.off * len(one.names) for one in children)


def _designed(found: Designed, children: Sequence[_Child], foods: Mapping[str, Sequence[str]]) -> Designed:
    sizes = {
        name: {
            group: {food: each.one.foods[food][size].size for food, size in one.chosen[group].items()}
            for group, each in one.groups.items()
        }
        for one in children
        for name in one.names
    }
    return found._replace(foods={group: tuple(some) for group, some in foods.items()}, sizes=sizes)


def _best_sizes(children: Sequence[_Child], until: float) -> None:
    for one in children:
        while one.off > BETTER and time.monotonic() < until and one.better_sizes():
            pass


class _Swap(NamedTuple):
    """One food in the place of another, and what that is for each child."""

    group: str
    gone: str
    comes: str
    taken: list[_Best]


def _best_swap(
    children: Sequence[_Child],
    foods: Mapping[str, Sequence[str]],
    usable: Mapping[Food, float],
    lately: Sequence[Food],
) -> _Swap | None:
    """The swap after which the weeks are off least; foods swapped lately stay as they are, so that it does not go in a circle."""
    best: _Swap | None = None
    least = float("inf")
    heaviest = max([1.0, *(abs(one) for one in usable.values())])
    for group, some in foods.items():
        comes = [food for of, food in usable if of == group and food not in some and (of, food) not in lately]
        for gone in some:
            if (group, gone) in lately:
                continue
            each = [one.with_another(group, gone, comes) for one in children]
            for food in comes:
                if all(food in one for one in each):
                    taken = [one[food] for one in each]
                    against = usable[(group, food)] - usable.get((group, gone), 0.0)
                    off = sum(best.off * len(one.names) for best, one in zip(taken, children, strict=True))
                    off += ALIKE * against / heaviest
                    if off < least - BETTER:
                        best, least = _Swap(group, gone, food, taken), off
    return best
