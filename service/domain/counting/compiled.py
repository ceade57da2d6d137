"""Counts the combinations of a large branch with a compiled walk over its prefixes, where numba is installed.

The same parts and tables as in `combinations_masks`, and the same counts to the last one. The walk goes depth
first: it keeps a list of the bounds that can still fail, drops a prefix as soon as one has failed, and counts
it whole when none can. At the leaf the masks are looked up by steps of ranks (``STRIDE`` options a row, so that
the tables stay in the cache); the few options too many are taken out one by one afterwards, which keeps the
count exact. It runs without Python's lock, on as many threads as it is given.
"""

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor, wait
from functools import lru_cache, partial
from importlib import import_module
from importlib.util import find_spec
from itertools import count as counting
from typing import Any

import numpy as np

from service.domain.counting.counters import column_counts
from service.domain.counting.leaf import LEAF_MOST, WORD, Part, Tables, parts_of, tables_of
from service.domain.counting.masks import Sum, Tick, add_part, leaf_option_counts
from service.domain.counting.spans import Allowances, Whole

STRIDE = 8
MOST_WORDS = 64
QUADS = 4
"""Words that a processor of today handles at once."""
LEVELS = 44
"""Levels of the bit-sliced counters: enough for every count a branch can have."""
PAIR_STEPS = 1 << 16
TICK_SECONDS = 0.05

Walk = Callable[..., int]


def is_installed() -> bool:
    """Whether numba can be imported (it is not imported for the answer)."""
    return find_spec("numba") is not None


@lru_cache(maxsize=1)
def compiled_walk() -> Walk:
    """The walk as machine code; compiled on the first call (some seconds), then read from numba's cache."""
    return _compiled(walk)


def compiled_pairs() -> Walk:
    """The counting of pairs as machine code."""
    return partial(_compiled_pairs(), PAIR_STEPS)


@lru_cache(maxsize=1)
def _compiled_pairs() -> Walk:
    return _compiled(pairs_at_most)


def _compiled(function: Walk) -> Walk:
    numba: Any = import_module("numba")
    try:
        made: Walk = numba.njit(nogil=True, cache=True)(function)
    except RuntimeError:  # numba found no folder that it may write its cache to
        made = numba.njit(nogil=True)(function)
    return made


def count_kept_compiled(
    bounds: Allowances, tick: Tick | None = None, threads: int = 2, walker: Walk | None = None
) -> Sum:
    """Count the combinations that keep all bounds, and those that take each option.

    ``walker``: another form of `walk` (the function itself runs uncompiled, for tests).
    """
    total = Sum(bounds.sizes)
    for part in parts_of(bounds, LEAF_MOST, STRIDE):
        if part.prefix_sizes and len(part.allowed):
            _count_part(part, total, tick, threads, walker or compiled_walk())
        else:
            add_part(part, total, tick)
    return total


class _Scratch:
    """What one thread counts into."""

    def __init__(self, part: Part, tables: Tables) -> None:
        bounds, words = len(part.allowed), tables.masks.shape[3]
        self.prefix: Whole = np.zeros(sum(part.prefix_sizes), dtype=np.int64)
        self.whole: Whole = np.zeros(len(part.prefix_sizes) + 1, dtype=np.int64)
        self.by_rank: Whole = np.zeros((bounds, part.rest[-1] + 1), dtype=np.int64)
        self.sums = np.zeros((LEVELS, words), dtype=np.uint64)
        self.waiting = np.zeros((LEVELS, words), dtype=np.uint64)
        self.waits = np.zeros(LEVELS, dtype=np.bool_)

    def by_bit(self) -> Whole:
        """The counters' counts, one a bit."""
        total: Whole = np.zeros(self.sums.shape[1] * WORD, dtype=np.int64)
        for level in range(LEVELS):
            if self.sums[level].any():
                total += column_counts(self.sums[level : level + 1]) << level
            if self.waits[level]:
                total += column_counts(self.waiting[level : level + 1]) << level
        return total


