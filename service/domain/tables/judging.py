"""Judges the totals of many lunches against one compiled table of targets: ``findings.judge`` on arrays.

Rows of targets, limits, bounds and the meaning of unknown are those of the table; statuses come from
comparing whole numbers, so they are the single check's to the last one. Amounts and satisfactions are the
same floating-point steps in the same order; where the last shown digit hangs on less than that, the single
check's own function is asked.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from service.domain.lunch.findings import Status, judge
from service.domain.lunch.standards import ENERGY, PERCENT, Target
from service.domain.lunch.verdict import score_of
from service.domain.measures import SCALE
from service.domain.tables.totals import ManyTotals

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    from service.domain.tables.items import Place, Whole

    Flags = npt.NDArray[np.bool_]
    Floats = npt.NDArray[np.float64]
    Codes = npt.NDArray[np.int8]

STATUSES: tuple[Status, ...] = ("met", "short", "over", "unknown", "not_applicable")
"""A status in an array is its place here."""
MET, SHORT, OVER, UNKNOWN, NOT_APPLICABLE = range(len(STATUSES))

EXACT = 2**53
"""Whole numbers below it are exact as floats, so dividing them gives what dividing the whole numbers gives."""
NEAR_A_TIE = 1e-6


@dataclass(frozen=True, slots=True, eq=False)
class ManyJudgements:
    """One target judged for ``n`` lunches, as ``findings.Judgement``."""

    target: Target
    totals: ManyTotals
    status: Codes
    counts: Flags

    def satisfactions(self) -> Floats:
        """How nearly the target is met, 0 to 1."""
        import numpy as np

        satisfied = np.where((self.status == MET) | (self.status == NOT_APPLICABLE), 1.0, 0.0)
        off = np.flatnonzero((self.status == SHORT) | (self.status == OVER))
        satisfied[off] = _satisfactions(self.target, _amounts(self.target, self.totals, off))
        return satisfied

    def amounts(self) -> tuple[Floats, Floats, Floats]:
        """Amount in the target's unit, and the ends of its interval; infinite for no end."""
        import numpy as np

        amount = _amounts(self.target, self.totals, None)
        low, high = amount.copy(), amount.copy()
        wide = np.flatnonzero(self.totals.is_widened(_bits(self.target.terms)))
        if len(wide):
            low[wide], high[wide] = _amount_interval(self.target, self.totals, wide)
        none = self.status == NOT_APPLICABLE
        if none.any():
            amount[none] = low[none] = high[none] = 0.0
        return amount, low, high


def judge_many(target: Target, totals: ManyTotals) -> ManyJudgements:
    """Judge one target for every lunch; exact whole-number comparison."""
    import numpy as np

    row = _weighted(target.terms, [totals.nominal[measure] for measure, _weight in target.terms])
    over, short = _beyond(target, row)
    status = short.astype(np.int8)
    status[over] = OVER
    wide = np.flatnonzero(totals.is_widened(_bits(target.terms)))
    if len(wide):
        status[wide] = _statuses(target, *_interval(target.terms, totals, wide))
    off = np.flatnonzero((status == SHORT) | (status == OVER))
    counts = np.zeros(len(totals), np.bool_)
    if target.firm:
        counts = (status != MET) & (status != NOT_APPLICABLE)
    else:
        counts[off] = _outside_limit(target, totals, off)
    if target.kind == "share_of_energy":
        none = (totals.nominal[ENERGY] == 0) & (totals.most(ENERGY) == 0) & ~totals.is_endless(ENERGY)
        status[none], counts[none] = NOT_APPLICABLE, False
    return ManyJudgements(target, totals, status, counts)


def _bits(terms: Sequence[tuple[int, int]]) -> int:
    return sum(1 << measure for measure, _weight in terms)


def _weighted(terms: Sequence[tuple[int, int]], columns: Sequence[Whole]) -> Whole:
    """A row's value for every lunch; as Python's own whole numbers where int64 or a float might not hold it."""
    largest = sum(abs(weight) * int(column.max(initial=0)) for (_m, weight), column in zip(terms, columns, strict=True))
    value: Whole | int = 0
    for (_measure, weight), column in zip(terms, columns, strict=True):
        value = value + weight * (column if largest < EXACT else column.astype(object))
    assert not isinstance(value, int)  # noqa: S101 - a row has a term
    return value


def _interval(terms: Sequence[tuple[int, int]], totals: ManyTotals, chosen: Place) -> tuple[Whole, Whole, Flags, Flags]:
    """Lowest and highest value of a row for the chosen lunches, and whether there is no end on that side."""
    import numpy as np

    lowest, highest = [], []
    open_low, open_high = np.zeros((2, len(chosen)), np.bool_)
    for measure, weight in terms:
        least, most = totals.least(measure, chosen), totals.most(measure, chosen)
        lowest.append(least if weight > 0 else most)
        highest.append(most if weight > 0 else least)
        open_end = open_high if weight > 0 else open_low
        open_end |= totals.is_endless(measure, chosen)
    return _weighted(terms, lowest), _weighted(terms, highest), open_low, open_high


def _beyond(target: Target, row: Whole) -> tuple[Flags, Flags]:
    """Whether a known row lies over the upper bound, and whether under the lower one."""
    import numpy as np

    over = short = np.zeros(len(row), np.bool_)
    if target.high is not None:
        over = row > (target.high - 1 if target.below else target.high)
    if target.low is not None:
        short = row < (target.low + 1 if target.above else target.low)
    return over, short


