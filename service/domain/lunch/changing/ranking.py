"""Which changes to one lunch come first: all of them are judged at once, on its targets and its score."""

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

from service.domain.foods.amounts import ItemVector
from service.domain.lunch.changing.changes import (
    Change,
    Judged,
    LunchChange,
    Move,
    Moves,
    best_changes,
    columns,
    moved_by,
)
from service.domain.lunch.changing.too_much import CLEARLY, far_too_much, taken_away
from service.domain.lunch.findings import Judgement
from service.domain.lunch.judging_arrays import (
    ManyJudgements,
    ManyTaken,
    exact_scores,
    judge_many,
    kept_and_satisfied,
    less,
)
from service.domain.lunch.standards import PERCENT, PointsOff, Target
from service.domain.lunch.totals_arrays import Bounds, bounds_of
from service.domain.measures import ENERGY, SCALE

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

KEPT = ("met", "not_applicable")
TINY = 1e-12
"""Stands for no weight at all, so that nothing is divided by 0."""
LEAST_DIFFERENCE = 1e-9
"""Scores nearer than this are the same: adding up in another order moves the last digits."""
LEAST_SCORE_GAIN = 0.5
"""How much score a change to a lunch must bring that fixes nothing by itself."""
POINTS_OF_TOO_MUCH = 40
"""By how many points of the score a change comes before others that takes away all that is far too much; behind, if it adds as much."""
MOST_ALIKE = 2
"""How many changes to a lunch that fix just the same are shown before others get their turn."""
AS_IT_IS: LunchChange = Change("read", (Move(None, None),), 0, (), ())
"""Changes nothing that is packed."""


def rank_changes(
    targets: Sequence[Target],
    before: Sequence[Judgement],
    items: Sequence[ItemVector],
    changes: Sequence[LunchChange],
    limit: int,
    scoring: "LunchScoring | None" = None,
) -> list[Judged[Moves, float]]:
    """The ``limit`` best single changes to a lunch with the score after each.

    None that breaks a target that was met (other than by sweets that go) or lowers the score, but for those that must be made. Worth: problems beside
    the targets fixed, whether only the form changes, targets broken, targets fixed that count for this lunch, all targets fixed, score
    with what the change is ahead and takes away of what is far too much; with ``scoring`` the score before the targets; and the
    energy that is filled.

    ``before``: of each target, in the same order; ``items``: of the lunch as it is. ``scoring``: what its score hangs on
    besides; left out: only the targets. Source: ours.
    """
    import numpy as np

    if not changes or limit <= 0:
        return []
    # Last the lunch as it is, so that its score is worked out like the others.
    after = totals_after(items, [*changes, AS_IT_IS])
    many = [judge_many(target, after) for target in targets]
    every = kept_and_satisfied(many, len(after))
    kept, satisfied, applies = every[0][:-1], every[1][:-1], every[2][:-1]
    was_kept = np.array([one.status in KEPT for one in before], dtype=bool)
    counted = np.array([one.counts for one in before], dtype=bool)
    too_much = [target.id for target in far_too_much(before)]
    taken = taken_away(before, many)
    stays = np.array([_stays_a_meal(one) for one in changes], dtype=bool)
    less_of_it = np.where(stays, taken.sum(axis=0) / max(len(too_much), 1), 0.0)
    fixed = kept & applies & ~was_kept
    if scoring is None:
        weights = applies * np.array([target.weight for target in targets])
        scores = PERCENT * (satisfied * weights).sum(axis=1) / np.maximum(weights.sum(axis=1), TINY)
        now = _score(before)
    else:
        *of_changes, now = scoring.after(items, changes, many)
        scores = np.array(of_changes)
    filled = _energy_filled(targets, after)
    must = np.array([change.must for change in changes], dtype=bool)
    broken = (was_kept & ~kept).sum(axis=1)
    if scoring is not None:
        # A sweet may go though a minimum was met by it alone.
        sweet = np.array([change.out is not None and change.out.discretionary for change in changes], dtype=bool)
        broken = np.where(sweet, (was_kept & scoring.kept(targets) & ~kept).sum(axis=1), broken)
    gains = np.asarray(scores > now + LEAST_SCORE_GAIN)
    offered = must | ((broken == 0) & np.asarray(scores >= now - LEAST_DIFFERENCE))
    judged = [
        Judged(
            (change,),
            (
                len(change.fixes_beside),
                # Cut as guidance says, the food stays: no reason to leave it out or to buy another.
                int(change.kind == "form"),
                -int(broken[place]),
                *_gain(
                    int((fixed[place] & counted).sum()),
                    int(fixed[place].sum()),
                    round(float(scores[place]) + change.ahead + POINTS_OF_TOO_MUCH * float(less_of_it[place]), 6),
                    score_first=scoring is not None,
                ),
                filled[place],
            ),
            tuple(target.id for target, new in zip(targets, fixed[place], strict=True) if new),
            round(float(scores[place]), 1),
            tuple(one for one, part in zip(too_much, taken[:, place], strict=True) if CLEARLY <= part < 1),
        )
        for place, change in enumerate(changes)
        if offered[place] and (gains[place] or change.fixes_beside or fixed[place].any())
    ]
    return best_changes(judged, limit, most_alike=MOST_ALIKE)


