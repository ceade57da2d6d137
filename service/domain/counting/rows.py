"""Counts, for one bound at a time, how many combinations of a large branch keep it.

The lists are split into two halves; the sums of the smaller half are sorted, and each sum of the other is looked up
in them, in runs that are sorted too. So the work grows with about the square root of the number of combinations, and
the count is exact for any values.
"""

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from math import prod

import numpy as np

from service.domain.counting.masks import Tick
from service.domain.counting.spans import Allowances, Whole, starts_of, sums

Pairs = Callable[[Whole, Whole, Whole], int]
"""Counts how often a left over, less one of a sorted run, is at least one of some sorted sums."""

TOGETHER = 1 << 20
"""So many sums are looked up at once."""


def halves_of(sizes: Sequence[int]) -> tuple[list[int], list[int]]:
    """Split lists so that the larger of the two products is as small as can be found by taking large lists first."""
    halves: tuple[list[int], list[int]] = ([], [])
    products = [1, 1]
    for place in sorted(range(len(sizes)), key=lambda one: -sizes[one]):
        smaller = 0 if products[0] <= products[1] else 1
        halves[smaller].append(place)
        products[smaller] *= sizes[place]
    best = halves
    # Up to six lists (64 ways) all ways to split are tried: a better split is worth far more than trying costs.
    if len(sizes) <= 6:
        for chosen in range(1 << len(sizes)):
            one = [place for place in range(len(sizes)) if chosen >> place & 1]
            other = [place for place in range(len(sizes)) if not chosen >> place & 1]
            larger = max(prod(sizes[p] for p in one), prod(sizes[p] for p in other))
            if larger < max(products):
                best, products = (one, other), [larger, larger]
    return best


def kept_counts(
    bounds: Allowances, tick: Tick | None = None, threads: int = 1, pairs: Pairs | None = None
) -> list[int]:
    """How many combinations keep each bound by itself; ``pairs``: another way to count pairs of sums."""
    total = prod(bounds.sizes)
    most = bounds.most_used()
    counts = [total if allowed >= 0 else 0 for allowed in bounds.allowed.tolist()]
    todo = [row for row in range(len(counts)) if 0 <= bounds.allowed[row] < most[row]]
    if not todo:
        return counts
    halves = sorted(halves_of(bounds.sizes), key=lambda half: prod(bounds.sizes[place] for place in half))
    count_pairs = pairs or pairs_at_most
    if threads == 1:
        for row in todo:
            if tick is not None:
                tick()
            counts[row] = _kept(bounds, row, halves, count_pairs)
        return counts
    with ThreadPoolExecutor(threads) as pool:
        running = [(row, pool.submit(_kept, bounds, row, halves, count_pairs)) for row in todo]
        try:
            for row, found in running:
                if tick is not None:
                    tick()
                counts[row] = found.result()
        except BaseException:
            for _row, found in running:
                found.cancel()
            raise
    return counts


def _kept(bounds: Allowances, row: int, halves: Sequence[list[int]], count_pairs: Pairs) -> int:
    one, other = halves
    used = bounds.used[row : row + 1]
    # The larger half is split once more: the sums of its inner part form a sorted run, and sorted look-ups into sorted sums
    # stay in the processor's cache, which single ones would not.
    outer, inner = halves_of([bounds.sizes[place] for place in other])
    left = bounds.allowed[row] - _sums(used, bounds.sizes, [other[place] for place in outer])
    run = np.sort(_sums(used, bounds.sizes, [other[place] for place in inner]))
    return int(count_pairs(left[left >= 0], run, np.sort(_sums(used, bounds.sizes, one))))


def pairs_at_most(left: Whole, run: Whole, sorted_sums: Whole) -> int:
    """Count with numpy: every difference is looked up."""
    together = max(1, TOGETHER // len(run))
    count = 0
    for first in range(0, len(left), together):
        remains = left[first : first + together, None] - run[None, :]
        count += int(np.searchsorted(sorted_sums, remains.ravel(), side="right").sum())
    return count


def _sums(used: Whole, sizes: Sequence[int], places: list[int]) -> Whole:
    starts = starts_of(sizes)
    total: Whole = sums(used, [sizes[p] for p in places], [starts[p] for p in places])[0]
    return total