def _statuses(target: Target, low: Whole, high: Whole, open_low: Flags, open_high: Flags) -> Codes:
    """``findings.status_of`` for rows known to lie between two ends."""
    import numpy as np

    low_over, low_short = _beyond(target, low)
    high_over, high_short = _beyond(target, high)
    over, short = low_over & ~open_low, high_short & ~open_high
    met = ~(open_high | high_over) if target.high is not None else np.ones(len(low), np.bool_)
    if target.low is not None:
        met &= ~(open_low | low_short)
    return np.where(over, OVER, np.where(short, SHORT, np.where(met, MET, UNKNOWN))).astype(np.int8)


def _outside_limit(target: Target, totals: ManyTotals, chosen: Place) -> Flags:
    """Whether each of the chosen lunches lies outside the target's limit row for certain."""
    import numpy as np

    low, high, open_low, open_high = _interval(target.limit.terms, totals, chosen)
    outside = np.zeros(len(chosen), np.bool_)
    if target.limit.high is not None:
        outside |= ~open_low & (low > target.limit.high)
    if target.limit.low is not None:
        outside |= ~open_high & (high < target.limit.low)
    return outside


def _amounts(target: Target, totals: ManyTotals, chosen: Place | None) -> Floats:
    """``findings.shown_amount`` for every lunch, or for the chosen ones."""
    import numpy as np

    def column(measure: int) -> Whole:
        return totals.nominal[measure] if chosen is None else totals.nominal[measure][chosen]

    if target.kind != "share_of_energy":
        row = _weighted(target.terms, [column(measure) for measure, _weight in target.terms])
        return (row / target.per_unit).astype(np.float64)
    energy = column(ENERGY)
    part = sum((weight * column(measure) for measure, weight in target.shown_terms), np.zeros(len(energy)))
    shares: Floats = np.where(energy == 0, 0.0, PERCENT * part / np.where(energy == 0, 1, energy))
    return shares


def _amount_interval(target: Target, totals: ManyTotals, chosen: Place) -> tuple[Floats, Floats]:
    """Ends of the amount in the target's unit for the chosen lunches; infinite for no end."""
    import numpy as np

    low, high = np.zeros(len(chosen)), np.zeros(len(chosen))
    endless = np.zeros(len(chosen), np.bool_)
    for measure, weight in target.shown_terms:
        open_end = totals.is_endless(measure, chosen)
        least, most = totals.least(measure, chosen), np.where(open_end, 0, totals.most(measure, chosen))
        low += weight * (least if weight > 0 else most)
        high += weight * (most if weight > 0 else least)
        if weight > 0:
            endless |= open_end
    if target.kind != "share_of_energy":
        return low / SCALE, np.where(endless, np.inf, high / SCALE)
    least, most = totals.least(ENERGY, chosen), totals.most(ENERGY, chosen)
    no_share = totals.is_endless(ENERGY, chosen) | (most == 0)
    least_share = np.where(no_share, 0.0, PERCENT * low / np.where(no_share, 1, most))
    no_end = endless | (least == 0)
    most_share = np.where(no_end, np.inf, PERCENT * high / np.where(no_end, 1, least))
    return least_share, most_share


def _satisfactions(target: Target, amount: Floats) -> Floats:
    """``findings.satisfaction`` for every lunch that is off."""
    import numpy as np

    least, most = target.at_least, target.at_most
    first = np.full(len(amount), (least or 0.0) if most is None else most)
    bound = first if least is None else np.where(amount <= least, least, first)
    reach = np.abs(bound) * target.distance_percent / PERCENT
    off = np.abs(amount - bound)
    nearly = np.maximum(0.0, 1.0 - off / np.where(reach == 0.0, 1.0, reach))
    return np.where(reach == 0.0, 0.0, nearly)


def scores(judged: Sequence[ManyJudgements], totals: ManyTotals) -> Floats:
    """``verdict.score_of`` for every lunch."""
    import numpy as np

    weight, earned = np.zeros(len(totals)), np.zeros(len(totals))
    for one in judged:
        weight += np.where(one.status == NOT_APPLICABLE, 0.0, one.target.weight)
        left_out = (one.status == NOT_APPLICABLE) | (one.status == UNKNOWN)
        earned += np.where(left_out, 0.0, one.target.weight * one.satisfactions())
    exact = np.where(weight == 0, 0.0, 100 * earned / np.where(weight == 0, 1.0, weight))
    rounded, unsure = _rounded(exact, 1)
    for lunch in unsure.tolist():
        single = totals.single(lunch)
        rounded[lunch] = score_of([judge(one.target, single) for one in judged])
    return rounded


def shown(amount: Floats) -> Floats:
    """Amounts to three places, as ``round`` gives them; what is infinite stays so."""
    rounded, unsure = _rounded(amount, 3)
    for place in unsure.tolist():
        rounded[place] = round(float(amount[place]), 3)
    return rounded


def _rounded(values: Floats, places: int) -> tuple[Floats, npt.NDArray[np.intp]]:
    """Values to so many places, and where the last digit lies too near a tie for this to be sure."""
    import numpy as np

    power = float(10**places)
    scaled = values * power
    with np.errstate(invalid="ignore"):
        nearest = np.rint(scaled)
        distance = np.abs(np.abs(scaled - nearest) - 0.5)
        unsure = np.flatnonzero(distance <= NEAR_A_TIE * np.maximum(1.0, np.abs(scaled) * 1e-6))
    return nearest / power, unsure
