"""Judges many lunches at once: `findings.judge`, `verdict.score_of` and `verdict.verdict_of` on arrays.

Tables, offers, weeks, estimates and the searches for changes all judge with the functions of this module. Statuses come
from comparing whole numbers; amounts and satisfactions are the same floating-point steps in the same order as for one
lunch, so both forms agree to the last bit.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from service.domain.lunch.findings import Status, parts_inside
from service.domain.lunch.standards import NO_POINTS, PERCENT, PointsOff, Target
from service.domain.lunch.totals_arrays import LunchTotals
from service.domain.lunch.verdict import Verdict
from service.domain.measures import ENERGY, SCALE, THOUSANDTHS

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    from service.domain.lunch.totals_arrays import Flags, Place, Whole

    Floats = npt.NDArray[np.float64]
    Codes = npt.NDArray[np.int8]

STATUSES: tuple[Status, ...] = ("met", "short", "over", "unknown", "not_applicable")
"""A status in an array is its place here."""
MET, SHORT, OVER, UNKNOWN, NOT_APPLICABLE = range(len(STATUSES))

VERDICTS: tuple[Verdict, ...] = ("do_not_pack", "check_label", "adjust", "pack")
"""A verdict in an array is its place here, the most serious first."""

EXACT = 2**53
"""Whole numbers below it are exact as floats, so dividing them gives what dividing the whole numbers gives."""
NEAR_A_TIE = 1e-6


class ManyTaken(NamedTuple):
    """What items take off the scores of ``n`` lunches: (n,) thousandths of a point, and whether anything is kept wrongly."""

    thousandths: Whole
    handling: Flags


class TakenBetween(NamedTuple):
    """What items take off the scores of ``n`` lunches: as far as is known, at least and at most; ``no_end``: (n,) it can be all of it."""

    known: ManyTaken
    least: ManyTaken
    most: ManyTaken
    no_end: Flags

    def of(self, chosen: Place) -> TakenBetween:
        """That of some of the lunches."""
        known, least, most = (ManyTaken(one.thousandths[chosen], one.handling[chosen]) for one in self[:3])
        return TakenBetween(known, least, most, self.no_end[chosen])


class ManyScores(NamedTuple):
    """The scores of ``n`` lunches, (n,) each: as far as is known, and the lowest and highest that they can be."""

    known: Floats
    lowest: Floats
    highest: Floats


class Opened(NamedTuple):
    """Lunches whose amount is not known exactly: their places, what is known of it, and its ends; infinite for no end."""

    place: Place
    amount: Floats
    low: Floats
    high: Floats


class Interval(NamedTuple):
    """Lowest and highest value of a row for each lunch, and where there is no end on that side."""

    low: Whole
    high: Whole
    no_low: Flags | bool = False
    no_high: Flags | bool = False


def interval_of(terms: Sequence[tuple[int, int]], totals: LunchTotals) -> Interval:
    """`findings.row_interval`: a negative weight takes the other end of the measure's interval.

    ``terms``: (measure index, weight). Arrays (n,).
    """
    import numpy as np

    lowest, highest = [], []
    no_low, no_high = np.zeros((2, len(totals)), np.bool_)
    inside = parts_inside(tuple(terms))
    for measure, weight in terms:
        least, most = totals.least(measure), totals.most(measure)
        if measure in inside:
            most = np.where(totals.is_unbounded(measure), least, most)
        lowest.append(least if weight > 0 else most)
        highest.append(most if weight > 0 else least)
        if measure not in inside:
            no_end = no_high if weight > 0 else no_low
            no_end |= totals.is_unbounded(measure)
    return Interval(_weighted(terms, lowest), _weighted(terms, highest), no_low, no_high)


def _weighted(terms: Sequence[tuple[int, int]], columns: Sequence[Whole]) -> Whole:
    """A row's value for every lunch; as Python's own whole numbers where int64 or a float might not hold it."""
    largest = sum(abs(weight) * int(column.max(initial=0)) for (_m, weight), column in zip(terms, columns, strict=True))
    value: Whole | int = 0
    for (_measure, weight), column in zip(terms, columns, strict=True):
        value = value + weight * (column if largest < EXACT else column.astype(object))
    assert not isinstance(value, int)  # noqa: S101 - a row has a term
    return value


def certainly_beyond(interval: Interval, lowest: int | None, highest: int | None) -> tuple[Flags, Flags]:
    """Where a row is below ``lowest`` for certain, and where above ``highest`` (both inclusive; None: no bound)."""
    import numpy as np

    short, over = np.zeros((2, len(interval.low)), np.bool_)
    if lowest is not None:
        short = (interval.high < lowest) & np.logical_not(interval.no_high)
    if highest is not None:
        over = (interval.low > highest) & np.logical_not(interval.no_low)
    return short, over


def statuses(interval: Interval, lowest: int | None, highest: int | None) -> Codes:
    """`findings.status_of`: places in ``STATUSES`` for rows known to lie between two ends."""
    import numpy as np

    short, over = certainly_beyond(interval, lowest, highest)
    unsure = np.zeros(len(interval.low), np.bool_)
    if lowest is not None:
        unsure |= (interval.low < lowest) | interval.no_low
    if highest is not None:
        unsure |= (interval.high > highest) | interval.no_high
    return np.where(over, OVER, np.where(short, SHORT, np.where(unsure, UNKNOWN, MET))).astype(np.int8)


def nearness(target: Target, amount: Floats) -> Floats:
    """`findings.satisfaction`: how nearly a target that is short or over is met, 0 to 1."""
    import numpy as np

    least, most = target.at_least, target.at_most
    first = np.full(len(amount), (least or 0.0) if most is None else most)
    bound = first if least is None else np.where(amount <= least, least, first)
    reach = np.abs(bound) * target.distance_percent / PERCENT
    off = np.abs(amount - bound)
    nearly = np.maximum(0.0, 1.0 - off / np.where(reach == 0.0, 1.0, reach))
    return np.where(reach == 0.0, 0.0, nearly)


def satisfied_at(target: Target, amount: Floats) -> Floats:
    """How nearly a target is met by an amount: 1 where that lies within its bounds, else its `nearness`."""
    import numpy as np

    inside = np.ones(len(amount), np.bool_)
    if target.at_least is not None:
        inside &= amount >= target.at_least
    if target.at_most is not None:
        inside &= amount <= target.at_most
    return np.where(inside, 1.0, nearness(target, amount))


def far_over(points: PointsOff, target: Target, amount: Floats) -> Floats:
    """`points_off.far_over`: how many distances amounts lie beyond where the satisfaction of a maximum is nil."""
    import numpy as np

    reach = abs(target.at_most or 0.0) * target.distance_percent / PERCENT
    if target.at_most is None or reach == 0.0:
        return np.zeros(len(amount))
    beyond: Floats = np.minimum(points.most_distances_over, np.maximum(0.0, (amount - target.at_most) / reach - 1.0))
    return beyond


def shares(shown: Sequence[tuple[float, Whole]], energy: Whole) -> Floats:
    """Shares of energy in percent; 0 without energy. ``shown``: weight and amounts of each measure of the part."""
    import numpy as np

    part: Floats = np.zeros(len(energy))
    for weight, amount in shown:
        part = part + weight * amount
    found: Floats = np.where(energy == 0, 0.0, PERCENT * part / np.where(energy == 0, 1, energy))
    return found


@dataclass(frozen=True, slots=True, eq=False)
class ManyJudgements:
    """One target judged for ``n`` lunches, as `findings.Judgement`: ``status`` and ``counts`` are (n,)."""

    target: Target
    totals: LunchTotals
    status: Codes
    counts: Flags

    @property
    def off_the_mean(self) -> Flags:
        """Where the target is off a week's mean without failing the lunch."""
        found: Flags = ~self.counts & (self.status != MET) & (self.status != NOT_APPLICABLE)
        return found

    def satisfactions(self) -> Floats:
        """How nearly the target is met, 0 to 1."""
        import numpy as np

        row = _row(self.target, self.totals)
        below, above = certainly_beyond(Interval(row, row), self.target.lowest, self.target.highest)
        satisfied = np.ones(len(row))
        off = np.flatnonzero((below | above) & (self.status != MET) & (self.status != NOT_APPLICABLE))
        satisfied[off] = nearness(self.target, _amounts(self.target, self.totals.subset(off)))
        return satisfied

    def opened(self) -> Opened:
        """The lunches that are not certain to meet the target, where its amount is not known exactly."""
        import numpy as np

        missed = (self.status != MET) & (self.status != NOT_APPLICABLE)
        place = np.flatnonzero(self.totals.is_interval(self.target.measures) & missed)
        those = self.totals.subset(place)
        return Opened(place, _amounts(self.target, those), *_amount_interval(self.target, those))

    def satisfactions_between(self, opened: Opened) -> tuple[Floats, Floats, Floats]:
        """`satisfactions`, and `findings.satisfactions` of every lunch: as known, least and most."""
        import numpy as np

        found = self.satisfactions()
        least, most = found.copy(), found.copy()
        place, _amount, low, high = opened
        no_end, differs = np.isinf(high), low != high
        at_low = satisfied_at(self.target, low)
        at_most = satisfied_at(self.target, np.where(no_end, low, high))
        at_high = np.where(no_end, float(self.target.at_most is None), at_most)
        all_of = np.stack([at_low, at_high, found[place]])
        highest = np.where(self.status[place] == UNKNOWN, 1.0, all_of.max(axis=0))
        least[place] = np.where(differs, all_of.min(axis=0), found[place])
        most[place] = np.where(differs, highest, found[place])
        return found, least, most

    def far_over_between(self, points: PointsOff, opened: Opened) -> tuple[Floats, Floats, Floats]:
        """`far_over` of every lunch: as known, and what it can be at least and at most."""
        import numpy as np

        found = self.far_over(points)
        least, most = found.copy(), found.copy()
        place, amount, low, high = opened
        no_end, differs = np.isinf(high), (low != high) | (low != amount)
        bounded = self.target.at_most is not None
        at_high = far_over(points, self.target, np.where(no_end, low, high))
        highest = np.where(no_end, points.most_distances_over * bounded, at_high)
        least[place] = np.where(differs, far_over(points, self.target, low), found[place])
        most[place] = np.where(differs, highest, found[place])
        return found, least, most

    def far_over(self, points: PointsOff) -> Floats:
        """`points_off.far_over` of every lunch."""
        import numpy as np

        found = np.zeros(len(self.status))
        row = _row(self.target, self.totals)
        _below, above = certainly_beyond(Interval(row, row), None, self.target.highest)
        off = np.flatnonzero(above & (self.status != NOT_APPLICABLE))
        found[off] = far_over(points, self.target, _amounts(self.target, self.totals.subset(off)))
        return found

    def amounts(self) -> tuple[Floats, Floats, Floats]:
        """Amount in the target's unit, and the ends of its interval; infinite for no end."""
        import numpy as np

        amount = _amounts(self.target, self.totals)
        low, high = amount.copy(), amount.copy()
        wide = np.flatnonzero(self.totals.is_interval(self.target.measures))
        if len(wide):
            low[wide], high[wide] = _amount_interval(self.target, self.totals.subset(wide))
        none = self.status == NOT_APPLICABLE
        if none.any():
            amount[none] = low[none] = high[none] = 0.0
        return amount, low, high


