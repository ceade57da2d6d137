"""What the score of a combination can be at most and at least, while all that is known of its sums is a range.

A target's satisfaction is 1 within its bounds and falls straight to 0 on either side, so over a range of its row it
is greatest at the end nearer the bounds and smallest at the one further off. All targets are worked out together, as floats; a slack far beyond their rounding keeps the limits on the outer side.
"""

from collections.abc import Sequence

import numpy as np

from service.domain.counting.scores import Real, Scorer
from service.domain.lunch.judging_arrays import percents
from service.domain.lunch.standards import NO_POINTS, PERCENT, Target
from service.domain.measures import SCALE, THOUSANDTHS

SLACK = 1e-9


class ScoreLimits:
    """Limits of scores by the targets of a `Scorer`, over boxes of combinations.

    A box is given by the least and the most of its features; these are a choice of the scorer's: the rows of all
    targets, energy, what items take off, and how many of them are kept or cut wrongly.
    """

    def __init__(self, scorer: Scorer) -> None:
        self.targets = scorer.targets
        count = len(self.targets)
        self.energy = count
        share = np.array(scorer.is_share, dtype=np.bool_)
        self.plain = np.flatnonzero(~share)
        self.share = np.flatnonzero(share)
        self.points = scorer.points
        self.features = [one[: count + 3].astype(np.float64) for one in scorer.features]
        self.usual_energy = float(sum(one[count].mean() for one in self.features))
        weights = np.array([target.weight for target in self.targets], dtype=np.float64)
        self.weights = weights
        # One after the other, as a score adds them (`sum` does not, from Python 3.12 on): else a full score might
        # lie a last bit above the limit.
        self.weight = self.weight_without_shares = 0.0
        for target, is_share in zip(self.targets, scorer.is_share, strict=True):
            self.weight += target.weight
            self.weight_without_shares += 0.0 if is_share else target.weight
        self.top = max(100 * whole / whole if whole else 0.0 for whole in (self.weight, self.weight_without_shares))
        self.rising, self.falling = _lines(self.targets)
        self.factor = np.array([_share_reach(self.targets[place]) for place in self.share], dtype=np.float64)
        # How steeply what is far over a maximum is taken off; a bound of 0 has no distance to be far over by.
        far = np.array([_has_distance(target) for target in self.targets], dtype=np.float64)
        self.far_plain = (far * ~share)[:, None] * self.points.for_far_over
        self.far_share = far[self.share][:, None] * self.points.for_far_over
        self.lower_share = np.array([self.targets[place].low is not None for place in self.share], dtype=np.bool_)

    @property
    def order(self) -> list[int]:
        """The lists by how much they can move the score, most first."""
        moved = [np.ptp(self.impacts(one), axis=1).sum() if len(self.targets) else 0.0 for one in self.features]
        return sorted(range(len(moved)), key=lambda place: -moved[place])

    def impacts(self, features: Real) -> Real:
        """What each option does to the score, roughly: (effects, options); like options do the same."""
        count = len(self.targets)
        steep = np.maximum(self.rising[1], -self.falling[1])
        steep[self.share, 0] = 1.0 / np.where(self.factor == 0.0, 1.0, self.factor * max(1.0, self.usual_energy))
        effects: Real = features[:count] * steep * self.weights[:, None]
        if self.points != NO_POINTS:
            # In the same unit, so that options which take off more go apart.
            per_point = max(self.weight, 1.0) / PERCENT
            off = [features[count + 1] / THOUSANDTHS, self.points.for_handling * (features[count + 2] > 0)]
            effects = np.concatenate([effects, per_point * np.array(off)])
        return effects

    def most(self, low: Real, high: Real) -> Real:
        """No combination whose features lie between ``low`` and ``high`` scores more than this."""
        count = len(self.targets)
        satisfied = np.minimum(
            self.rising[0] + self.rising[1] * high[:count], self.falling[0] + self.falling[1] * low[:count]
        )
        if self.share.size:
            satisfied[self.share] = self._share(low, high, best=True)
        np.clip(satisfied, 0.0, 1.0, out=satisfied)
        score, without = self._percents(satisfied, low)
        top: Real = np.minimum(np.maximum(score, without) + SLACK, self.top)
        return self._less(top, low, high, best=True)

    def least(self, low: Real, high: Real) -> Real:
        """No combination whose features lie between ``low`` and ``high`` scores less than this."""
        count = len(self.targets)
        satisfied = np.minimum(
            self.rising[0] + self.rising[1] * low[:count], self.falling[0] + self.falling[1] * high[:count]
        )
        if self.share.size:
            satisfied[self.share] = self._share(low, high, best=False)
        np.clip(satisfied, 0.0, 1.0, out=satisfied)
        score, without = self._percents(satisfied, low)
        bottom: Real = np.maximum(np.minimum(score, without) - SLACK, 0.0)
        return self._less(bottom, low, high, best=False)

    def _less(self, score: Real, low: Real, high: Real, *, best: bool) -> Real:
        """The limit less the least (``best``) or the most that is taken off."""
        if self.points == NO_POINTS:
            return score
        count, most = len(self.targets), self.points.most_distances_over
        rows = low if best else high
        beyond = -(self.falling[0] + self.falling[1] * rows[:count])
        off = (self.far_plain * np.clip(beyond, 0.0, most)).sum(axis=0)
        if self.share.size:
            energy = (high if best else low)[self.energy]
            with np.errstate(divide="ignore", invalid="ignore"):
                distances = np.maximum(rows[self.share], 0.0) / (self.factor[:, None] * energy) - 1.0
            unsure = (low[self.energy] <= 0) | (self.factor[:, None] == 0.0)
            distances = np.where(unsure, 0.0 if best else most, distances)
            off += (self.far_share * np.clip(distances, 0.0, most)).sum(axis=0)
        off += rows[count + 1] / THOUSANDTHS + self.points.for_handling * (rows[count + 2] > 0)
        limit: Real = np.maximum(0.0, score - off + (SLACK if best else -SLACK))
        # Nothing taken off, nothing rounded: a full score stays the limit of a full score.
        return np.where(off == 0.0, score, limit)

    def _percents(self, satisfied: Real, low: Real) -> tuple[Real, Real]:
        """The score with all targets, and, where there may be no energy, without shares of it."""
        size = satisfied.shape[1]
        score = percents(np.einsum("t,tn->n", self.weights, satisfied), np.full(size, self.weight))
        if not self.share.size:
            return score, score
        idle = low[self.energy] <= 0
        if not idle.any():
            return score, score
        others = np.einsum("t,tn->n", self.weights[self.plain], satisfied[self.plain])
        without = percents(others, np.full(size, self.weight_without_shares))
        return score, np.where(idle, without, score)

    def _share(self, low: Real, high: Real, *, best: bool) -> Real:
        """Satisfaction of shares: a row is (share - bound) times energy, so it counts by the energy there can be."""
        lower = self.lower_share[:, None]
        rows = (low if best else high)[self.share], (high if best else low)[self.share]
        beyond = np.maximum(np.where(lower, -rows[1], rows[0]), 0.0)
        energy = (high if best else low)[self.energy]
        with np.errstate(divide="ignore", invalid="ignore"):
            satisfied = 1.0 - beyond / (self.factor[:, None] * energy)
        unsure = (low[self.energy] <= 0) | (self.factor[:, None] == 0.0)
        return np.where(unsure, 1.0 if best else 0.0, satisfied)


