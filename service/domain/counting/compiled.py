"""Counts the combinations of a large branch with a compiled walk over its prefixes, where numba is installed.

The same parts and tables as in `masks`, and the same counts to the last one; the walk itself is in `inner_loops`. The
leaf's masks have ``STRIDE`` options a row, so that the tables stay in the cache; the few options too many are removed
one by one, which keeps the count exact. It runs without Python's lock, on as many threads as it is given.
"""

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor, wait
from functools import lru_cache, partial
from importlib.util import find_spec
from itertools import count as counting

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
    from service.domain.counting.inner_loops import walk

    return walk


def compiled_pairs() -> Walk:
    """The counting of pairs as machine code."""
    from service.domain.counting.inner_loops import pairs_at_most

    return partial(pairs_at_most, PAIR_STEPS)


def count_kept_compiled(
    bounds: Allowances, tick: Tick | None = None, threads: int = 2, walker: Walk | None = None
) -> Sum:
    """Count the combinations that keep all bounds, and those that take each option.

    ``walker``: another form of `inner_loops.walk`.
    """
    total = Sum(bounds.sizes)
    for part in parts_of(bounds, LEAF_MOST, STRIDE):
        if part.prefix_sizes and len(part.allowed):
            _count_part(part, total, tick, threads, walker or compiled_walk())
        else:
            add_part(part, total, tick)
    return total


class _Scratch:
    """What one thread counts into, and works in."""

    def __init__(self, part: Part, tables: Tables) -> None:
        # Here and not above: the module of the inner loops loads numba.
        from service.domain.counting.inner_loops import Tally, Workspace

        bounds, words = len(part.allowed), tables.masks.shape[3]
        depths = len(part.prefix_sizes)
        self.tally = Tally(
            prefix=np.zeros(sum(part.prefix_sizes), dtype=np.int64),
            whole=np.zeros(depths + 1, dtype=np.int64),
            by_rank=np.zeros((bounds, part.rest[-1] + 1), dtype=np.int64),
            sums=np.zeros((LEVELS, words), dtype=np.uint64),
            waiting=np.zeros((LEVELS, words), dtype=np.uint64),
            waits=np.zeros(LEVELS, dtype=np.bool_),
        )
        self.work = Workspace(
            open_bounds=np.empty((depths + 1, bounds), dtype=np.int64),
            left=np.empty((depths + 1, bounds), dtype=np.int64),
            opens=np.zeros(depths + 1, dtype=np.int64),
            option=np.zeros(depths + 1, dtype=np.int64),
            counted=np.zeros(depths + 1, dtype=np.int64),
            step=np.empty(bounds, dtype=np.int64),
            row=np.empty(bounds, dtype=np.int64),
            fitting=np.zeros(words, dtype=np.uint64),
        )

    def by_bit(self) -> Whole:
        """The counters' counts, one a bit; what still waits on a level is worth as much as its digit."""
        tally = self.tally
        total: Whole = np.zeros(tally.sums.shape[1] * WORD, dtype=np.int64)
        for level in range(LEVELS):
            if tally.sums[level].any():
                total += column_counts(tally.sums[level : level + 1]) << level
            if tally.waits[level]:
                total += column_counts(tally.waiting[level : level + 1]) << level
        return total


def _count_part(part: Part, total: Sum, tick: Tick | None, threads: int, walker: Walk) -> None:
    from service.domain.counting.inner_loops import LeafRows, Prefixes

    tables = tables_of(part, STRIDE, MOST_WORDS, QUADS)
    prefixes = Prefixes(
        sizes=np.array(part.prefix_sizes, dtype=np.int64),
        starts=np.array(part.starts, dtype=np.int64),
        used=np.ascontiguousarray(part.prefix_used.T),
        allowed=np.ascontiguousarray(part.allowed),
        most_left=np.ascontiguousarray(part.most_left),
        rest=np.array(part.rest, dtype=np.int64),
    )
    leaf_rows = LeafRows(
        sorted_used=tables.sorted_used,
        order=tables.order,
        masks=tables.masks.reshape(-1),
        words=tables.masks.shape[3],
        stride=tables.stride,
        shift=tables.shift,
        fits=tables.fits,
    )
    stop = np.zeros(1, dtype=np.int64)
    next_option = counting()

    def work() -> _Scratch:
        """Take one option of the first list after the other, until none is left for this thread."""
        scratch = _Scratch(part, tables)
        while not stop[0]:
            option = next(next_option)
            if option >= part.prefix_sizes[0]:
                break
            walker(option, stop, prefixes, leaf_rows, scratch.tally, scratch.work)
        return scratch

    for scratch in _on_threads(work, threads, stop, tick):
        leaf: Whole = np.zeros(part.rest[-1], dtype=np.int64)
        by_rank, by_bit = scratch.tally.by_rank, scratch.by_bit()[: part.rest[-1]]
        leaf[tables.columns] = leaf_option_counts(tables, by_rank, by_bit)
        total.add(part, scratch.tally.prefix, leaf, scratch.tally.whole.tolist())


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