def judge_many(target: Target, totals: LunchTotals) -> ManyJudgements:
    """Judge one target for every lunch; exact whole-number comparison.

    ``totals``: of ``n`` lunches. The same as ``findings.judge`` for each.

    >>> from datetime import date
    >>> from service.domain.lunch.compiling import compile_targets
    >>> from service.domain.lunch.totals_arrays import bounds_of
    >>> from service.reference.lunch.standards import standard
    >>> school = standard("us-school-lunch")
    >>> table = compile_targets(school, school.group("grades-k-5"), date(2025, 9, 1))
    >>> from service.domain.foods.amounts import item_vector
    >>> from service.reference.foods.catalogue import find_food
    >>> energy = next(one for one in table.targets if one.id == "energy")
    >>> lunches = bounds_of([item_vector(find_food("apple"), grams * 1000, None) for grams in (100, 1_200)])
    >>> [STATUSES[code] for code in judge_many(energy, lunches).status]  # 52 and 624 kcal; 550 to 650 are asked for
    ['short', 'met']
    """
    import numpy as np

    row = _row(target, totals)
    short, over = certainly_beyond(Interval(row, row), target.lowest, target.highest)
    status = short.astype(np.int8)
    status[over] = OVER
    # Few lunches hold a figure that is not exact: only these need both ends of the row.
    wide = np.flatnonzero(totals.is_interval(target.measures))
    if len(wide):
        status[wide] = statuses(interval_of(target.terms, totals.subset(wide)), target.lowest, target.highest)
    counts = np.zeros(len(totals), np.bool_)
    if target.firm:
        counts = status != MET
    else:
        off = np.flatnonzero((status == SHORT) | (status == OVER))
        limit = target.limit
        below, above = certainly_beyond(interval_of(limit.terms, totals.subset(off)), limit.low, limit.high)
        counts[off] = below | above
    if target.kind == "share_of_energy":
        none = (totals.known(ENERGY) == 0) & (totals.most(ENERGY) == 0) & ~totals.is_unbounded(ENERGY)
        status[none], counts[none] = NOT_APPLICABLE, False
    return ManyJudgements(target, totals, status, counts)


