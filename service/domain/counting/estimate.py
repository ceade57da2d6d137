"""An estimate of the share of right combinations from a sample, for offers too large to count.

Uniform: every combination of all branches is as likely to be drawn as any other, and may be drawn again. The
confidence interval is Wilson's (E. B. Wilson, 1927, J. Am. Stat. Assoc. 22, 209-212). It is an estimate and must be
shown as one.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import prod

import numpy as np

from service.domain.counting.masks import Tick
from service.domain.counting.spans import Mask, Whole, starts_of
from service.domain.counting.survey import RowRule, Values
from service.domain.lunch.judging_arrays import MET, OVER, SHORT, Interval, statuses

Z = 1.959963984540054
"""The quantile of the normal distribution for 95 %."""
BLOCK = 20_000


@dataclass(frozen=True, slots=True)
class Estimate:
    """A sample: how many combinations were drawn, how many of them were right and unknown, and the interval of 95 %."""

    drawn: int
    right: int
    unknown: int
    low: float
    high: float

    @property
    def right_share(self) -> float:
        """The share of right combinations in the sample."""
        return self.right / self.drawn


def estimate(
    branches: Sequence[tuple[Values, Sequence[RowRule]]], drawn: int, seed: int, tick: Tick | None = None
) -> Estimate:
    """Draw combinations and judge them.

    Parameters
    ----------
    branches: for each its values and what a combination must keep, as for `survey`.
    drawn: how many combinations are drawn.
    seed: the same seed draws the same combinations.
    tick: called between blocks; raises to stop.
    """
    sizes = [prod(values.sizes) for values, _limits in branches]
    if drawn < 1 or not sum(sizes):
        raise ValueError(f"nothing to draw: {drawn} combinations of {sum(sizes)}")
    chance = np.random.default_rng(seed)
    right = unknown = 0
    each = chance.multinomial(drawn, [size / sum(sizes) for size in sizes])
    for (values, limits), number in zip(branches, each.tolist(), strict=True):
        for start in range(0, number, BLOCK):
            if tick is not None:
                tick()
            taken = [chance.integers(0, size, min(BLOCK, number - start)) for size in values.sizes]
            keeps, breaks = _judged(values, limits, taken)
            right += int(np.count_nonzero(keeps))
            unknown += int(np.count_nonzero(~keeps & ~breaks))
    low, high = wilson(right, drawn)
    return Estimate(drawn, right, unknown, low, high)


def _judged(values: Values, limits: Sequence[RowRule], taken: Sequence[Whole]) -> tuple[Mask, Mask]:
    """Which combinations keep all rows, and which break one for certain."""
    keeps: Mask = np.ones(len(taken[0]), dtype=np.bool_)
    breaks: Mask = np.zeros(len(taken[0]), dtype=np.bool_)
    columns = [start + option for start, option in zip(starts_of(values.sizes), taken, strict=True)]
    for row, rule in limits:
        interval = Interval(_sum(values.low[row], columns), _sum(values.high[row], columns))
        status = statuses(interval, rule.at_least, rule.at_most)
        kept: Mask = status == MET
        broken: Mask = (status == SHORT) | (status == OVER)
        if rule.only_if_certain:
            kept = ~broken
        if rule.idle is not None:
            idle = np.logical_and.reduce([mask[option] for mask, option in zip(rule.idle, taken, strict=True)])
            kept, broken = kept | idle, broken & ~idle
        keeps &= kept
        breaks |= broken
    return keeps, breaks


def _sum(row: Whole, columns: Sequence[Whole]) -> Whole:
    total: Whole = np.zeros(len(columns[0]), dtype=np.int64)
    for column in columns:
        total += row[column]
    return total


def wilson(hits: int, drawn: int) -> tuple[float, float]:
    """Wilson's interval of a share, 95 %.

    ``hits`` of ``drawn``, ``drawn`` above 0. Source: E. B. Wilson, 1927, Journal of the American Statistical
    Association 22, 209-212.
    """
    share = hits / drawn
    middle = share + Z * Z / (2 * drawn)
    reach = Z * ((share * (1 - share) + Z * Z / (4 * drawn)) / drawn) ** 0.5
    below = 1 + Z * Z / drawn
    low = 0.0 if hits == 0 else max(0.0, (middle - reach) / below)
    high = 1.0 if hits == drawn else min(1.0, (middle + reach) / below)
    return low, high
