"""Counts every combination of a branch of an offer, exactly: how many are right, wrong, or unknown, and why.

A combination takes one option of each list. It is *right* if it keeps all rows, *wrong* if it breaks one for
certain, otherwise *unknown*. Small branches are counted the plain way (`plain`); large ones through
tables of bit masks, with numpy (`masks`) or compiled (`compiled`). All ways give
the same counts. Nothing here knows of foods or standards.

Limits: `spans`. Memory stays below some 150 MB: the tables of the leaf, and blocks of prefixes and of sums.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from service.domain.counting.masks import Sum, Tick, count_kept
from service.domain.counting.plain import Kept, by_option, counted, kept
from service.domain.counting.rows import kept_counts
from service.domain.counting.spans import (
    MOST_COMBINATIONS,
    MOST_LISTS,
    NO_END,
    Allowances,
    Branch,
    Mask,
    Rule,
    Span,
    Whole,
    as_branch,
    keeping_and_not_breaking,
    stack,
    starts_of,
)

__all__ = [
    "MOST_COMBINATIONS",
    "MOST_LISTS",
    "NO_END",
    "Branch",
    "Counts",
    "How",
    "Mask",
    "RowCounts",
    "Rule",
    "Span",
    "Whole",
    "as_branch",
    "count",
    "count_branch",
]

PLAIN_MOST = 1 << 22
"""Bounds times combinations up to which the plain way is the quicker one."""
COMPILED_FROM = 400_000_000
"""Combinations from which loading the compiled way pays."""
COMPILED_FROM_WHEN_LOADED = 2_000_000
THREADS_FROM = 4_000_000
"""Combinations from which single rows are counted on threads."""


class RowCounts(NamedTuple):
    """How many combinations keep a row, break it (below or above), leave it open, or leave it idle."""

    kept: int
    short: int
    over: int
    unknown: int
    idle: int = 0

    @property
    def broken(self) -> int:
        """Short or over."""
        return self.short + self.over


@dataclass(frozen=True, slots=True)
class Counts:
    """What was counted; ``option_right[list][option]``: right combinations that take it, likewise unknown.

    Each option of a list is taken by ``total`` divided by the size of the list.
    """

    total: int
    right: int
    wrong: int
    unknown: int
    rows: tuple[RowCounts, ...]
    option_right: tuple[tuple[int, ...], ...]
    option_unknown: tuple[tuple[int, ...], ...]


def count(
    spans: Sequence[Span],
    sizes: Sequence[int],
    *,
    per_option: bool = True,
    per_row: bool = True,
    tick: Tick | None = None,
    compiled: bool | None = None,
    threads: int = 2,
) -> Counts:
    """Count all combinations of a branch against all rows.

    Parameters
    ----------
    sizes: how many options each list has.
    per_option, per_row: whether to count each option, each row by itself (empty otherwise).
    tick: called between blocks of a long count, in the caller's thread; raises to stop it.
    compiled: use the compiled way or not; None: where it is installed and pays.
    threads: how many the compiled way and single rows of large branches may use.

    Raises ``ValueError`` for what the limits do not cover.
    """
    return count_branch(stack(spans, sizes), How(per_option, per_row, tick, compiled, threads))


class How(NamedTuple):
    """How to count; see `count`."""

    per_option: bool = True
    per_row: bool = True
    tick: Tick | None = None
    compiled: bool | None = None
    threads: int = 2


def count_branch(branch: Branch, how: How | None = None) -> Counts:
    """`count` for rows that are stacked already (`spans.laid_out`)."""
    how = how or How()
    found = _count(branch, how)
    idle = _idle_part(branch)
    if idle is None:
        return found
    part, places, rows = idle
    hard = _count(part, how)
    others = [row for row in range(len(branch.rules)) if not rows[row]]
    soft = _count(_some_rows(part, others), how)
    return _with_idle(found, hard, soft, places, rows)


def _count(branch: Branch, how: How) -> Counts:
    keeping, breaking, rows = keeping_and_not_breaking(branch)
    certain = [branch.rules[row].only_if_certain for row in rows]
    if branch.total * max(1, len(rows)) <= PLAIN_MOST:
        return _plainly(branch, keeping, breaking, rows, certain, how)
    right_bounds = _mixed(keeping, breaking, certain)
    right = _kept_by(right_bounds, how)
    not_wrong = right if right_bounds is breaking else _kept_by(breaking, how)

    def together(bounds: Allowances, pair: list[int]) -> int:
        return _kept_by(bounds.only(pair), how).right

    row_counts: tuple[RowCounts, ...] = ()
    if how.per_row:
        threads = how.threads if branch.total >= THREADS_FROM else 1
        pairs = None
        if _compiled_pays(branch.total, how):
            from service.domain.counting.compiled import compiled_pairs

            pairs = compiled_pairs()
        keep = kept_counts(keeping, how.tick, threads, pairs)
        spare = keep if breaking is keeping else kept_counts(breaking, how.tick, threads, pairs)
        row_counts = _row_counts(
            branch, rows, keep, spare, lambda pair: together(keeping, pair), lambda pair: together(breaking, pair)
        )
    return _counts(branch, (right.right, right.options), (not_wrong.right, not_wrong.options), row_counts, how)


def _plainly(
    branch: Branch, keeping: Allowances, breaking: Allowances, rows: list[int], certain: list[bool], how: How
) -> Counts:
    total = branch.total
    keeps = kept(keeping, total)
    spares = keeps if breaking is keeping else kept(breaking, total)
    everything = list(range(len(rows)))
    if spares is keeps or not any(certain):
        right = keeps.all_of(everything)
    else:
        right = keeps.all_of([at for at in everything if not certain[at]])
        right &= spares.all_of([at for at in everything if certain[at]])
    not_wrong = right if spares is keeps else spares.all_of(everything)
    row_counts: tuple[RowCounts, ...] = ()
    if how.per_row:

        def together(which: Kept, pair: list[int]) -> int:
            return counted(which.all_of(pair)[None, :])[0]

        row_counts = _row_counts(
            branch,
            rows,
            keeps.counts(),
            spares.counts(),
            lambda pair: together(keeps, pair),
            lambda pair: together(spares, pair),
        )
    found = []
    for bits in (right,) if not_wrong is right else (right, not_wrong):
        options = by_option(bits, branch.sizes, total) if how.per_option else []
        found.append((counted(bits[None, :])[0], options))
    return _counts(branch, found[0], found[-1], row_counts, how)


def _mixed(keeping: Allowances, breaking: Allowances, certain: list[bool]) -> Allowances:
    """What a right combination keeps: the bounds for certain, or those not broken for certain."""
    if keeping is breaking or all(certain):
        return breaking
    if not any(certain):
        return keeping
    which = np.array(certain)
    return Allowances(
        np.where(which[:, None], breaking.used, keeping.used),
        np.where(which, breaking.allowed, keeping.allowed),
        keeping.sizes,
    )


def _kept_by(bounds: Allowances, how: How) -> Sum:
    """Count a large branch, by the quickest way there is."""
    total = int(np.prod(bounds.sizes, dtype=np.int64))
    most = bounds.most_used()
    if (bounds.allowed < 0).any():
        return Sum(bounds.sizes)
    bounds = bounds.only(np.flatnonzero(bounds.allowed < most))
    if not len(bounds.allowed):
        return Sum(bounds.sizes, total, [total // size for size in bounds.sizes for _ in range(size)])
    free = [not bounds.used[:, start : start + size].any() for start, size in _lists(bounds)]
    if any(free):
        return _without_free_lists(bounds, free, how)
    if _compiled_pays(total, how):
        from service.domain.counting.compiled import count_kept_compiled

        return count_kept_compiled(bounds, how.tick, how.threads)
    return count_kept(bounds, how.tick)


def _compiled_pays(total: int, how: How) -> bool:
    """Whether to count the compiled way: as asked, or where it is installed and gains more than loading it costs."""
    if how.compiled is not None:
        return how.compiled
    if total < COMPILED_FROM_WHEN_LOADED:
        return False
    from service.domain.counting.compiled import compiled_walk, is_installed

    loaded = compiled_walk.cache_info().currsize > 0
    return is_installed() and (loaded or total >= COMPILED_FROM)


def _lists(bounds: Allowances) -> list[tuple[int, int]]:
    return list(zip(bounds.starts, bounds.sizes, strict=True))


def _without_free_lists(bounds: Allowances, free: list[bool], how: How) -> Sum:
    """Leave out lists none of whose options uses anything up: each of their options does as well as any."""
    lists = _lists(bounds)
    columns = [
        c for (start, size), idle in zip(lists, free, strict=True) if not idle for c in range(start, start + size)
    ]
    sizes = tuple(size for size, idle in zip(bounds.sizes, free, strict=True) if not idle)
    found = _kept_by(Allowances(bounds.used[:, columns], bounds.allowed, sizes), how)
    times = int(np.prod([size for size, idle in zip(bounds.sizes, free, strict=True) if idle], dtype=np.int64))
    options: list[int] = []
    counted_ones = iter(found.options)
    for size, idle in zip(bounds.sizes, free, strict=True):
        if idle:
            options += [found.right * times // size] * size
        else:
            options += [next(counted_ones) * times for _ in range(size)]
    return Sum(bounds.sizes, found.right * times, options)


def _row_counts(
    branch: Branch,
    rows: list[int],
    keep: list[int],
    spare: list[int],
    keep_both: Callable[[list[int]], int],
    spare_both: Callable[[list[int]], int],
) -> tuple[RowCounts, ...]:
    """Counts of each row from those of its bounds: ``keep`` for certain, ``spare`` not broken for certain."""
    total = branch.total
    uppers = sum(rule.at_most is not None for rule in branch.rules)
    upper = {row: place for place, row in enumerate(rows[:uppers])}
    lower = {row: place + uppers for place, row in enumerate(rows[uppers:])}
    found = []
    for row, (rule, exact) in enumerate(zip(branch.rules, branch.exact.tolist(), strict=True)):
        above, below = upper.get(row), lower.get(row)
        over = 0 if above is None else total - spare[above]
        short = 0 if below is None else total - spare[below]
        if above is not None and below is not None:
            if (rule.at_least or 0) > (rule.at_most or 0):
                short = spare[above] - spare_both([above, below])
            kept_ones = total - over - short if exact else keep_both([above, below])
        else:
            only = above if above is not None else below
            kept_ones = total if only is None else keep[only]
        found.append(RowCounts(kept_ones, short, over, total - kept_ones - short - over))
    return tuple(found)


def _counts(
    branch: Branch,
    right: tuple[int, list[int]],
    not_wrong: tuple[int, list[int]],
    rows: tuple[RowCounts, ...],
    how: How,
) -> Counts:
    option_right: tuple[tuple[int, ...], ...] = ()
    option_unknown: tuple[tuple[int, ...], ...] = ()
    if how.per_option:
        lists = [slice(start, start + size) for start, size in zip(starts_of(branch.sizes), branch.sizes, strict=True)]
        unknown = [most - least for least, most in zip(right[1], not_wrong[1], strict=True)]
        option_right = tuple(tuple(right[1][part]) for part in lists)
        option_unknown = tuple(tuple(unknown[part]) for part in lists)
    return Counts(
        total=branch.total,
        right=right[0],
        wrong=branch.total - not_wrong[0],
        unknown=not_wrong[0] - right[0],
        rows=rows,
        option_right=option_right,
        option_unknown=option_unknown,
    )


def _idle_part(branch: Branch) -> tuple[Branch, list[list[int]], list[bool]] | None:
    """The combinations of idle options alone, which options these are, and the rows that lie idle in them."""
    masks = [rule.idle for rule in branch.rules if rule.idle is not None]
    if not masks:
        return None
    rows = [rule.idle is not None for rule in branch.rules]
    first = masks[0]
    if [len(mask) for mask in first] != list(branch.sizes):
        raise ValueError("the idle masks of a span do not fit the sizes of the lists")
    for other in masks[1:]:
        if other is not first and not all(np.array_equal(a, b) for a, b in zip(first, other, strict=True)):
            raise ValueError("the rows of one count that can lie idle share the same masks")
    places: list[list[int]] = [np.flatnonzero(mask).tolist() for mask in first]
    if not all(places):
        return None
    columns = [start + place for start, some in zip(starts_of(branch.sizes), places, strict=True) for place in some]
    sizes = tuple(len(some) for some in places)
    low, high = branch.low[:, columns], branch.high[:, columns]
    return Branch(low, high, branch.rules, sizes, (low == high).all(axis=1)), places, rows


def _some_rows(branch: Branch, rows: list[int]) -> Branch:
    rules = tuple(branch.rules[row] for row in rows)
    return Branch(branch.low[rows], branch.high[rows], rules, branch.sizes, branch.exact[rows])


def _with_idle(found: Counts, hard: Counts, soft: Counts, places: list[list[int]], idle: list[bool]) -> Counts:
    """Correct a count for the combinations in which some rows lie idle.

    ``hard``: these combinations counted with all rows, as in ``found``; ``soft``: with the other rows only.
    """
    rows = tuple(
        RowCounts(
            one.kept - part.kept, one.short - part.short, one.over - part.over, one.unknown - part.unknown, hard.total
        )
        if is_idle
        else one
        for one, part, is_idle in zip(found.rows, hard.rows, idle, strict=False)
    )
    right = found.right + soft.right - hard.right
    unknown = found.unknown + soft.unknown - hard.unknown
    return Counts(
        total=found.total,
        right=right,
        wrong=found.total - right - unknown,
        unknown=unknown,
        rows=rows,
        option_right=_corrected(found.option_right, hard.option_right, soft.option_right, places),
        option_unknown=_corrected(found.option_unknown, hard.option_unknown, soft.option_unknown, places),
    )


def _corrected(
    found: tuple[tuple[int, ...], ...],
    hard: tuple[tuple[int, ...], ...],
    soft: tuple[tuple[int, ...], ...],
    places: list[list[int]],
) -> tuple[tuple[int, ...], ...]:
    corrected = []
    for one, less, more, some in zip(found, hard, soft, places, strict=False):
        values = list(one)
        for place, taken, given in zip(some, less, more, strict=True):
            values[place] += given - taken
        corrected.append(tuple(values))
    return tuple(corrected)