def judge_all(targets: Sequence[Target], totals: LunchTotals) -> tuple[Flags, Floats, Flags]:
    """Whether each target is kept, its satisfaction, and whether it applies, for every lunch: (n, targets) each.

    A target that does not apply is kept, with a satisfaction of 1, as in a single check.

    ``totals``: of ``n`` lunches.
    """
    return kept_and_satisfied([judge_many(target, totals) for target in targets], len(totals))


def kept_and_satisfied(judged: Sequence[ManyJudgements], lunches: int) -> tuple[Flags, Floats, Flags]:
    """What `judge_all` says of targets judged already, for so many lunches."""
    import numpy as np

    shape = len(judged), lunches
    status = np.array([one.status for one in judged], np.int8).reshape(shape).T
    satisfied = np.array([one.satisfactions() for one in judged], np.float64).reshape(shape).T
    applies = status != NOT_APPLICABLE
    return (status == MET) | ~applies, satisfied, applies


def _row(target: Target, totals: LunchTotals) -> Whole:
    return _weighted(target.terms, [totals.known(measure) for measure, _weight in target.terms])


def _amounts(target: Target, totals: LunchTotals) -> Floats:
    """`findings.shown_amount` for every lunch."""
    import numpy as np

    if target.kind != "share_of_energy":
        return (_row(target, totals) / target.per_unit).astype(np.float64)
    return shares([(weight, totals.known(measure)) for measure, weight in target.shown_terms], totals.known(ENERGY))