def _column(values: Sequence[float]) -> Real:
    return np.array(values, dtype=np.float64).reshape(len(values), 1)


def _lines(targets: Sequence[Target]) -> tuple[tuple[Real, Real], tuple[Real, Real]]:
    """Satisfaction as the lower of two lines over the row: the rising and the falling one, offset and slope each.

    Where there is no such bound the line lies at 1; where satisfaction drops at once it does so within one whole number.
    """
    rising, falling = [], []
    for target in targets:
        if target.kind == "share_of_energy":
            rising.append((1.0, 0.0))
            falling.append((1.0, 0.0))
            continue
        rising.append(_line(target, target.low, target.lowest, target.at_least, 1))
        falling.append(_line(target, target.high, target.highest, target.at_most, -1))
    return (
        (_column([offset for offset, _ in rising]), _column([slope for _, slope in rising])),
        (_column([offset for offset, _ in falling]), _column([slope for _, slope in falling])),
    )


def _line(
    target: Target, bound: int | None, inclusive: int | None, shown: float | None, sign: int
) -> tuple[float, float]:
    if bound is None or inclusive is None or shown is None:
        return 1.0, 0.0
    reach = abs(shown) * target.distance_percent / PERCENT * target.per_unit
    if reach == 0.0:
        return 1.0 - sign * inclusive, float(sign)
    return 1.0 - sign / reach * bound, sign / reach


def _has_distance(target: Target) -> bool:
    """Whether amounts can lie so many distances over its maximum."""
    return bool(target.at_most) and target.distance_percent > 0


def _share_reach(target: Target) -> float:
    """What a share's row is beyond its bound where satisfaction is nil, for the smallest part of a kilocalorie."""
    bound = target.at_least if target.at_least is not None else target.at_most
    return abs(bound or 0.0) * target.distance_percent / PERCENT * (target.per_unit // SCALE)
