"""Counts the combinations of a large branch that keep all bounds, with numpy alone.

Prefixes are spread out list by list, a block at a time. A prefix that has used up an allowance is dropped, one
that can no longer use up any is counted whole. What is left meets the leaf's tables (`leaf`): the
masks of all bounds are intersected row by row, and their bits counted; how often each option of the leaf is in them
is counted in bit-sliced counters (`counters`).

Memory: the leaf's masks (``TABLE_BYTES`` at most), some ``BLOCK`` prefixes a depth, and the counters.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from math import isqrt

import numpy as np

from service.domain.counting.counters import Counters
from service.domain.counting.leaf import LEAF_MOST, WORD, Part, Tables, Words, parts_of, tables_of
from service.domain.counting.spans import Allowances, Whole, starts_of

Tick = Callable[[], None]
"""Called between blocks; raises to stop the count."""

TABLE_BYTES = 1 << 25
BLOCK = 4096
ROWS = 2048
WORDS = 64
"""The leaf is counted in blocks of so many words at the most, so that a bound's table stays in the cache."""
LANES = 8
FEW = 0.3
"""Below this share of prefixes that a bound still concerns, only those are looked up."""
LOOKS: tuple[int, ...] = (3, 7, 11, 15, 23, 31)
"""After these bounds, prefixes of which nothing is left are looked for and dropped ..."""
MANY = 0.8
""" ... until more than this share was left."""


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
    total.add(part, walk.prefix, walk.leaf.option_counts(), walk.whole)