def _amount_interval(target: Target, totals: LunchTotals) -> tuple[Floats, Floats]:
    """Ends of the amount in the target's unit; infinite for no end."""
    import numpy as np

    low, high = np.zeros((2, len(totals)))
    unbounded, without_least = np.zeros((2, len(totals)), np.bool_)
    inside = parts_inside(target.terms)
    for measure, weight in target.shown_terms:
        no_end = totals.is_unbounded(measure)
        least, most = totals.least(measure), np.where(no_end, 0, totals.most(measure))
        if measure in inside:
            no_end, most = np.zeros_like(no_end), np.where(no_end, least, most)
        low += weight * (least if weight > 0 else most)
        high += weight * (most if weight > 0 else least)
        if weight > 0:
            unbounded |= no_end
        else:
            without_least |= no_end
    if target.kind != "share_of_energy":
        return low / SCALE, np.where(unbounded, np.inf, high / SCALE)
    least, most = totals.least(ENERGY), totals.most(ENERGY)
    no_share = without_least | totals.is_unbounded(ENERGY) | (most == 0)
    least_share = np.where(no_share, 0.0, PERCENT * low / np.where(no_share, 1, most))
    no_end = unbounded | (least == 0)
    most_share = np.where(no_end, np.inf, PERCENT * high / np.where(no_end, 1, least))
    return least_share, most_share


