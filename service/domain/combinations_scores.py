"""The score of many combinations at once: the same numbers, to the last bit, as `verdict.score_of` before rounding.

Everything a score hangs on adds up over the options of a combination: a target's row with its lowest and highest
value, energy, and the measures that a share of energy is a share of. These sums are the *features* here, a column an
option. From the features of a whole combination follows its score; from those of a part of one, together with the
least and the most that the rest can add, follow the least and the most that the score can become.
"""

import sys
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from service.domain.amounts import ItemVector
from service.domain.combinations_spans import MOST_LISTS, NO_END, Mask, Whole
from service.domain.measures import MEASURE_COUNT, SCALE
from service.domain.standards import ENERGY, PERCENT, Target

Real = npt.NDArray[np.float64]
Option = Sequence[ItemVector]
"""The items that an option takes; none for an option that takes nothing."""

SLACK = 1e-9
"""More than the rounding of floats can come to in a score; bounds of scores keep this distance."""
EXACT_FLOATS = 1 << 53


@dataclass(frozen=True, slots=True, eq=False)
class OptionValues:
    """Every measure of every option of a list: nominal, lowest, highest; (options, measures) each."""

    nominal: Whole
    low: Whole
    high: Whole


def option_values(options: Sequence[Option]) -> OptionValues:
    """Add up the items of each option; a highest value without an end is ``NO_END``."""
    nominal = np.zeros((len(options), MEASURE_COUNT), dtype=np.int64)
    low, high = np.zeros_like(nominal), np.zeros_like(nominal)
    for place, items in enumerate(options):
        for item in items:
            vector = np.array(item.nominal, dtype=np.int64)
            nominal[place] += vector
            low[place] += vector
            high[place] += vector
            for measure, least, most in item.widened:
                low[place, measure] += least - item.nominal[measure]
                high[place, measure] += NO_END if most is None else most - item.nominal[measure]
    np.minimum(high, NO_END, out=high, where=high >= NO_END // 2)
    if (low > nominal).any() or (nominal > high).any():
        raise ValueError("a measure's nominal value lies outside its own interval")
    return OptionValues(nominal, low, high)


def row_values(terms: Sequence[tuple[int, int]], values: OptionValues) -> tuple[Whole, Whole]:
    """Lowest and highest value of a row for each option; ``-NO_END`` and ``NO_END`` where there is no end."""
    low: Whole = np.zeros(len(values.nominal), dtype=np.int64)
    high: Whole = np.zeros_like(low)
    no_low, no_high = np.zeros(len(low), dtype=np.bool_), np.zeros(len(low), dtype=np.bool_)
    for measure, weight in terms:
        least, most = values.low[:, measure], values.high[:, measure]
        endless = most >= NO_END
        known = np.where(endless, 0, most)
        if weight > 0:
            low += weight * least
            high += weight * known
            no_high |= endless
        else:
            low += weight * known
            high += weight * least
            no_low |= endless
    return np.where(no_low, -NO_END, low), np.where(no_high, NO_END, high)


class Scorer:
    """Scores by one set of targets.

    Features, in this order: for every target its row, and its lowest and highest value; energy, highest energy; then
    the measures that shares of energy are shares of.
    """

    def __init__(self, targets: Sequence[Target]) -> None:
        self.targets = tuple(targets)
        shares = [target for target in targets if target.kind == "share_of_energy"]
        self.shown = sorted({measure for target in shares for measure, _ in target.shown_terms})
        self.energy = 3 * len(targets)
        self.is_share = np.array([target.kind == "share_of_energy" for target in targets], dtype=np.bool_)
        weights = [target.weight for target in targets]
        self.weight = sum(weights)
        self.weight_without_shares = sum(w for w, share in zip(weights, self.is_share, strict=True) if not share)
        self.top = max(_percent(whole, whole) for whole in (self.weight, self.weight_without_shares))

    def features(self, values: OptionValues) -> Whole:
        """The features of a list's options: (features, options)."""
        rows = []
        for target in self.targets:
            nominal: Whole = np.zeros(len(values.nominal), dtype=np.int64)
            for measure, weight in target.terms:
                nominal += weight * values.nominal[:, measure]
            rows += [nominal, *row_values(target.terms, values)]
        rows += [values.nominal[:, ENERGY], values.high[:, ENERGY]]
        rows += [values.nominal[:, measure] for measure in self.shown]
        features: Whole = np.array(rows, dtype=np.int64)
        known = np.abs(features) < NO_END
        if np.abs(features, where=known, out=np.zeros_like(features)).max() > EXACT_FLOATS // MOST_LISTS:
            raise ValueError(f"scores need values within {EXACT_FLOATS // MOST_LISTS}")
        return features

    def scores(self, totals: Whole) -> Real:
        """The scores of whole combinations, from the sums of their features: (features, combinations)."""
        energy = totals[self.energy]
        idle = (energy == 0) & (totals[self.energy + 1] == 0)
        earned = []
        for place, target in enumerate(self.targets):
            row, low, high = totals[3 * place : 3 * place + 3]
            met, broken = _kept_and_broken(target, low, high)
            amount = row / target.per_unit if not self.is_share[place] else self._share(target, totals)
            satisfied = np.where(met, 1.0, np.where(broken, satisfactions(target, amount), 0.0))
            if self.is_share[place]:
                satisfied = np.where(idle, 0.0, satisfied)
            earned.append(target.weight * satisfied)
        weight = np.where(idle, self.weight_without_shares, self.weight)
        return _percents(added(earned, totals.shape[1]), weight)

    def _share(self, target: Target, totals: Whole) -> Real:
        """The share of energy that is shown, in percent; 0 without energy."""
        first = self.energy + 2
        energy = totals[self.energy]
        parts = [weight * totals[first + self.shown.index(measure)] for measure, weight in target.shown_terms]
        part = added(parts, totals.shape[1])
        share: Real = np.where(energy == 0, 0.0, PERCENT * part / np.where(energy == 0, 1, energy))
        return share

    def most(self, totals: Whole, least_rest: Whole, most_rest: Whole) -> Real:
        """No combination that begins so scores more than this, whatever the rest adds between its least and most."""
        low, high = totals + least_rest[:, None], totals + most_rest[:, None]
        earned = np.zeros(totals.shape[1])
        earned_without = np.zeros(totals.shape[1])
        for place, target in enumerate(self.targets):
            best, _worst = self._range(place, low, high)
            surely_unknown = self._surely_unknown(place, low, high)
            best = np.where(surely_unknown, 0.0, best) * target.weight
            earned += best
            if not self.is_share[place]:
                earned_without += best
        score = _percents(earned, np.full(totals.shape[1], self.weight))
        may_be_idle = low[self.energy] <= 0
        if may_be_idle.any():
            without = _percents(earned_without, np.full(totals.shape[1], self.weight_without_shares))
            score = np.where(may_be_idle, np.maximum(score, without), score)
        return np.minimum(score + SLACK, self.top)

    def is_exact(self, features: Whole) -> Mask:
        """For each target whether its row is known exactly for all these options (or combinations)."""
        rows = features[: self.energy].reshape(len(self.targets), 3, features.shape[1])
        exact: Mask = ((rows[:, 0] == rows[:, 1]) & (rows[:, 0] == rows[:, 2])).all(axis=1)
        return exact

    def least(self, totals: Whole, least_rest: Whole, most_rest: Whole, exact_rest: Mask) -> Real:
        """No combination that begins so scores less than this; ``exact_rest``: the rows the rest knows exactly."""
        low, high = totals + least_rest[:, None], totals + most_rest[:, None]
        earned = np.zeros(totals.shape[1])
        earned_without = np.zeros(totals.shape[1])
        for place, target in enumerate(self.targets):
            _best, worst = self._range(place, low, high)
            if not exact_rest[place]:
                continue
            row = totals[3 * place]
            known = (totals[3 * place + 1] == row) & (totals[3 * place + 2] == row)
            worst = np.where(known, worst, 0.0) * target.weight
            earned += worst
            if not self.is_share[place]:
                earned_without += worst
        score = _percents(earned, np.full(totals.shape[1], self.weight))
        may_be_idle = low[self.energy] <= 0
        if may_be_idle.any():
            without = _percents(earned_without, np.full(totals.shape[1], self.weight_without_shares))
            score = np.where(may_be_idle, np.minimum(score, without), score)
        return np.maximum(score - SLACK, 0.0)

    def _range(self, place: int, low: Whole, high: Whole) -> tuple[Real, Real]:
        """The best and the worst that a target's satisfaction can become while its row lies in a range."""
        target = self.targets[place]
        least, most = low[3 * place], high[3 * place]
        if self.is_share[place]:
            return self._range_of_share(target, least, most, low[self.energy], high[self.energy])
        at_least, at_most = inclusive_bounds(target)
        inside = np.ones(len(least), dtype=np.bool_)
        if at_least is not None:
            inside &= most >= at_least
        if at_most is not None:
            inside &= least <= at_most
        ends = [satisfactions(target, end / target.per_unit) for end in (least, most)]
        for place_of_end, end in enumerate((least, most)):
            keeps = np.ones(len(end), dtype=np.bool_)
            if at_least is not None:
                keeps &= end >= at_least
            if at_most is not None:
                keeps &= end <= at_most
            ends[place_of_end] = np.where(keeps, 1.0, ends[place_of_end])
        return np.where(inside, 1.0, np.maximum(*ends)), np.minimum(*ends)

    def _range_of_share(
        self, target: Target, least: Whole, most: Whole, least_energy: Whole, most_energy: Whole
    ) -> tuple[Real, Real]:
        """A share's row is (share - bound) times energy: so far beyond the bound, by the energy there can be."""
        bound = target.at_least if target.at_least is not None else target.at_most
        reach = abs(bound or 0.0) * target.distance_percent / PERCENT
        lower = target.at_least is not None
        nearest, furthest = (-most, -least) if lower else (least, most)
        factor = target.per_unit // SCALE
        energetic = least_energy > 0
        if reach == 0.0:
            return np.where(energetic & (nearest > 0), 0.0, 1.0), np.where(energetic & (furthest < 0), 1.0, 0.0)
        few, many = np.where(energetic, least_energy, 1), np.where(energetic, most_energy, 1)
        best = 1.0 - np.maximum(nearest, 0) / (factor * many * reach)
        worst = 1.0 - np.maximum(furthest, 0) / (factor * few * reach)
        if target.above or target.below:
            worst = np.where(furthest >= 0, np.minimum(worst, 1.0), worst)
        return (
            np.where(energetic, np.clip(best, 0.0, 1.0), 1.0),
            np.where(energetic, np.clip(worst, 0.0, 1.0), 0.0),
        )

    def _surely_unknown(self, place: int, low: Whole, high: Whole) -> Mask:
        """Whether a target can neither be met nor be broken for certain any more."""
        at_least, at_most = inclusive_bounds(self.targets[place])
        lowest, highest = 3 * place + 1, 3 * place + 2
        meets = np.ones(low.shape[1], dtype=np.bool_)
        breaks = np.zeros(low.shape[1], dtype=np.bool_)
        if at_most is not None:
            meets &= low[highest] <= at_most
            breaks |= high[lowest] > at_most
        if at_least is not None:
            meets &= high[lowest] >= at_least
            breaks |= low[highest] < at_least
        return ~(meets | breaks)


def inclusive_bounds(target: Target) -> tuple[int | None, int | None]:
    """A target's bounds on its row, inclusive."""
    return (
        None if target.low is None else target.low + int(target.above),
        None if target.high is None else target.high - int(target.below),
    )


def _kept_and_broken(target: Target, low: Whole, high: Whole) -> tuple[Mask, Mask]:
    """Whether a target is met, and whether it is over or short, for certain each."""
    at_least, at_most = inclusive_bounds(target)
    met = np.ones(len(low), dtype=np.bool_)
    broken = np.zeros(len(low), dtype=np.bool_)
    if at_most is not None:
        met &= high <= at_most
        broken |= low > at_most
    if at_least is not None:
        met &= low >= at_least
        broken |= high < at_least
    return met & ~broken, broken


def satisfactions(target: Target, amount: Real) -> Real:
    """`findings.satisfaction` for many amounts."""
    beyond = target.at_most if target.at_most is not None else target.at_least or 0.0
    if target.at_least is None:
        return _satisfied(beyond, amount, target.distance_percent)
    low = amount <= target.at_least
    return np.where(
        low,
        _satisfied(target.at_least, amount, target.distance_percent),
        _satisfied(beyond, amount, target.distance_percent),
    )


def _satisfied(bound: float, amount: Real, distance_percent: float) -> Real:
    reach = abs(bound) * distance_percent / PERCENT
    if reach == 0.0:
        return np.zeros_like(amount)
    return np.maximum(0.0, 1.0 - np.abs(amount - bound) / reach)


def added(terms: Sequence[Real], count: int) -> Real:
    """Add floats in their order as Python's ``sum`` does (from 3.12 on with a term for what rounding lost)."""
    total: Real = np.zeros(count)
    if sys.version_info < (3, 12):
        for term in terms:
            total = total + term
        return total
    lost: Real = np.zeros(count)
    for term in terms:
        larger = total + term
        lost = lost + np.where(np.abs(total) >= np.abs(term), (total - larger) + term, (term - larger) + total)
        total = larger
    return total + lost


def _percent(earned: float, weight: float) -> float:
    return 100 * earned / weight if weight else 0.0


def _percents(earned: Real, weight: Real) -> Real:
    some: Real = np.where(weight == 0, 0.0, 100 * earned / np.where(weight == 0, 1.0, weight))
    return some
