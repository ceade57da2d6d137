"""The score of many combinations at once: the same numbers, to the last bit, as `verdict.score_of` before rounding.

Everything a score hangs on adds up over the options of a combination: a target's row with its lowest and highest
value, energy, and the measures that a share of energy is a share of. These sums are the *features* here, a column an
option.
"""

import sys
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from service.domain.counting.spans import MOST_LISTS, NO_END, Mask, Whole
from service.domain.foods.amounts import ItemVector
from service.domain.lunch.standards import ENERGY, PERCENT, Target
from service.domain.measures import MEASURE_COUNT

Real = npt.NDArray[np.float64]
Option = Sequence[ItemVector]
"""The items that an option takes; none for an option that takes nothing."""

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
    """Scores of whole combinations by one set of targets.

    Features, in this order: the row of every target, its lowest value, its highest; energy and the highest energy;
    the measures that shares of energy are shares of.
    """

    def __init__(self, targets: Sequence[Target], lists: Sequence[Sequence[Option]]) -> None:
        self.targets = tuple(targets)
        self.is_share = [target.kind == "share_of_energy" for target in targets]
        self.shown = sorted(
            {measure for target in targets if target.kind == "share_of_energy" for measure, _ in target.shown_terms}
        )
        weights = [target.weight for target in targets]
        self.weight: float = sum(weights)
        self.weight_without_shares: float = sum(
            weight for weight, share in zip(weights, self.is_share, strict=True) if not share
        )
        self.energy = 3 * len(targets)
        together = self._features(option_values([option for options in lists for option in options]))
        self.features = np.split(together, np.cumsum([len(options) for options in lists])[:-1], axis=1)

    def _features(self, values: OptionValues) -> Whole:
        rows: list[Whole] = []
        for target in self.targets:
            nominal: Whole = np.zeros(len(values.nominal), dtype=np.int64)
            for measure, weight in target.terms:
                nominal += weight * values.nominal[:, measure]
            rows.append(nominal)
        ends = [row_values(target.terms, values) for target in self.targets]
        rows += [low for low, _ in ends] + [high for _, high in ends]
        rows += [values.nominal[:, ENERGY], values.high[:, ENERGY]]
        rows += [values.nominal[:, measure] for measure in self.shown]
        features: Whole = np.array(rows, dtype=np.int64)
        known = np.abs(features) < NO_END
        if np.abs(features, where=known, out=np.zeros_like(features)).max() > EXACT_FLOATS // MOST_LISTS:
            raise ValueError(f"scores need values within {EXACT_FLOATS // MOST_LISTS}")
        return features

    def scores(self, totals: Whole) -> Real:
        """The scores of combinations from the sums of their features: (features, combinations)."""
        count = len(self.targets)
        idle = (totals[self.energy] == 0) & (totals[self.energy + 1] == 0)
        earned = []
        for place, target in enumerate(self.targets):
            met, broken = _met_and_broken(target, totals[count + place], totals[2 * count + place])
            amount = self._share(target, totals) if self.is_share[place] else totals[place] / target.per_unit
            satisfied = np.where(met, 1.0, np.where(broken, satisfactions(target, amount), 0.0))
            if self.is_share[place]:
                satisfied = np.where(idle, 0.0, satisfied)
            earned.append(target.weight * satisfied)
        weight = np.where(idle, self.weight_without_shares, self.weight)
        return percents(added(earned, totals.shape[1]), weight)

    def _share(self, target: Target, totals: Whole) -> Real:
        """The share of energy that is shown, in percent; 0 without energy."""
        first = self.energy + 2
        energy = totals[self.energy]
        parts = [weight * totals[first + self.shown.index(measure)] for measure, weight in target.shown_terms]
        part = added(parts, totals.shape[1])
        share: Real = np.where(energy == 0, 0.0, PERCENT * part / np.where(energy == 0, 1, energy))
        return share


def inclusive_bounds(target: Target) -> tuple[int | None, int | None]:
    """A target's bounds on its row, inclusive."""
    return (
        None if target.low is None else target.low + int(target.above),
        None if target.high is None else target.high - int(target.below),
    )


def _met_and_broken(target: Target, low: Whole, high: Whole) -> tuple[Mask, Mask]:
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


def percents(earned: Real, weight: Real) -> Real:
    """What was earned in percent of what there was to earn; 0 where there was nothing."""
    some: Real = np.where(weight == 0, 0.0, 100 * earned / np.where(weight == 0, 1.0, weight))
    return some