def _count_part(part: Part, total: Sum, tick: Tick | None, threads: int, walker: Walk) -> None:
    tables = tables_of(part, STRIDE, MOST_WORDS, QUADS)
    sizes = np.array(part.prefix_sizes, dtype=np.int64)
    starts = np.array(part.starts, dtype=np.int64)
    rest = np.array(part.rest, dtype=np.int64)
    used = np.ascontiguousarray(part.prefix_used.T)
    stop = np.zeros(1, dtype=np.int64)
    next_option = counting()

    def work() -> _Scratch:
        scratch = _Scratch(part, tables)
        while not stop[0]:
            option = next(next_option)
            if option >= part.prefix_sizes[0]:
                break
            walker(
                option,
                stop,
                sizes,
                starts,
                used,
                np.ascontiguousarray(part.allowed),
                np.ascontiguousarray(part.most_left),
                rest,
                tables.sorted_used,
                tables.order,
                tables.masks.reshape(-1),
                tables.masks.shape[3],
                tables.stride,
                tables.shift,
                tables.fits,
                scratch.prefix,
                scratch.whole,
                scratch.by_rank,
                scratch.sums,
                scratch.waiting,
                scratch.waits,
            )
        return scratch

    for scratch in _on_threads(work, threads, stop, tick):
        leaf: Whole = np.zeros(part.rest[-1], dtype=np.int64)
        leaf[tables.columns] = leaf_option_counts(tables, scratch.by_rank, scratch.by_bit()[: part.rest[-1]])
        total.add(part, scratch.prefix, leaf, scratch.whole.tolist())


def _on_threads(work: Callable[[], _Scratch], threads: int, stop: Whole, tick: Tick | None) -> Sequence[_Scratch]:
    """Run the work on some threads; the caller's thread ticks, and stops them all if that raises."""
    with ThreadPoolExecutor(threads) as pool:
        running = [pool.submit(work) for _ in range(threads)]
        try:
            while wait(running, timeout=TICK_SECONDS).not_done:
                if tick is not None:
                    tick()
        except BaseException:
            stop[0] = 1
            raise
        return [one.result() for one in running]