def _stays_a_meal(change: LunchChange) -> bool:
    """Whether something comes in: leaving out, and a smaller portion of a sweet, come by their score alone."""
    return change.into is not None and not (change.kind == "portion" and change.into.food.discretionary)


def _gain(counted: int, fixed: int, score: float, *, score_first: bool) -> tuple[float, float, float]:
    """The order of what is gained: a score of the whole lunch (`LunchScoring`) says more than how many targets are fixed."""
    return (score, counted, fixed) if score_first else (counted, fixed, score)


def _energy_filled(targets: Sequence[Target], after: Bounds) -> list[float]:
    """How much of the least energy asked for each lunch has, in parts of a kcal: between equals, what is more of a meal."""
    import numpy as np

    least = [target.at_least or 0.0 for target in targets if target.is_energy_minimum]
    found: list[float] = np.minimum(after.known(ENERGY), SCALE * max(least, default=0.0)).tolist()
    return found


def totals_after(items: Sequence[ItemVector], changes: Sequence[LunchChange]) -> Bounds:
    """The totals of a lunch after each change."""
    lunch, moved = bounds_of(items), moved_by(changes)
    return Bounds(*(part.sum(axis=0) + change for part, change in zip(columns(lunch), moved.by, strict=True)))


class TakenOff(NamedTuple):
    """What a food in its amount takes off a score: thousandths of a point, and whether it is kept or cut wrongly."""

    thousandths: int
    handling: bool


class LunchScoring(NamedTuple):
    """What the score of a lunch hangs on besides its targets.

    ``items``: of each, its measures in the score (`scored_vector`) and what it takes off.
    ``into``: the same of what each change brings in; None where it brings in nothing.
    """

    points: PointsOff
    items: Sequence[tuple[ItemVector, TakenOff]]
    into: Sequence[tuple[ItemVector, TakenOff] | None]

    def kept(self, targets: Sequence[Target]) -> "npt.NDArray[np.bool_]":
        """Whether each target is kept by the lunch without its sweets and snacks, or does not apply to it."""
        core = bounds_of([vector for vector, _off in self.items])
        alone = Bounds(*(part.sum(axis=0, keepdims=True) for part in columns(core)))
        found: npt.NDArray[np.bool_] = kept_and_satisfied([judge_many(one, alone) for one in targets], 1)[0][0]
        return found

    def after(
        self, items: Sequence[ItemVector], changes: Sequence[LunchChange], many: Sequence[ManyJudgements]
    ) -> "npt.NDArray[np.float64]":
        """The score after each change, and last the score as it is; not rounded.

        ``many``: each target judged on the lunch after each change and as it is, with its sweets and snacks.
        """
        import numpy as np

        moved: list[LunchChange] = []
        thousandths: list[int] = []
        handling: list[bool] = []
        for change, into in zip([*changes, AS_IT_IS], [*self.into, None], strict=True):
            (move,) = change.where
            gone = None if move.out is None else move.item
            out = None if gone is None else self.items[gone][0]
            moved.append(replace(change, where=(Move(out, None if into is None else into[0]),)))
            left = [off for place, (_vector, off) in enumerate(self.items) if place != gone]
            left += [] if into is None else [into[1]]
            thousandths.append(sum(off.thousandths for off in left))
            handling.append(change.kind != "keep" and any(off.handling for off in left))
        core = [vector for vector, _off in self.items]
        if any(one is not vector for one, vector in zip(core, items, strict=True)):
            after = totals_after(core, moved)
            many = [judge_many(one.target, after) for one in many]
        found = [one.satisfactions() for one in many]
        exact = exact_scores([one.target for one in many], [one.status for one in many], found, len(moved))
        taken = ManyTaken(np.array(thousandths), np.array(handling))
        return less(exact, self.points, [one.far_over(self.points) for one in many], taken)


def _score(judgements: Sequence[Judgement]) -> float:
    """The score of the lunch as it is, not rounded."""
    applying = [one for one in judgements if one.status != "not_applicable"]
    earned = sum(one.target.weight * one.satisfaction for one in applying)
    return PERCENT * earned / max(sum(one.target.weight for one in applying), TINY)
