"""How a measure is spread over all combinations of an offer: smallest, median, largest, histogram; exact.

A branch's sums are never written out where there are many: the sums of two halves of its lists are kept, one of
them sorted, and any question ("how many combinations have at most this much?") is answered from these. Several
branches add up.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from math import prod

import numpy as np

from service.domain.counting.rows import halves_of
from service.domain.counting.spans import LARGEST_VALUE, MOST_COMBINATIONS, Whole, starts_of, sums

FLAT_MOST = 1 << 16
"""Up to so many combinations all sums are written out and sorted."""
MOST_SUMS = 1 << 25
"""So many sums are held at the most, 8 bytes each; only branches of more than 10 ** 11 combinations can need more."""
STEPS = (1, 2, 5)
"""Automatic edges of histograms lie at these multiples of powers of ten."""


@dataclass(frozen=True, slots=True)
class Histogram:
    """Counts between edges: bin i holds ``edges[i] <= sum < edges[i + 1]``, the last bin its upper edge too."""

    edges: tuple[int, ...]
    counts: tuple[int, ...]
    below: int
    above: int


@dataclass(frozen=True, slots=True, eq=False)
class Half:
    """The sums of a branch: every one of ``ones`` with every one of ``others``, both sorted."""

    ones: Whole
    others: Whole

    def at_most(self, value: int) -> int:
        """How many sums are not above a value."""
        return int(np.searchsorted(self.others, value - self.ones, side="right").sum())

    def next_above(self, value: int) -> int | None:
        """The smallest sum above a value; None: there is none."""
        places = np.searchsorted(self.others, value - self.ones, side="right")
        some = np.flatnonzero(places < len(self.others))
        return int((self.ones[some] + self.others[places[some]]).min()) if some.size else None


@dataclass(frozen=True, slots=True, eq=False)
class Spread:
    """The exact distribution of a sum over the combinations of one or several branches."""

    branches: tuple[tuple[Whole, ...], ...]
    halves: tuple[Half, ...]

    @property
    def total(self) -> int:
        """How many combinations there are."""
        return sum(prod(len(options) for options in lists) for lists in self.branches)

    @property
    def smallest(self) -> int:
        """The smallest sum."""
        return min(int(half.ones[0] + half.others[0]) for half in self.halves)

    @property
    def largest(self) -> int:
        """The largest sum."""
        return max(int(half.ones[-1] + half.others[-1]) for half in self.halves)

    def at_most(self, value: int) -> int:
        """How many combinations have a sum of at most ``value``."""
        return sum(half.at_most(value) for half in self.halves)

    def ranked(self, rank: int) -> int:
        """The sum of that rank, from 1 (the smallest) to ``total``."""
        if len(self.halves) == 1 and len(self.halves[0].ones) == 1:
            half = self.halves[0]
            return int(half.ones[0] + half.others[rank - 1])
        low, high = self.smallest, self.largest
        while low < high:
            middle = (low + high) // 2
            if self.at_most(middle) >= rank:
                high = middle
            else:
                low = middle + 1
        return low

    def middle(self) -> tuple[int, int]:
        """The two middle sums; the same twice where the number of combinations is odd."""
        lower = self.ranked((self.total + 1) // 2)
        if self.total % 2 or self.at_most(lower) > self.total // 2:
            return lower, lower
        above = [one for one in (half.next_above(lower) for half in self.halves) if one is not None]
        return lower, min(above)

    @property
    def median(self) -> Fraction:
        """The median: the middle sum, or half-way between the two middle ones."""
        lower, upper = self.middle()
        return Fraction(lower + upper, 2)

    def histogram(self, edges: Sequence[int] | None = None, bins: int = 12, finest: int = 1) -> Histogram:
        """Counts between ascending edges; without edges, up to ``bins`` bins of ``finest`` at the least, at round numbers that hold all sums."""
        chosen = tuple(edges) if edges is not None else round_edges(self.smallest, self.largest, bins, finest)
        if len(chosen) < 2 or any(one >= other for one, other in pairwise(chosen)):
            raise ValueError(f"a histogram needs two edges or more, in ascending order, not {chosen}")
        ends = [edge - 1 for edge in chosen[:-1]] + [chosen[-1]]
        if all(len(half.ones) == 1 for half in self.halves):
            found = [np.searchsorted(half.others, np.array(ends) - half.ones, side="right") for half in self.halves]
            below: list[int] = np.sum(found, axis=0).tolist()
        else:
            below = [self.at_most(end) for end in ends]
        counts = tuple(more - less for less, more in pairwise(below))
        return Histogram(chosen, counts, below[0], self.total - below[-1])


def spread(values: Sequence[Whole]) -> Spread:
    """The spread of a sum over one branch: ``values`` holds one int64 array a list, one value an option.

    Raises ``ValueError`` for an empty list, an unknown value, or more combinations or sums than the limits.
    """
    sizes = [len(options) for options in values]
    if not sizes or min(sizes) < 1:
        raise ValueError(f"a spread needs at least one list, each with at least one option, not {sizes}")
    if prod(sizes) > MOST_COMBINATIONS:
        raise ValueError(f"{prod(sizes)} combinations are more than {MOST_COMBINATIONS}")
    row: Whole = np.concatenate(values)[None, :]
    if np.abs(row).max() > LARGEST_VALUE:
        raise ValueError(f"a spread needs known values within {LARGEST_VALUE}")
    starts = starts_of(sizes)
    one, other = [], list(range(len(sizes)))
    if prod(sizes) > FLAT_MOST:
        one, other = sorted(halves_of(sizes), key=lambda half: prod(sizes[place] for place in half))
    if prod(sizes[place] for place in other) > MOST_SUMS:
        raise ValueError(f"half of the lists have more than {MOST_SUMS} sums: too many to hold")
    ones, others = (
        np.sort(sums(row, [sizes[p] for p in places], [starts[p] for p in places])[0]) for places in (one, other)
    )
    return Spread((tuple(values),), (Half(ones, others),))


def merged(spreads: Sequence[Spread]) -> Spread:
    """One spread over all branches; their combinations add up."""
    halves = [half for one in spreads for half in one.halves]
    flat = [half for half in halves if len(half.ones) == 1]
    if len(flat) > 1 and sum(len(half.others) for half in flat) <= 4 * FLAT_MOST:
        together = np.sort(np.concatenate([half.ones[0] + half.others for half in flat]))
        halves = [half for half in halves if len(half.ones) > 1]
        halves.append(Half(np.zeros(1, dtype=np.int64), together))
    return Spread(tuple(lists for one in spreads for lists in one.branches), tuple(halves))


def round_edges(smallest: int, largest: int, bins: int, finest: int = 1) -> tuple[int, ...]:
    """Edges at round numbers: the finest steps of 1, 2 or 5 times a power of ten of ``finest`` that need at most ``bins`` bins."""
    if bins < 1:
        raise ValueError(f"a histogram needs at least one bin, not {bins}")
    power = finest
    while True:
        for step in (part * power for part in STEPS):
            first = smallest // step * step
            needed = max(1, -(-(largest - first) // step))
            if needed <= bins:
                return tuple(first + step * place for place in range(needed + 1))
        power *= 10
