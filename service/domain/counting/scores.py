"""The score of many combinations at once: the same numbers, to the last bit, as `verdict.score_of` before rounding.

Everything a score hangs on adds up over the options of a combination: a target's row by what is known, energy, and the
measures that a share of energy is a share of. These sums are the *features* here, a column an option.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from service.domain.counting.spans import NO_END, Whole
from service.domain.foods.amounts import ItemVector, sum_of
from service.domain.lunch.judging_arrays import (
    EXACT,
    MET,
    NOT_APPLICABLE,
    OVER,
    Interval,
    ManyTaken,
    exact_scores,
    far_over,
    interval_of,
    less,
    nearness,
    shares,
    statuses,
)
from service.domain.lunch.standards import NO_POINTS, PointsOff, Target
from service.domain.lunch.totals_arrays import Bounds, bounds_of
from service.domain.measures import ENERGY

Real = npt.NDArray[np.float64]
Option = Sequence[ItemVector]
"""The items that an option takes; none for an option that takes nothing."""


class OptionsTake(NamedTuple):
    """What options take off the scores of the combinations they are in, besides what the targets leave.

    ``options``: of each option of each list, thousandths of a point and how many of its items are kept or cut wrongly.
    """

    points: PointsOff
    options: Sequence[Sequence[tuple[int, int]]]


class Scorer:
    """Scores of whole combinations by one set of targets.

    Features, in this order: the row of every target; energy; what is taken off by items, in thousandths of a point, and
    the number of items kept or cut wrongly; the highest energy; the measures that shares of energy are shares of.
    """

    def __init__(
        self, targets: Sequence[Target], lists: Sequence[Sequence[Option]], taken: OptionsTake | None = None
    ) -> None:
        self.targets = tuple(targets)
        self.points = NO_POINTS if taken is None else taken.points
        self.is_share = [target.kind == "share_of_energy" for target in targets]
        self.shown = sorted(
            {measure for target in targets if target.kind == "share_of_energy" for measure, _ in target.shown_terms}
        )
        self.energy = len(targets)
        every_option = [sum_of(option) for options in lists for option in options]
        off = [(0, 0)] * len(every_option) if taken is None else [one for some in taken.options for one in some]
        features = self._features(bounds_of(every_option), np.array(off, np.int64).T)
        self.features = np.split(features, np.cumsum([len(options) for options in lists])[:-1], axis=1)
        known = [np.abs(np.where(np.abs(one) < NO_END, one, 0)).max(axis=1) for one in self.features]
        if int(sum(known).max()) > EXACT:
            raise ValueError(f"scores need sums within {EXACT}")

    def _features(self, options: Bounds, off: Whole) -> Whole:
        exact = Bounds(options.nominal, options.nominal, np.zeros_like(options.nominal), options.nominal)
        rows: list[Whole] = [interval_of(target.terms, exact).low for target in self.targets]
        most_energy = np.where(options.is_unbounded(ENERGY), NO_END, options.most(ENERGY))
        rows += [options.known(ENERGY), *off, most_energy]
        rows += [options.known(measure) for measure in self.shown]
        features: Whole = np.array(rows, dtype=np.int64)
        return features

    def scores(self, totals: Whole) -> Real:
        """The scores of combinations from the sums of their features: (features, combinations)."""
        energy, thousandths, handled, most_energy = totals[self.energy : self.energy + 4]
        no_energy = (energy == 0) & (most_energy == 0)
        found, satisfied, far = [], [], []
        for place, target in enumerate(self.targets):
            status = statuses(Interval(totals[place], totals[place]), target.lowest, target.highest)
            if self.is_share[place]:
                status[no_energy] = NOT_APPLICABLE
                amount = shares([(weight, self._measure(totals, one)) for one, weight in target.shown_terms], energy)
            else:
                amount = totals[place] / target.per_unit
            found.append(status)
            satisfied.append(np.where(status == MET, 1.0, nearness(target, amount)))
            far.append(np.where(status == OVER, far_over(self.points, target, amount), 0.0))
        exact = exact_scores(self.targets, found, satisfied, totals.shape[1])
        return less(exact, self.points, far, ManyTaken(thousandths, handled > 0))

    def _measure(self, totals: Whole, measure: int) -> Whole:
        amounts: Whole = totals[self.energy + 4 + self.shown.index(measure)]
        return amounts