def exact_scores(targets: Sequence[Target], status: Sequence[Codes], satisfied: Sequence[Floats], n: int) -> Floats:
    """`verdict.score_of` for ``n`` lunches, before rounding: (n,) of each target's status and satisfaction."""
    import numpy as np

    weight, earned = np.zeros((2, n))
    for target, found, nearly in zip(targets, status, satisfied, strict=True):
        weight += np.where(found == NOT_APPLICABLE, 0.0, target.weight)
        earned += np.where(found == NOT_APPLICABLE, 0.0, target.weight * nearly)
    return percents(earned, weight)


def percents(earned: Floats, weight: Floats) -> Floats:
    """What was earned in percent of what there was to earn; 0 where there was nothing."""
    import numpy as np

    found: Floats = np.where(weight == 0, 0.0, 100 * earned / np.where(weight == 0, 1.0, weight))
    return found


def scores(
    judged: Sequence[ManyJudgements], points: PointsOff = NO_POINTS, taken: TakenBetween | None = None
) -> ManyScores:
    """`verdict.score_of` and `verdict.score_range` for every lunch, one decimal.

    ``points``, ``taken``: what is taken off besides what the targets leave.
    """
    import numpy as np

    targets, status, n = [one.target for one in judged], [one.status for one in judged], len(judged[0].totals)
    opened = [one.opened() for one in judged]
    between = [one.satisfactions_between(some) for one, some in zip(judged, opened, strict=True)]
    far = [one.far_over_between(points, some) for one, some in zip(judged, opened, strict=True)]
    of_items = (None, None, None) if taken is None else taken[:3]

    def scored(earned: int, off: int) -> Floats:
        exact = exact_scores(targets, status, [one[earned] for one in between], n)
        return rounded(less(exact, points, [one[off] for one in far], of_items[off]), 1)

    known, least, most = range(3)
    lowest = scored(least, most)
    if taken is not None:
        lowest = np.where(taken.no_end, 0.0, lowest)
    return ManyScores(scored(known, known), lowest, scored(most, least))


def less(exact: Floats, points: PointsOff, far: Sequence[Floats], taken: ManyTaken | None) -> Floats:
    """Scores less what is taken off them, before rounding; ``far``: of each target, `far_over`."""
    import numpy as np

    if points == NO_POINTS:
        return exact
    off = np.zeros(len(exact))
    for one in far:
        off += points.for_far_over * one
    if taken is not None:
        off += taken.thousandths / THOUSANDTHS + points.for_handling * taken.handling
    left: Floats = np.maximum(0.0, exact - off)
    return left


def verdicts(do_not_pack: Flags, check_label: Flags, adjust: Flags) -> Place:
    """The worst that was found of each lunch, as `verdict.verdict_of`: places in ``VERDICTS``."""
    import numpy as np

    return np.where(do_not_pack, 0, np.where(check_label, 1, np.where(adjust, 2, 3))).astype(np.intp)


def rounded(values: Floats, places: int) -> Floats:
    """Values to so many places, as Python's ``round`` gives them; what is infinite stays so.

    Python rounds the decimal value of a float, numpy the float times a power of ten: they may differ where the last
    digit lies too near a tie, and there Python is asked.
    """
    import numpy as np

    power = float(10**places)
    scaled = values * power
    with np.errstate(invalid="ignore"):
        nearest = np.rint(scaled)
        distance = np.abs(np.abs(scaled - nearest) - 0.5)
        unsure = np.flatnonzero(distance <= NEAR_A_TIE * np.maximum(1.0, np.abs(scaled) * 1e-6))
    found: Floats = nearest / power
    for place in unsure.tolist():
        found[place] = round(float(values[place]), places)
    return found
