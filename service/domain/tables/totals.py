"""Sums over the items of many lunches at once: ``amounts.add_up`` for a whole table."""

from __future__ import annotations

import os
from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from service.domain.measures import MEASURE_COUNT
from service.domain.tables.items import Bits, ItemArrays, Place, Whole

BLOCK = 4096
"""Lunches summed at a time, so that their totals stay in the processor's cache."""
MANY_ROWS = 1 << 17
"""From so many rows on, blocks are summed in several threads, each its own: the sums are the same."""
THREADS = min(4, os.cpu_count() or 1)


@dataclass(frozen=True, slots=True, eq=False)
class ManyTotals:
    """Totals of ``n`` lunches, in whole parts (``SCALE``).

    ``nominal``: by measure, (n,). ``intervals``, ``unbounded``: (n,) bits of the measures that are an interval, and of
    those without an upper end. ``ends``: by measure, how far the lower and the upper end of each interval lie from
    the nominal value, for the lunches that have one; ``place``: (n,) where among those a lunch is, -1 for nowhere.
    """

    nominal: Sums
    intervals: Bits
    unbounded: Bits
    place: Place
    ends: Mapping[int, tuple[Whole, Whole]]

    def __len__(self) -> int:
        return len(self.intervals)

    def subset(self, chosen: Place) -> ManyTotals:
        """The totals of some of the lunches."""
        return ManyTotals(
            self.nominal.subset(chosen), self.intervals[chosen], self.unbounded[chosen], self.place[chosen], self.ends
        )

    def known(self, measure: int) -> Whole:
        """The nominal amounts."""
        return self.nominal[measure]

    def least(self, measure: int) -> Whole:
        """The least each total can be."""
        return self._end(measure, 0)

    def most(self, measure: int) -> Whole:
        """The most each total can be; means nothing where ``is_unbounded``."""
        return self._end(measure, 1)

    def _end(self, measure: int, side: int) -> Whole:
        nominal = self.nominal[measure]
        if measure not in self.ends:
            return nominal
        return nominal + np.where(self.place >= 0, self.ends[measure][side][self.place], 0)

    def is_unbounded(self, measure: int) -> npt.NDArray[np.bool_]:
        """Whether each total has no upper end."""
        found: npt.NDArray[np.bool_] = (self.unbounded & np.uint64(1 << measure)) != 0
        return found

    def is_interval(self, measures: frozenset[int]) -> npt.NDArray[np.bool_]:
        """Whether any of the measures is an interval."""
        found: npt.NDArray[np.bool_] = (self.intervals & np.uint64(sum(1 << measure for measure in measures))) != 0
        return found

    def measures_with_intervals(self) -> list[int]:
        """The measures that are an interval in any of the lunches."""
        bits = int(np.bitwise_or.reduce(self.intervals, initial=np.uint64(0)))
        return [measure for measure in range(MEASURE_COUNT) if bits >> measure & 1]


class Sums:
    """Totals by measure: ``sums[measure]`` gives (n,) of them."""

    def __init__(self, kept: Whole, chosen: Place | None = None) -> None:
        self._kept = kept
        self._chosen = chosen
        self._taken: dict[int, Whole] = {}

    def __getitem__(self, measure: int) -> Whole:
        if self._chosen is None:
            whole: Whole = self._kept[measure]
            return whole
        if measure not in self._taken:
            self._taken[measure] = self._kept[measure][self._chosen]
        return self._taken[measure]

    def subset(self, chosen: Place) -> Sums:
        """Those of some of the lunches, each taken out when first asked for."""
        return Sums(self._kept, chosen if self._chosen is None else self._chosen[chosen])


def add_up_many(items: ItemArrays, item: Place, starts: Place) -> ManyTotals:
    """Sum the items of each lunch.

    Parameters
    ----------
    item: (rows,) which of the items each row is, rows of one lunch side by side.
    starts: (n,) the first row of each lunch, rising from 0; no lunch is empty.
    """
    rows = len(item)
    if not len(starts):
        bits = np.zeros(0, np.uint64)
        return ManyTotals(Sums(np.zeros((MEASURE_COUNT, 0), np.int64)), bits, bits, np.zeros(0, np.intp), {})
    counts = np.diff(starts, append=rows)
    sums = np.empty((MEASURE_COUNT, len(starts)), np.int64)
    intervals, unbounded = np.zeros((2, len(starts)), np.uint64)

    def add_up_block(first: int) -> None:
        block = slice(first, first + BLOCK)
        sums[:, block] = _sum_block(items.nominal, item, starts[block], counts[block]).T
        begin = int(starts[first])
        held, own = item[begin : begin + int(counts[block].sum())], starts[block] - begin
        np.bitwise_or.reduceat(items.intervals[held], own, out=intervals[block])
        np.bitwise_or.reduceat(items.unbounded[held], own, out=unbounded[block])

    firsts = range(0, len(starts), BLOCK)
    with ThreadPoolExecutor(THREADS if rows >= MANY_ROWS else 1) as pool:  # numpy lets go of the lock meanwhile
        list(pool.map(add_up_block, firsts))
    place, ends = _ends(items, item, starts, counts)
    return ManyTotals(Sums(sums), intervals, unbounded, place, ends)


def _sum_block(nominal: Whole, item: Place, starts: Place, counts: Whole) -> Whole:
    """Sum the first items of all lunches of a block, then the second ones, and so on: those with most items first."""
    order = np.argsort(-counts, kind="stable")
    begin, rising = starts[order], counts[order][::-1]
    sums = np.take(nominal, item[begin], axis=0)
    buffer = np.empty_like(sums)
    for k in range(1, int(rising[-1])):
        having = len(order) - int(np.searchsorted(rising, k, side="right"))
        np.take(nominal, item[begin[:having] + k], axis=0, out=buffer[:having], mode="clip")
        sums[:having] += buffer[:having]
    back = np.empty_like(order)
    back[order] = np.arange(len(order))
    return np.take(sums, back, axis=0, out=buffer, mode="clip")


def _ends(items: ItemArrays, item: Place, starts: Place, counts: Whole) -> tuple[Place, dict[int, tuple[Whole, Whole]]]:
    """Sum how far the ends of intervals lie from the nominal values, for the lunches that have any."""
    place = np.full(len(starts), -1, np.intp)
    if not len(items.spread_at):
        return place, {}
    spread = np.full(len(items.nominal), -1, np.intp)
    spread[items.spread_at] = np.arange(len(items.spread_at))
    at = spread[item]
    rows = np.flatnonzero(at >= 0)
    if not len(rows):
        return place, {}
    at = at[rows]
    lunch = np.repeat(np.arange(len(starts)), counts)[rows]
    first = np.flatnonzero(np.diff(lunch, prepend=-1))
    place[lunch[first]] = np.arange(len(first))
    ends = {
        measure: (np.add.reduceat(below[at], first), np.add.reduceat(above[at], first))
        for measure, (below, above) in items.ends.items()
    }
    return place, ends
