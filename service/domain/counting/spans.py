"""What a branch of an offer is to the counting: rows with bounds, and each bound as an allowance.

A branch is a product of lists of options; a combination takes one option of each list. A row (a target, a
product rule) has a lowest and a highest value for every option. For counting, each bound
becomes an *allowance*: every option uses up a whole number of it, never less than 0, and a combination
keeps the bound if what its options use together does not exceed what is allowed. So a lower and an upper
bound, with or without unknown ends, are one and the same thing to the code that counts.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import prod
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

Whole = npt.NDArray[np.int64]
Mask = npt.NDArray[np.bool_]

NO_END = 1 << 57
"""Stands for "no upper end" among highest values (and, negated, for "no lower end" among lowest ones).

Forty of them still add up without overflow, and a sum that holds one lies beyond every bound allowed.
"""

LARGEST_VALUE = 1 << 50
LARGEST_BOUND = 1 << 54
MOST_LISTS = 40
MOST_COMBINATIONS = 1 << 42
"""Larger branches are refused: the sorted halves of single rows would no longer fit in memory."""


@dataclass(frozen=True, slots=True, eq=False)
class Allowances:
    """Bounds as allowances: ``used`` (bounds, options of all lists in a row) and ``allowed`` (bounds,).

    The least use in each list is 0; a negative ``allowed`` means that no combination keeps the bound.
    """

    used: Whole
    allowed: Whole
    sizes: tuple[int, ...]

    @property
    def starts(self) -> list[int]:
        """Where each list begins among the options."""
        return starts_of(self.sizes)

    def only(self, rows: Sequence[int] | Mask | Whole) -> "Allowances":
        """Some of the bounds."""
        return Allowances(self.used[rows], self.allowed[rows], self.sizes)

    def most_used(self) -> Whole:
        """The most that a combination can use of each."""
        most: Whole = np.maximum.reduceat(self.used, self.starts, axis=1).sum(axis=1)
        return most


class Rule(NamedTuple):
    """What a row asks for.

    ``at_least``, ``at_most``: inclusive bounds within ``LARGEST_BOUND``; None: no such bound. ``only_if_certain``: the
    row counts against a combination only where it is broken for certain (what a week's mean asks of one lunch); its
    unknowns then make no combination wrong or unknown. ``idle``: for each option of each list whether the row lies idle
    in a combination made of such options alone (a share of energy in a lunch without energy); all rows of one count that
    have it share the same masks.
    """

    at_least: int | None
    at_most: int | None
    only_if_certain: bool = False
    idle: Sequence[Mask] | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Branch:
    """All rows over a branch: lowest and highest values (rows, options of all lists in a row), and their rules.

    ``exact``: the rows whose values are.
    """

    low: Whole
    high: Whole
    rules: tuple[Rule, ...]
    sizes: tuple[int, ...]
    exact: Mask

    @property
    def total(self) -> int:
        """How many combinations there are."""
        return prod(self.sizes)


def starts_of(sizes: Sequence[int]) -> list[int]:
    """Where each list begins when all options are in one row."""
    starts, at = [], 0
    for size in sizes:
        starts.append(at)
        at += size
    return starts


def as_branch(low: Whole, high: Whole, rules: Sequence[Rule], sizes: Sequence[int]) -> Branch:
    """A branch from lowest and highest values, (rows, options of all lists in a row) each, within ``LARGEST_VALUE``.

    Raises ``ValueError`` for what the limits of this module do not cover.
    """
    sizes = tuple(sizes)
    if not sizes or min(sizes) < 1:
        raise ValueError(f"a branch needs at least one list, each with at least one option, not {sizes}")
    if len(sizes) > MOST_LISTS:
        raise ValueError(f"{len(sizes)} lists are more than {MOST_LISTS}")
    if prod(sizes) > MOST_COMBINATIONS:
        raise ValueError(f"{prod(sizes)} combinations are more than {MOST_COMBINATIONS}: use an estimate")
    if low.shape != (len(rules), sum(sizes)) or high.shape != low.shape:
        raise ValueError("the values of the rows do not fit the sizes of the lists")
    if low.dtype != np.int64 or high.dtype != np.int64:
        raise ValueError("the values of the rows are int64")
    for rule in rules:
        for bound in (rule.at_least, rule.at_most):
            if bound is not None and not -LARGEST_BOUND <= bound <= LARGEST_BOUND:
                raise ValueError(f"a bound of {bound} is beyond {LARGEST_BOUND}")
    if not rules:
        return Branch(low, high, (), sizes, np.zeros(0, dtype=np.bool_))
    open_rows: Mask = (low != high).any(axis=1)
    some_open = bool(open_rows.any())
    if not _within(low, -NO_END) or not _within(high, NO_END) or (some_open and (low > high).any()):
        raise ValueError(
            f"values lie within {LARGEST_VALUE}, low not above high; no end is -NO_END below, NO_END above"
        )
    return Branch(low, high, tuple(rules), sizes, ~open_rows)


def _within(values: Whole, no_end: int) -> bool:
    """Whether all values are known ones within the limit, or have no end on that side."""
    if int(values.min()) >= -LARGEST_VALUE and int(values.max()) <= LARGEST_VALUE:
        return True
    known = values[values != no_end]
    return not known.size or (int(known.min()) >= -LARGEST_VALUE and int(known.max()) <= LARGEST_VALUE)


def allowances(values: Whole, bounds: Sequence[int], sizes: tuple[int, ...]) -> Allowances:
    """Upper bounds on the sums of ``values`` (bounds, options) as allowances.

    A value of ``NO_END`` breaks its bound in every combination, one of ``-NO_END`` keeps it in every one.
    """
    starts = starts_of(sizes)
    limit = np.array(bounds, dtype=np.int64)
    if len(bounds) and int(values.min()) <= -NO_END:
        values = values.copy()
        for row in np.flatnonzero((values <= -NO_END).any(axis=1)):
            _keep_for_certain(values[row], int(limit[row]), starts, sizes)
    # Every combination takes an option of each list, so it uses at least the list's least: taking that off the bound at
    # once leaves uses of 0 or more, of which a prefix can only ever use up more.
    least = np.minimum.reduceat(values, starts, axis=1)
    allowed: Whole = limit - least.sum(axis=1)
    used = values - least.repeat(sizes, axis=1)
    if len(bounds) and int(values.max()) >= NO_END:
        # A list of nothing but options without an end: no combination keeps the bound. Elsewhere such an option need only
        # use more than is allowed; the number itself would not fit the tables of the leaf.
        allowed[(least >= NO_END).any(axis=1)] = -1
        np.minimum(used, np.maximum(allowed, 0)[:, None] + 1, out=used, where=values >= NO_END)
    return Allowances(used, allowed, sizes)


def _keep_for_certain(row: Whole, bound: int, starts: list[int], sizes: tuple[int, ...]) -> None:
    """Replace values without a lower end by ones low enough for any combination that holds one."""
    parts = [row[start : start + size] for start, size in zip(starts, sizes, strict=True)]
    # Low enough that even with the highest options of all other lists the sum stays below the bound, and never above a
    # known value of its own list, whose least it becomes.
    known = [part[part > -NO_END] for part in parts]
    enough = min(0, bound - sum(max(0, int(some.max())) for some in known if some.size))
    for part, some in zip(parts, known, strict=True):
        part[part <= -NO_END] = min(enough, int(some.min())) if some.size else enough


def keeping_and_not_breaking(branch: Branch) -> tuple[Allowances, Allowances, list[int]]:
    """Every bound twice: kept for certain, and not broken for certain; and the row each belongs to.

    Upper bounds of all rows come first, lower bounds after them.
    """
    upper = [row for row, rule in enumerate(branch.rules) if rule.at_most is not None]
    lower = [row for row, rule in enumerate(branch.rules) if rule.at_least is not None]
    bounds = [rule.at_most for rule in branch.rules if rule.at_most is not None]
    bounds += [-rule.at_least for rule in branch.rules if rule.at_least is not None]
    keeping = allowances(np.concatenate([branch.high[upper], -branch.low[lower]]), bounds, branch.sizes)
    if branch.exact.all():
        # One object for both: callers count it once.
        return keeping, keeping, upper + lower
    breaking = allowances(np.concatenate([branch.low[upper], -branch.high[lower]]), bounds, branch.sizes)
    return keeping, breaking, upper + lower


def sums(used: Whole, sizes: Sequence[int], starts: Sequence[int]) -> Whole:
    """All sums of one option of each of some lists: (rows, product of the sizes); the last list varies fastest."""
    if not sizes:
        return np.zeros((len(used), 1), dtype=np.int64)
    total = used[:, starts[0] : starts[0] + sizes[0]]
    for size, start in zip(sizes[1:], starts[1:], strict=True):
        total = (total[:, :, None] + used[:, None, start : start + size]).reshape(len(used), total.shape[1] * size)
    return total


def front_half(sizes: Sequence[int]) -> int:
    """How many of the first lists to take as one half, so that both halves together make the fewest sums.

    >>> front_half([6, 5, 4, 6, 6]), front_half([1024, 30])
    (3, 1)
    """
    return min(range(len(sizes) + 1), key=lambda half: prod(sizes[:half]) + prod(sizes[half:]))


def by_option(marked: npt.NDArray[Any], sizes: Sequence[int]) -> Whole:
    """How many of the combinations marked take each option: (rows, combinations) to (rows, options).

    Added up over all lists but one, for each list in turn: first over one half of the lists, then within the other, so
    that the long axis is read twice and not once for each list.
    """
    if len(sizes) == 1:
        return marked.astype(np.int64)
    half = len(sizes) // 2
    grid = marked.reshape(len(marked), prod(sizes[:half]), -1)
    return np.concatenate(
        [
            by_option(grid.sum(axis=2, dtype=np.int64), sizes[:half]),
            by_option(grid.sum(axis=1, dtype=np.int64), sizes[half:]),
        ],
        axis=1,
    )
