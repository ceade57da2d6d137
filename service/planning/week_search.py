"""Other sizes and foods for an offer that is right, so that its weeks keep their means more often; every lunch stays right.

A local search: one size of one child at a time, then one food for another, each kept where weeks come out better. What it goes
by is quick to reckon (means and spreads of single lunches); how often a week is right is counted by the audit afterwards.

Source: ours; that a mean of five varies by a fifth of the variance of one is the usual rule for independent draws.
"""

import time
from collections.abc import Mapping
from math import comb
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from service.domain.plan.narrowing import MOST, worst_of
from service.domain.plan.robust import Candidates
from service.planning.offer_model import ChildToServe, Designed, Food

Whole = npt.NDArray[np.int64]
Real = npt.NDArray[np.float64]
DAYS = 5
ENOUGH = 1.65
"""How many spreads the mean of a week is to stay inside its bound: some 95 of 100 weeks, if sums spread normally."""
FARTHEST = 50.0
BETTER = 1e-9
Chosen = dict[str, int]
"""The size of each food of a group, as a place among its sizes."""


class _Part(NamedTuple):
    """What a group adds: the worst of each row, and mean and variance of each sum that a week's mean is asked of."""

    worst: Whole
    mean: Real
    variance: Real


class _Group:
    """A child's foods of a group as arrays: for each food a row a size, with the rows first and then the means."""

    def __init__(self, child: ChildToServe, one: Candidates) -> None:
        self.one = one
        rows, means = len(child.rows), [mean.at for mean in child.means]
        self.rows: dict[str, Whole] = {}
        self.means: dict[str, Real] = {}
        for food, sizes in one.foods.items():
            values = np.array([sized.values for sized in sizes], dtype=np.int64)
            self.rows[food] = values[:, :rows]
            self.means[food] = values[:, means].astype(np.float64)

    def part(self, chosen: Chosen) -> _Part:
        """What the group adds with these foods in these sizes, each way to take from it as likely as another."""
        one, number = self.one, len(chosen)
        if not number:
            first = next(iter(self.rows), None)
            rows = 0 if first is None else self.rows[first].shape[1]
            means = 0 if first is None else self.means[first].shape[1]
            return _Part(np.zeros(rows, dtype=np.int64), np.zeros(means), np.zeros(means))
        values = np.array([self.rows[food][size] for food, size in chosen.items()])
        sums = np.array([self.means[food][size] for food, size in chosen.items()])
        takes = range(one.least, min(one.most, number) + 1)
        ways = np.array([comb(number, taken) for taken in takes], dtype=np.float64)
        taken = np.array(takes, dtype=np.float64)[:, None]
        shares = (ways / ways.sum())[:, None]
        each, spread = sums.mean(axis=0), sums.var(axis=0)
        apart = (number - taken) / max(1, number - 1)
        mean = (shares * taken * each).sum(axis=0)
        square = (shares * (taken * spread * apart + (taken * each) ** 2)).sum(axis=0)
        return _Part(worst_of(values[None], one)[0], mean, np.maximum(0.0, square - mean**2))