def walk(
    first_option: int,
    stop: Any,
    sizes: Any,
    starts: Any,
    used: Any,
    allowed: Any,
    most_left: Any,
    rest: Any,
    sorted_used: Any,
    order: Any,
    masks: Any,
    words: int,
    stride: int,
    shift: Any,
    fits: Any,
    prefix: Any,
    whole: Any,
    by_rank: Any,
    sums: Any,
    waiting: Any,
    waits: Any,
) -> int:
    """Walk all prefixes that take one option of the first list; adds to the last six arrays, returns the count.

    The arrays are those of `Part` and `Tables`; ``used`` is (options, bounds), ``masks`` flat. Nothing in it
    needs Python: numba compiles it as it stands.
    """
    pairs, fours, nibbles = np.uint64(0x5555555555555555), np.uint64(0x3333333333333333), np.uint64(0x0F0F0F0F0F0F0F0F)
    bytes_ = np.uint64(0x0101010101010101)
    none, one, two, four, top = np.uint64(0), np.uint64(1), np.uint64(2), np.uint64(4), np.uint64(56)
    depths = len(sizes)
    bounds = len(allowed)
    width = sorted_used.shape[1]
    rows_a_bound = len(masks) // (bounds * words)
    left = np.empty((depths + 1, bounds), dtype=np.int64)
    open_ = np.empty((depths + 1, bounds), dtype=np.int64)
    opens = np.zeros(depths + 1, dtype=np.int64)
    option = np.zeros(depths + 1, dtype=np.int64)
    counted = np.zeros(depths + 1, dtype=np.int64)
    row = np.empty(bounds, dtype=np.int64)
    most = np.empty(bounds, dtype=np.int64)
    both = np.zeros(words, dtype=np.uint64)
    for bound in range(bounds):
        open_[0, bound] = bound
        left[0, bound] = allowed[bound]
    opens[0] = bounds
    depth = 0
    option[0] = first_option
    while True:
        if option[depth] >= (first_option + 1 if depth == 0 else sizes[depth]):
            if depth == 0:
                break
            found = counted[depth]
            depth -= 1
            prefix[starts[depth] + option[depth]] += found
            counted[depth] += found
            option[depth] += 1
            continue
        place = starts[depth] + option[depth]
        still = 0
        failed = False
        for at in range(opens[depth]):
            bound = open_[depth, at]
            remains = left[depth, at] - used[place, bound]
            if remains < 0:
                failed = True
                break
            open_[depth + 1, still] = bound
            left[depth + 1, still] = remains
            if remains < most_left[depth + 1, bound]:
                still += 1
        if failed:
            option[depth] += 1
            continue
        if still == 0:
            whole[depth + 1] += 1
            prefix[place] += rest[depth + 1]
            counted[depth] += rest[depth + 1]
            option[depth] += 1
            continue
        if depth + 1 < depths:
            if stop[0] != 0:
                break
            opens[depth + 1] = still
            depth += 1
            option[depth] = 0
            counted[depth] = 0
            continue
        option[depth] += 1
        # The leaf: how many options fit each bound, at the most.
        least = width + 1
        tightest = 0
        used_words = words
        for at in range(still):
            bound = open_[depths, at]
            step = np.int64(fits[bound, left[depths, at] >> shift[bound]])
            fitting = step >> 1
            most[at] = step
            row[at] = (fitting + stride - 1) // stride
            if fitting < least:
                least = fitting
                tightest = at
            if bound == 0:
                used_words = min(words, (row[at] * stride + 63) >> 6)
        if least == 0:
            continue
        if still == 1:
            bound = open_[depths, 0]
            rank = most[0] >> 1
            while rank > 0 and sorted_used[bound, rank - 1] > left[depths, 0]:
                rank -= 1
            by_rank[bound, rank] += 1
            prefix[place] += rank
            counted[depth] += rank
            continue
        other = 0 if tightest > 0 else 1
        begin = (open_[depths, tightest] * rows_a_bound + row[tightest]) * words
        here = masks[begin : begin + used_words]
        begin = (open_[depths, other] * rows_a_bound + row[other]) * words
        there = masks[begin : begin + used_words]
        any_ = none
        for word in range(used_words):
            value = here[word] & there[word]
            both[word] = value
            any_ |= value
        for at in range(1, still):
            if any_ == none:
                break
            if at == tightest:
                continue
            begin = (open_[depths, at] * rows_a_bound + row[at]) * words
            there = masks[begin : begin + used_words]
            any_ = none
            for word in range(used_words):
                value = both[word] & there[word]
                both[word] = value
                any_ |= value
        if any_ == none:
            continue
        # Take out the options that the rows hold too many.
        for at in range(still):
            bound = open_[depths, at]
            rank = most[at] >> 1
            for extra in range(rank, min(row[at] * stride, width)):
                bit = order[bound, extra]
                both[bit >> 6] &= ~(one << np.uint64(bit & 63))
            if most[at] & 1:
                while rank > 0 and sorted_used[bound, rank - 1] > left[depths, at]:
                    rank -= 1
                    bit = order[bound, rank]
                    both[bit >> 6] &= ~(one << np.uint64(bit & 63))
        bits = none
        for word in range(used_words):
            value = both[word]
            value = value - ((value >> one) & pairs)
            value = (value & fours) + ((value >> two) & fours)
            value = (value + (value >> four)) & nibbles
            bits += (value * bytes_) >> top
        if bits == none:
            continue
        for word in range(used_words, words):
            both[word] = none
        prefix[place] += np.int64(bits)
        counted[depth] += np.int64(bits)
        level = 0
        while waits[level]:
            here = sums[level]
            there = waiting[level]
            for word in range(words):
                first = here[word]
                second = there[word]
                third = both[word]
                either = first ^ second
                here[word] = either ^ third
                both[word] = (first & second) | (either & third)
            waits[level] = False
            level += 1
        there = waiting[level]
        for word in range(words):
            there[word] = both[word]
        waits[level] = True
    return int(counted[0])


def pairs_at_most(steps: int, left: Any, run: Any, sorted_sums: Any) -> int:
    """`combinations_rows.pairs_at_most` by a table of ``steps`` over the sums; numba compiles it as it stands.

    No module constant may stand in it: numba keeps the value of the first time in its cache.
    """
    size = len(sorted_sums)
    largest = sorted_sums[size - 1]
    shift = 0
    while largest >> shift >= steps:
        shift += 1
    fits = np.empty((largest >> shift) + 1, dtype=np.int64)
    place = 0
    for step in range(len(fits)):
        while place < size and sorted_sums[place] <= step << shift:
            place += 1
        fits[step] = place
    count = 0
    for one in range(len(left)):
        for at in range(len(run)):
            remains = left[one] - run[at]
            if remains < 0:
                break
            if remains >= largest:
                count += size
                continue
            place = fits[remains >> shift]
            while sorted_sums[place] <= remains:
                place += 1
            count += place
    return count