class _Walk:
    """One part's prefixes, walked block by block."""

    def __init__(self, part: Part, tick: Tick | None) -> None:
        self.part = part
        self.tick = tick
        self.depth = len(part.prefix_sizes)
        self.leaf = _Leaf(part)
        self.prefix: list[int] = [0] * sum(part.prefix_sizes)
        self.whole = [0] * (self.depth + 1)
        self.waiting: list[tuple[Whole, Whole]] = []
        self.kept_back = 0

    def run(self) -> None:
        """Walk all prefixes."""
        stack = [(0, self.part.allowed[:, None], np.zeros((0, 1), dtype=np.int64))]
        while stack:
            depth, left, taken = stack.pop()
            if depth == self.depth:
                self._wait(left, taken)
                continue
            some = max(1, BLOCK // self.part.prefix_sizes[depth])
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
        # A child is dead once it has used more than is allowed of any bound; it is done once the lists that follow can break
        # no bound any more, whatever is taken of them.
        alive = children.min(axis=0) >= 0
        open_ones = (children < part.most_left[depth + 1][:, None]).any(axis=0)
        done = np.flatnonzero(alive & ~open_ones)
        going = np.flatnonzero(alive & open_ones)
        if done.size:
            self.whole[depth + 1] += done.size
            counts = np.full(done.size, part.rest[depth + 1])
            self._credit(np.concatenate([taken[:, done // size], (done % size)[None, :]]), counts)
        taken = np.concatenate([taken[:, going // size], (going % size)[None, :]])
        return children.take(going, axis=1), taken

    def _credit(self, taken: Whole, counts: Whole) -> None:
        """Add counts to the options that prefixes take; exact as floats, for a block's counts stay below 2 ** 53."""
        for place, options in enumerate(taken):
            size, start = self.part.prefix_sizes[place], self.part.starts[place]
            weighted = np.bincount(options, weights=counts, minlength=size).astype(np.int64)
            for one, count in enumerate(weighted.tolist()):
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
            counts = self.leaf.count(left[:, first : first + ROWS])
            self._credit(taken[:, first : first + ROWS], counts)


class _Leaf:
    """Counts, for prefixes, the options of the leaf that fit into what all bounds have left."""

    def __init__(self, part: Part) -> None:
        self.width = part.rest[-1]
        self.tables = tables_of(part, 1, WORDS, LANES)
        bounds, blocks, _rows, words = self.tables.masks.shape
        steps = self.tables.fits.shape[1]
        self.last_step = steps - 1
        self.offset = (np.arange(bounds) * steps)[:, None]
        self.by_rank = np.zeros((bounds, self.width + 1), dtype=np.int64)
        self.counters = [Counters(words, ROWS) for _ in range(blocks)]
        self.looked_up: Words = np.empty((ROWS, words), dtype=np.uint64)

    def count(self, left: Whole) -> Whole:
        """How many options of the leaf fit each prefix: ``left`` is (bounds, prefixes)."""
        counts: Whole = np.zeros(left.shape[1], dtype=np.int64)
        ranks = self._ranks(left)
        alive = ranks.min(axis=0) > 0
        # A bound that all options fit takes no part. Where only one does, its rank is the count: no masks are needed.
        tight = ranks < self.width
        single = tight.sum(axis=0) == 1
        alone = np.flatnonzero(alive & single)
        if alone.size:
            bound = tight[:, alone].argmax(axis=0)
            counts[alone] = ranks[bound, alone]
            places = np.ravel_multi_index((bound, counts[alone]), self.by_rank.shape)
            self.by_rank += np.bincount(places, minlength=self.by_rank.size).reshape(self.by_rank.shape)
        several = np.flatnonzero(alive & ~single)
        for block in range(len(self.counters)):
            # Bits go by the use of the tightest bound, so its rank says of which blocks nothing is left.
            rows = several[ranks[0, several] > block * self.looked_up.shape[1] * WORD]
            if rows.size:
                self._count_block(block, rows, ranks.take(rows, axis=1), counts)
        return counts

    def _count_block(self, block: int, rows: Whole, ranks: Whole, counts: Whole) -> None:
        """Intersect the masks of all bounds over one block of words; add the bits that are left to ``counts``."""
        masks: Words | None = None
        tight = ranks < self.width
        numbers = np.count_nonzero(tight, axis=1).tolist()
        looks = LOOKS
        for bound, number in enumerate(numbers):
            if not number:
                continue
            table = self.tables.masks[bound, block]
            if masks is None:
                masks = table.take(ranks[bound], axis=0)
            elif number < FEW * len(rows):
                some = np.flatnonzero(tight[bound])
                masks[some] &= table.take(ranks[bound, some], axis=0)
            else:
                masks &= table.take(ranks[bound], axis=0, out=self.looked_up[: len(rows)], mode="clip")
            # Looking for prefixes of which nothing is left costs a pass over the masks: it pays while many are found.
            if bound in looks:
                some = np.flatnonzero(np.bitwise_or.reduce(masks, axis=1))
                if not some.size:
                    return
                if some.size > MANY * len(rows):
                    looks = ()
                else:
                    rows, masks = rows[some], masks[some]
                    ranks, tight = ranks.take(some, axis=1), tight.take(some, axis=1)
        if masks is not None:
            counts[rows] += bits_of_rows(masks)
            self.counters[block].add(masks)

    def _ranks(self, left: Whole) -> Whole:
        """How many leaf options fit into what is left of each bound, exact."""
        tables = self.tables
        step = np.minimum(left >> tables.shift[:, None], self.last_step)
        step += self.offset
        fits = tables.fits.take(step)
        ranks: Whole = (fits >> 1).astype(np.int64)
        unsure = (fits & 1).astype(np.bool_)
        for bound in np.flatnonzero(unsure.any(axis=1)).tolist():
            some = np.flatnonzero(unsure[bound])
            ranks[bound, some] = np.searchsorted(tables.sorted_used[bound], left[bound, some], side="right")
        return ranks

    def option_counts(self) -> Whole:
        """How many combinations counted one by one take each option of the leaf."""
        counts: Whole = np.zeros(self.width, dtype=np.int64)
        by_bit = np.concatenate([one.counts() for one in self.counters])[: self.width]
        counts[self.tables.columns] = leaf_option_counts(self.tables, self.by_rank, by_bit)
        return counts


def leaf_option_counts(tables: Tables, by_rank: Whole, by_bit: Whole) -> Whole:
    """Counts of each bit: those of the masks, and those of prefixes known by one bound's rank alone."""
    counts = by_bit.copy()
    for bound in np.flatnonzero(by_rank.any(axis=1)):
        # A prefix of rank r lets the first r options through: option i is in all prefixes with a rank above i.
        more_than = by_rank[bound][::-1].cumsum()[::-1][1:]
        counts[tables.order[bound]] += more_than
    return counts


def bits_of_rows(masks: Words) -> Whole:
    """How many bits are set in each row of up to ``WORDS`` words, a multiple of eight of them.

    The counts of eight words, a byte each, lie side by side in one word; pairs of them are added up in 16 bits.
    """
    pairs = np.uint64(0x00FF00FF00FF00FF)
    lanes = np.bitwise_count(masks).view(np.uint64)
    total = np.zeros(len(masks), dtype=np.uint64)
    for column in range(lanes.shape[1]):
        lane = lanes[:, column]
        total += (lane & pairs) + ((lane >> np.uint64(8)) & pairs)
    total *= np.uint64(0x0001000100010001)
    total >>= np.uint64(48)
    return total.astype(np.int64)