class _Child:
    """A child with its groups, the sizes chosen, and how far its weeks are from keeping their means."""

    def __init__(self, child: ChildToServe, designed: Designed) -> None:
        self.child = child
        self.bounds: Whole = np.array([max(-MOST, min(MOST, row.bound)) for row in child.rows], dtype=np.int64)
        self.means = np.array([float(mean.bound) for mean in child.means])
        self.groups = {one.group: _Group(child, one) for one in child.groups}
        self.chosen: dict[str, Chosen] = {}
        for one in child.groups:
            places = {food: [sized.size for sized in sizes] for food, sizes in one.foods.items()}
            given = designed.sizes[child.name][one.group]
            self.chosen[one.group] = {food: places[food].index(size) for food, size in given.items()}
        self.parts = {group: one.part(self.chosen[group]) for group, one in self.groups.items()}
        self.off = self.off_with({})

    def off_with(self, other: Mapping[str, _Part]) -> float | None:
        """How far the weeks are off, in spreads, with other parts of some groups; None where a lunch would not be right."""
        parts = [other.get(group, part) for group, part in self.parts.items()]
        if (sum((part.worst for part in parts), np.zeros(len(self.bounds), dtype=np.int64)) > self.bounds).any():
            return None
        mean = sum((part.mean for part in parts), np.zeros(len(self.means)))
        variance = sum((part.variance for part in parts), np.zeros(len(self.means)))
        spread = np.sqrt(variance / DAYS) + 1e-6 * np.maximum(1.0, np.abs(self.means))
        inside = np.clip((self.means - mean) / spread, -FARTHEST, FARTHEST)
        return float(np.maximum(0.0, ENOUGH - inside).sum())

    def take_on(self, group: str, chosen: Chosen, part: _Part, off: float) -> None:
        """Have other foods or sizes in a group."""
        self.chosen[group], self.parts[group], self.off = chosen, part, off

    def best_size(self, until: float) -> bool:
        """Change the one size that helps most; whether any does."""
        best: tuple[float, str, Chosen, _Part] | None = None
        for group, one in self.groups.items():
            for food, now in self.chosen[group].items():
                for size in range(len(one.rows[food])):
                    if size == now or time.monotonic() > until:
                        continue
                    chosen = {**self.chosen[group], food: size}
                    part = one.part(chosen)
                    off = self.off_with({group: part})
                    if off is not None and off < (self.now if best is None else best[0]) - BETTER:
                        best = (off, group, chosen, part)
        if best is not None:
            self.take_on(best[1], best[2], best[3], best[0])
        return best is not None

    @property
    def now(self) -> float:
        """How far its weeks are off."""
        return FARTHEST if self.off is None else self.off

    def without(self, group: str, gone: str, comes: str) -> tuple[Chosen, _Part, float] | None:
        """One food for another in a group, in the size that is best for this child; None where it cannot be."""
        one = self.groups[group]
        left = {food: size for food, size in self.chosen[group].items() if food != gone}
        sizes: list[Chosen] = (
            [{**left, comes: size} for size in range(len(one.rows[comes]))] if comes in one.rows else [left]
        )
        if len(sizes[0]) < one.one.choices:
            return None
        best: tuple[Chosen, _Part, float] | None = None
        for chosen in sizes:
            part = one.part(chosen)
            off = self.off_with({group: part})
            if off is not None and (best is None or off < best[2]):
                best = (chosen, part, off)
        return best


def better_weeks(
    children: list[ChildToServe], usable: Mapping[Food, float], found: Designed, until: float, *, swaps: bool = True
) -> Designed:
    """The offer found, or one of as many foods whose weeks keep their means better; every row is kept as before.

    ``usable``: the foods that may stand in the offer. ``swaps``: one food for another too, not sizes alone. ``until``: when to stop, on the clock of ``time.monotonic``.
    """
    now = [_Child(one, found) for one in children]
    foods = {group: list(some) for group, some in found.foods.items()}
    _best_sizes(now, until)
    better = swaps
    while better and time.monotonic() < until and sum(one.now for one in now) > BETTER:
        standing = [(group, food) for group, some in foods.items() for food in some]
        better = any(_swapped(now, foods, group, gone, usable, until) for group, gone in standing)
        if better:
            _best_sizes(now, until)
    sizes = {
        one.child.name: {
            group: {food: each.one.foods[food][size].size for food, size in one.chosen[group].items()}
            for group, each in one.groups.items()
        }
        for one in now
    }
    return found._replace(foods={group: tuple(some) for group, some in foods.items()}, sizes=sizes)


def _best_sizes(children: list[_Child], until: float) -> None:
    for one in children:
        while one.now > BETTER and time.monotonic() < until and one.best_size(until):
            pass


def _swapped(
    children: list[_Child],
    foods: dict[str, list[str]],
    group: str,
    gone: str,
    usable: Mapping[Food, float],
    until: float,
) -> bool:
    """Have the food that helps most in the place of another; whether any helps."""
    before = sum(one.now for one in children)
    best: tuple[float, str, list[tuple[Chosen, _Part, float]]] | None = None
    for of, comes in usable:
        if of != group or comes in foods[group] or time.monotonic() > until:
            continue
        tried: list[tuple[Chosen, _Part, float]] = []
        for one in children:
            other = one.without(group, gone, comes)
            if other is None:
                break
            tried.append(other)
        off = sum(each[2] for each in tried)
        if len(tried) == len(children) and off < (before if best is None else best[0]) - BETTER:
            best = (off, comes, tried)
    if best is None:
        return False
    foods[group][foods[group].index(gone)] = best[1]
    for one, (chosen, part, off) in zip(children, best[2], strict=True):
        one.take_on(group, chosen, part, off)
    return True
