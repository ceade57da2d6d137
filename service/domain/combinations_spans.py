"""What a branch of an offer is to the counting: rows with bounds, and each bound as an allowance.

A branch is a product of lists of options; a combination takes one option of each list. A `Span` is one
row (a target, a product rule) with its lowest and highest value for every option. For counting, each bound
becomes an *allowance*: every option uses up a whole number of it, never less than 0, and a combination
keeps the bound if what its options use together does not exceed what is allowed. So a lower and an upper
bound, with or without unknown ends, are one and the same thing to the code that counts.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import prod

import numpy as np
import numpy.typing as npt

Whole = npt.NDArray[np.int64]
Mask = npt.NDArray[np.bool_]

NO_END = 1 << 57
"""Stands for "no upper end" in ``Span.high`` (and, negated, for "no lower end" in ``Span.low``).

Forty of them still add up without overflow, and a sum that holds one lies beyond every bound allowed.
"""

LARGEST_VALUE = 1 << 50
LARGEST_BOUND = 1 << 54
MOST_LISTS = 40
MOST_COMBINATIONS = 1 << 42
"""Larger branches are refused: the sorted halves of single rows would no longer fit in memory."""


@dataclass(frozen=True, slots=True, eq=False)
class Span:
    """One row over a branch: its lowest and highest value for each option of each list, and its bounds.

    Parameters
    ----------
    low, high: one int64 array a list. Equal where the value is exact; ``-NO_END`` and ``NO_END`` where
        there is no end. Known values lie within ``LARGEST_VALUE``.
    at_least, at_most: inclusive bounds within ``LARGEST_BOUND``; None: no such bound.
    only_if_certain: the row counts against a combination only where it is broken for certain (what a week's
        mean asks of one lunch); its unknowns then make no combination wrong or unknown.
    idle: for each option whether the row lies idle in a combination made of such options alone (a share of
        energy in a lunch without energy). All rows of one count that have it share the same masks.
    """

    low: Sequence[Whole]
    high: Sequence[Whole]
    at_least: int | None
    at_most: int | None
    only_if_certain: bool = False
    idle: Sequence[Mask] | None = None


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


@dataclass(frozen=True, slots=True, eq=False)
class Branch:
    """Spans stacked: (rows, options of all lists), checked."""

    low: Whole
    high: Whole
    spans: tuple[Span, ...]
    sizes: tuple[int, ...]

    @property
    def total(self) -> int:
        """How many combinations there are."""
        return prod(self.sizes)


def starts_of(sizes: Sequence[int]) -> list[int]:
    """Where each list begins when all options stand in one row."""
    starts, at = [], 0
    for size in sizes:
        starts.append(at)
        at += size
    return starts


def stack(spans: Sequence[Span], sizes: Sequence[int]) -> Branch:
    """Stack spans; ``ValueError`` for what the limits of this module do not cover."""
    sizes = tuple(sizes)
    if not sizes or min(sizes) < 1:
        raise ValueError(f"a branch needs at least one list, each with at least one option, not {sizes}")
    if len(sizes) > MOST_LISTS:
        raise ValueError(f"{len(sizes)} lists are more than {MOST_LISTS}")
    if prod(sizes) > MOST_COMBINATIONS:
        raise ValueError(f"{prod(sizes)} combinations are more than {MOST_COMBINATIONS}: use an estimate")
    width = sum(sizes)
    if not spans:
        none = np.zeros((0, width), dtype=np.int64)
        return Branch(none, none, (), sizes)
    for span in spans:
        if [len(part) for part in span.low] != list(sizes) or [len(part) for part in span.high] != list(sizes):
            raise ValueError("the values of a span do not fit the sizes of the lists")
        for bound in (span.at_least, span.at_most):
            if bound is not None and abs(bound) > LARGEST_BOUND:
                raise ValueError(f"a bound of {bound} is beyond {LARGEST_BOUND}")
    low: Whole = np.concatenate([part for span in spans for part in span.low]).reshape(len(spans), width)
    high: Whole = np.concatenate([part for span in spans for part in span.high]).reshape(len(spans), width)
    if low.dtype != np.int64 or high.dtype != np.int64:
        raise ValueError("the values of a span are int64")
    known_low, known_high = low > -NO_END, high < NO_END
    if (
        (low > high).any()
        or np.abs(low, where=known_low, out=np.zeros_like(low)).max() > LARGEST_VALUE
        or np.abs(high, where=known_high, out=np.zeros_like(high)).max() > LARGEST_VALUE
    ):
        raise ValueError(
            f"values lie within {LARGEST_VALUE}, low not above high; no end is -NO_END below, NO_END above"
        )
    return Branch(low, high, tuple(spans), sizes)


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
    least = np.minimum.reduceat(values, starts, axis=1)
    allowed: Whole = limit - least.sum(axis=1)
    used = values - np.repeat(least, sizes, axis=1)
    endless = values >= NO_END
    allowed[(least >= NO_END).any(axis=1)] = -1
    np.minimum(used, np.maximum(allowed, 0)[:, None] + 1, out=used, where=endless)
    return Allowances(used, allowed, sizes)


def _keep_for_certain(row: Whole, bound: int, starts: list[int], sizes: tuple[int, ...]) -> None:
    """Replace values without a lower end by ones low enough for any combination that holds one."""
    parts = [row[start : start + size] for start, size in zip(starts, sizes, strict=True)]
    known = [part[part > -NO_END] for part in parts]
    enough = min(0, bound - sum(max(0, int(some.max())) for some in known if some.size))
    for part, some in zip(parts, known, strict=True):
        part[part <= -NO_END] = min(enough, int(some.min())) if some.size else enough


def keeping_and_not_breaking(branch: Branch) -> tuple[Allowances, Allowances, list[int]]:
    """Every bound twice: kept for certain, and not broken for certain; and the row each belongs to.

    Upper bounds of all rows come first, lower bounds after them.
    """
    upper = [row for row, span in enumerate(branch.spans) if span.at_most is not None]
    lower = [row for row, span in enumerate(branch.spans) if span.at_least is not None]
    bounds = [span.at_most for span in branch.spans if span.at_most is not None]
    bounds += [-span.at_least for span in branch.spans if span.at_least is not None]
    keeping = np.concatenate([branch.high[upper], -branch.low[lower]])
    if branch.low is branch.high or np.array_equal(branch.low, branch.high):
        both = allowances(keeping, bounds, branch.sizes)
        return both, both, upper + lower
    breaking = np.concatenate([branch.low[upper], -branch.high[lower]])
    return (
        allowances(keeping, bounds, branch.sizes),
        allowances(breaking, bounds, branch.sizes),
        upper + lower,
    )


def sums(used: Whole, sizes: Sequence[int], starts: Sequence[int]) -> Whole:
    """All sums of one option of each of some lists: (rows, product of the sizes); the last list varies fastest."""
    total: Whole = np.zeros((len(used), 1), dtype=np.int64)
    for size, start in zip(sizes, starts, strict=True):
        total = (total[:, :, None] + used[:, None, start : start + size]).reshape(len(used), total.shape[1] * size)
    return total
