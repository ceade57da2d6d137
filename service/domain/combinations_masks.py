"""Counts the combinations of a large branch that keep all bounds, with numpy alone.

Prefixes are spread out list by list, a block at a time. A prefix that has used up an allowance is dropped, one
that can no longer use up any is counted whole. What is left meets the leaf's tables (`combinations_leaf`): the
masks of all bounds are intersected row by row, and their bits counted. How often each option of the leaf
is in them is counted in bit-sliced counters: each level of the counters adds two blocks of rows to a third with
five operations a word (a carry-save adder).

Memory: the leaf's masks (``TABLE_BYTES`` at most), some ``BLOCK`` prefixes a depth, and the counters.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from math import isqrt

import numpy as np
import numpy.typing as npt

from service.domain.combinations_leaf import LEAF_MOST, WORD, Part, Tables, Words, parts_of, tables_of
from service.domain.combinations_spans import Allowances, Whole, starts_of

Tick = Callable[[], None]
"""Called between blocks; raises to stop the count."""

TABLE_BYTES = 1 << 25
BLOCK = 4096
ROWS = 1024
FEW = 0.4
"""Below this share of prefixes that a bound still concerns, only those are looked up."""


@dataclass(slots=True)
class Sum:
    """A count so far: the combinations that keep all bounds, and how many of them take each option."""

    sizes: tuple[int, ...]
    right: int = 0
    options: list[int] = field(default_factory=list)

    def __post_init__(self) -> None:
        if not self.options:
            self.options = [0] * sum(self.sizes)

    def add(self, part: Part, prefix: Whole | list[int], leaf: Whole, whole: list[int]) -> None:
        """Add a part: counts of its prefix options, of its leaf's options, and the prefixes counted whole, by depth.

        ``prefix`` holds the whole ones already for the lists they have passed.
        """
        starts = starts_of(self.sizes)
        grid = leaf.reshape(part.leaf_sizes)
        for axis, place in enumerate(part.leaf_lists):
            others = tuple(other for other in range(grid.ndim) if other != axis)
            below = sum(count * rest for count, rest in zip(whole, part.rest, strict=True)) // part.leaf_sizes[axis]
            at = starts[place] + part.leaf_from[axis]
            for option, count in enumerate(grid.sum(axis=others).tolist()):
                self.options[at + option] += count + below
        at = 0
        for depth, (place, size) in enumerate(zip(part.prefix_lists, part.prefix_sizes, strict=True)):
            below = sum(count * rest for count, rest in zip(whole[: depth + 1], part.rest, strict=False)) // size
            for option in range(size):
                self.options[starts[place] + option] += int(prefix[at + option]) + below
            at += size
        self.right += int(leaf.sum()) + sum(count * rest for count, rest in zip(whole, part.rest, strict=True))


def leaf_most(bounds: Allowances) -> int:
    """The largest leaf whose tables, one row an option, stay within ``TABLE_BYTES``."""
    return min(LEAF_MOST, isqrt(8 * TABLE_BYTES // max(1, len(bounds.allowed))))


def count_kept(bounds: Allowances, tick: Tick | None = None) -> Sum:
    """Count the combinations that keep all bounds, and those that take each option."""
    total = Sum(bounds.sizes)
    for part in parts_of(bounds, leaf_most(bounds)):
        add_part(part, total, tick)
    return total


def add_part(part: Part, total: Sum, tick: Tick | None) -> None:
    """Count one part and add it."""
    if not len(part.allowed):
        whole = [1] + [0] * len(part.prefix_sizes)
        total.add(part, [0] * sum(part.prefix_sizes), np.zeros(part.rest[-1], dtype=np.int64), whole)
        return
    walk = _Walk(part, tick)
    walk.run()
    total.add(part, walk.prefix, walk.leaf_counts(), walk.whole)


class _Walk:
    """One part's prefixes, walked block by block."""

    def __init__(self, part: Part, tick: Tick | None) -> None:
        self.part = part
        self.tick = tick
        self.depth = len(part.prefix_sizes)
        self.tables = tables_of(part, 1)
        self.prefix: list[int] = [0] * sum(part.prefix_sizes)
        self.whole = [0] * (self.depth + 1)
        width = part.rest[-1]
        self.by_rank = np.zeros((len(part.allowed), width + 1), dtype=np.int64)
        self.counters = _Counters(self.tables.masks.shape[2])
        self.waiting: list[tuple[Whole, Whole]] = []
        self.kept_back = 0

    def run(self) -> None:
        """Walk all prefixes."""
        start = (0, self.part.allowed[:, None], np.zeros((0, 1), dtype=np.int64))
        stack = [start]
        while stack:
            depth, left, taken = stack.pop()
            if depth == self.depth:
                self._wait(left, taken)
                continue
            size = self.part.prefix_sizes[depth]
            some = max(1, BLOCK // size)
            if left.shape[1] > some:
                stack.append((depth, left[:, some:], taken[:, some:]))
                left, taken = left[:, :some], taken[:, :some]
            if self.tick is not None:
                self.tick()
            left, taken = self._spread(depth, left, taken)
            if left.shape[1]:
                stack.append((depth + 1, left, taken))
        self._meet_leaf()

    def _spread(self, depth: int, left: Whole, taken: Whole) -> tuple[Whole, Whole]:
        """One more list: what the children have left; dead ones dropped, whole ones counted."""
        part = self.part
        start, size = part.starts[depth], part.prefix_sizes[depth]
        bounds = len(left)
        children = (left[:, :, None] - part.prefix_used[:, None, start : start + size]).reshape(bounds, -1)
        alive = children.min(axis=0) >= 0
        open_ones = (children < part.most_left[depth + 1][:, None]).any(axis=0)
        done = np.flatnonzero(alive & ~open_ones)
        going = np.flatnonzero(alive & open_ones)
        if done.size:
            self.whole[depth + 1] += done.size
            self._credit(taken[:, done // size], done % size, np.full(done.size, part.rest[depth + 1]))
        taken = np.concatenate([taken[:, going // size], (going % size)[None, :]])
        return children[:, going], taken

    def _credit(self, taken: Whole, option: Whole, counts: Whole) -> None:
        """Add counts to the options that prefixes take."""
        for place, options in enumerate((*taken, option)):
            size, start = self.part.prefix_sizes[place], self.part.starts[place]
            for one, count in enumerate(_weighted(options, counts, size)):
                self.prefix[start + one] += count

    def _wait(self, left: Whole, taken: Whole) -> None:
        """Keep prefixes back until there are enough of them for the leaf."""
        self.waiting.append((left, taken))
        self.kept_back += left.shape[1]
        if self.kept_back >= ROWS:
            self._meet_leaf()

    def _meet_leaf(self) -> None:
        if not self.kept_back:
            return
        left = np.concatenate([one for one, _ in self.waiting], axis=1)
        taken = np.concatenate([other for _, other in self.waiting], axis=1)
        self.waiting, self.kept_back = [], 0
        for first in range(0, left.shape[1], ROWS):
            self._leaf_block(left[:, first : first + ROWS], taken[:, first : first + ROWS])

    def _leaf_block(self, left: Whole, taken: Whole) -> None:
        concerned = left < self.part.most_left[-1][:, None]
        single = concerned.sum(axis=0) == 1
        if single.any():
            self._by_rank_alone(left, taken, concerned, np.flatnonzero(single))
            several = np.flatnonzero(~single)
            left, taken, concerned = left[:, several], taken[:, several], concerned[:, several]
        rows = np.arange(left.shape[1])
        masks: Words | None = None
        for bound in np.flatnonzero(concerned.any(axis=1)).tolist():
            which = concerned[bound, rows]
            if masks is None:
                rank = np.where(which, self._ranks(bound, np.where(which, left[bound, rows], 0)), self.part.rest[-1])
                masks = self.tables.masks[bound].take(rank, axis=0)
            elif np.count_nonzero(which) < FEW * len(rows):
                some = np.flatnonzero(which)
                rank = self._ranks(bound, left[bound, rows[some]])
                masks[some] &= self.tables.masks[bound].take(rank, axis=0)
            else:
                rank = np.where(which, self._ranks(bound, np.where(which, left[bound, rows], 0)), self.part.rest[-1])
                masks &= self.tables.masks[bound].take(rank, axis=0)
            if bound % 4 == 3:
                some = np.flatnonzero(masks.any(axis=1))
                if not some.size:
                    return
                if some.size < 0.75 * len(rows):
                    rows, masks = rows[some], masks[some]
        if masks is None:
            return
        counts = np.bitwise_count(masks).sum(axis=1, dtype=np.int64)
        self.counters.add(masks)
        if self.depth:
            self._credit(taken[:-1, rows], taken[-1, rows], counts)

    def _by_rank_alone(self, left: Whole, taken: Whole, concerned: npt.NDArray[np.bool_], some: Whole) -> None:
        """Prefixes that one bound alone concerns: the rank is the count."""
        bound = concerned[:, some].argmax(axis=0)
        counts = np.empty(some.size, dtype=np.int64)
        for one in np.unique(bound).tolist():
            here = np.flatnonzero(bound == one)
            counts[here] = self._ranks(one, left[one, some[here]])
            self.by_rank[one] += np.bincount(counts[here], minlength=self.by_rank.shape[1])
        if self.depth:
            self._credit(taken[:-1, some], taken[-1, some], counts)

    def _ranks(self, bound: int, left: Whole) -> Whole:
        """How many leaf options fit into what is left of a bound, exact."""
        tables = self.tables
        step = left >> tables.shift[bound]
        ranks: Whole = tables.fits_to[bound].take(step).astype(np.int64)
        unsure = np.flatnonzero(tables.fits_from[bound].take(step) != ranks)
        if unsure.size:
            ranks[unsure] = np.searchsorted(tables.sorted_used[bound], left[unsure], side="right")
        return ranks

    def leaf_counts(self) -> Whole:
        """How many combinations counted one by one take each option of the leaf."""
        width = self.part.rest[-1]
        counts: Whole = np.zeros(width, dtype=np.int64)
        counts[self.tables.columns] = leaf_option_counts(self.tables, self.by_rank, self.counters.counts()[:width])
        return counts


def leaf_option_counts(tables: Tables, by_rank: Whole, by_bit: Whole) -> Whole:
    """Counts of each bit: those of the masks, and those of prefixes known by one bound's rank alone."""
    counts = by_bit.copy()
    for bound in np.flatnonzero(by_rank.any(axis=1)):
        more_than = by_rank[bound][::-1].cumsum()[::-1][1:]
        counts[tables.order[bound]] += more_than
    return counts


def _weighted(options: Whole, counts: Whole, size: int) -> list[int]:
    """Counts added up by option; exact, for a block's counts stay far below 2**53."""
    found: list[int] = np.bincount(options, weights=counts, minlength=size).astype(np.int64).tolist()
    return found


class _Counters:
    """Counts, for each bit of rows of words, how often it is set; rows are added in full blocks."""

    def __init__(self, words: int) -> None:
        self.words = words
        self.block: Words = np.zeros((ROWS, words), dtype=np.uint64)
        self.filled = 0
        self.sums: list[Words] = []
        self.waiting: list[Words | None] = []

    def add(self, rows: Words) -> None:
        """Add rows of masks."""
        while len(rows):
            room = ROWS - self.filled
            self.block[self.filled : self.filled + room][: len(rows)] = rows[:room]
            self.filled += min(room, len(rows))
            rows = rows[room:]
            if self.filled == ROWS:
                self._carry(self.block)
                self.block = np.zeros_like(self.block)
                self.filled = 0

    def _carry(self, rows: Words) -> None:
        level = 0
        while True:
            if level == len(self.sums):
                self.sums.append(np.zeros_like(rows))
                self.waiting.append(None)
            other = self.waiting[level]
            if other is None:
                self.waiting[level] = rows
                return
            self.waiting[level] = None
            self.sums[level], rows = _add_three(self.sums[level], other, rows)
            level += 1

    def counts(self) -> Whole:
        """The counts, one a bit."""
        total = np.zeros(self.words * WORD, dtype=np.int64)
        total += column_counts(self.block[: self.filled])
        for level, (sums, waiting) in enumerate(zip(self.sums, self.waiting, strict=True)):
            total += column_counts(sums) << level
            if waiting is not None:
                total += column_counts(waiting) << level
        return total


def _add_three(one: Words, two: Words, three: Words) -> tuple[Words, Words]:
    """Sum and carry of three bits, for each bit."""
    either = one ^ two
    both = one & two
    total = either ^ three
    either &= three
    both |= either
    return total, both


def column_counts(rows: Words) -> Whole:
    """How often each bit is set over some rows: carry-save adders until few rows are left, then bit by bit."""
    words = rows.shape[1]
    total = np.zeros(words * WORD, dtype=np.int64)
    level = 0
    while len(rows):
        carried = []
        while len(rows) > 8:
            third = len(rows) // 3
            kept, carry = _add_three(rows[:third], rows[third : 2 * third], rows[2 * third : 3 * third])
            carried.append(carry)
            rows = np.concatenate([kept, rows[3 * third :]])
        bits = np.unpackbits(rows.astype("<u8").view(np.uint8), axis=1, bitorder="little")
        total += bits.sum(axis=0, dtype=np.int64) << level
        rows = np.concatenate(carried) if carried else rows[:0]
        level += 1
    return total
