"""Which single change to a lunch mends most, worked out for all candidates at once.

A candidate takes at most one item out and puts at most one in. All candidates are judged together as
whole-number matrices (candidates x measures times measures x targets), the same rows and bounds as the
check itself. A change that breaks a target which was met is never offered.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

from service.domain.foods.amounts import ItemVector
from service.domain.lunch.findings import Judgement
from service.domain.lunch.standards import ENERGY, PERCENT, Target
from service.domain.measures import MEASURE_COUNT, SCALE

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    Whole = npt.NDArray[np.int64]
    Mask = npt.NDArray[np.bool_]

TINY = 1e-12
"""Stands for no weight at all, so that nothing is divided by 0."""

ChangeKind = Literal["portion", "swap", "add", "remove", "form"]


@dataclass(frozen=True, slots=True)
class Candidate:
    """One possible change: what goes out and what comes in, as measures; ``key`` breaks ties."""

    kind: ChangeKind
    out: ItemVector | None
    into: ItemVector | None
    family: tuple[str, str, str]
    """Changes of one family are alike (same kind, same item, same sort of food): one of them is told."""
    size: int
    """How much food moves, milligrams: the smaller change comes first among equals."""
    key: tuple[str, ...]
    mends_other: tuple[str, ...] = ()
    """Problems beside the targets that the change mends: an allergen, a choking form."""


@dataclass(frozen=True, slots=True)
class Ranked:
    """A candidate judged: the target ids it mends, and the score it gives."""

    candidate: Candidate
    mends: tuple[str, ...]
    score: float


@dataclass(frozen=True, slots=True)
class Bounds:
    """The lunch's measures or those of all candidates as arrays, shape (n, MEASURE_COUNT)."""

    low: "Whole"
    high: "Whole"
    endless: "Whole"
    """How many items have no upper end for the measure."""
    nominal: "Whole"


def rank_changes(
    targets: Sequence[Target],
    before: Sequence[Judgement],
    items: Sequence[ItemVector],
    candidates: Sequence[Candidate],
    limit: int,
) -> list[Ranked]:
    """The ``limit`` best single changes, best first; none that breaks a target that was met.

    Order, with at most two in a row of those that mend the same: problems beside the targets mended, targets mended that count for this lunch, all targets
    mended, score gained, size of the change, name. Of changes of one family only the best is given.
    """
    import numpy as np

    if not candidates or limit <= 0:
        return []
    base = bounds_of(items)
    low = np.repeat(base.low.sum(axis=0, keepdims=True), len(candidates), axis=0)
    high = np.repeat(base.high.sum(axis=0, keepdims=True), len(candidates), axis=0)
    endless = np.repeat(base.endless.sum(axis=0, keepdims=True), len(candidates), axis=0)
    nominal = np.repeat(base.nominal.sum(axis=0, keepdims=True), len(candidates), axis=0)
    nothing = ItemVector((0,) * MEASURE_COUNT, ())
    out = bounds_of([c.out or nothing for c in candidates])
    into = bounds_of([c.into or nothing for c in candidates])
    after = Bounds(
        low - out.low + into.low,
        high - out.high + into.high,
        endless - out.endless + into.endless,
        nominal - out.nominal + into.nominal,
    )
    met, satisfied, applies = judge_all(targets, after)
    was_met = np.array([one.status in ("met", "not_applicable") for one in before], dtype=bool)
    counted = np.array([one.counts for one in before], dtype=bool)
    weights = np.array([target.weight for target in targets])
    breaks = (met[:, was_met] == 0).any(axis=1)
    newly = met & applies & ~was_met[None, :]
    mended_counted = (newly & counted[None, :]).sum(axis=1)
    mended = newly.sum(axis=1)
    counting = applies * weights
    scores = PERCENT * (satisfied * counting).sum(axis=1) / np.maximum(counting.sum(axis=1), TINY)
    score_before = PERCENT * _earned(before) / max(_weight(before), TINY)
    order = sorted(
        (i for i in range(len(candidates)) if not breaks[i]),
        key=lambda i: (
            -len(candidates[i].mends_other),
            -int(mended_counted[i]),
            -int(mended[i]),
            -round(float(scores[i]), 6),
            candidates[i].size,
            candidates[i].key,
        ),
    )
    best: list[Ranked] = []
    families: set[tuple[str, str, str]] = set()
    for i in order:
        candidate = candidates[i]
        gains = candidate.mends_other or mended[i] or scores[i] > score_before + 0.5
        if not gains or candidate.family in families:
            continue
        families.add(candidate.family)
        ids = tuple(target.id for place, target in enumerate(targets) if newly[i, place])
        best.append(Ranked(candidate, ids, round(float(scores[i]), 1)))
    return _varied(best, limit)


MOST_ALIKE = 2
"""How many changes that mend just the same are told before others get their turn."""


def _varied(best: Sequence[Ranked], limit: int) -> list[Ranked]:
    """The first ``limit``, but at most two that mend the same while something else is mended by another."""
    alike: dict[tuple[tuple[str, ...], tuple[str, ...]], int] = {}
    first: list[Ranked] = []
    later: list[Ranked] = []
    for one in best:
        key = (one.candidate.mends_other, one.mends)
        alike[key] = alike.get(key, 0) + 1
        (first if alike[key] <= MOST_ALIKE else later).append(one)
    return (first + later)[:limit]


def bounds_of(vectors: Sequence[ItemVector]) -> Bounds:
    """The vectors as arrays, one row each."""
    import numpy as np

    nominal = np.array([vector.nominal for vector in vectors], dtype=np.int64).reshape(len(vectors), MEASURE_COUNT)
    low, high = nominal.copy(), nominal.copy()
    endless = np.zeros_like(nominal)
    for row, vector in enumerate(vectors):
        for measure, least, most in vector.widened:
            low[row, measure] = least
            if most is None:
                endless[row, measure] = 1
            else:
                high[row, measure] = most
    return Bounds(low, high, endless, nominal)


def _weight(judgements: Sequence[Judgement]) -> float:
    """The weights of the targets that apply."""
    return sum(one.target.weight for one in judgements if one.status != "not_applicable")


def _earned(judgements: Sequence[Judgement]) -> float:
    """The weights earned by targets that apply and are not unknown."""
    known = (one for one in judgements if one.status not in ("not_applicable", "unknown"))
    return sum(one.target.weight * one.satisfaction for one in known)


def judge_all(targets: Sequence[Target], after: Bounds) -> tuple["Mask", Any, "Mask"]:
    """Whether each target is met, its satisfaction, and whether it applies, for every candidate: (n, targets) each."""
    import numpy as np

    n = after.low.shape[0]
    met = np.ones((n, len(targets)), dtype=bool)
    satisfied = np.ones((n, len(targets)))
    applies = np.ones((n, len(targets)), dtype=bool)
    energy = after.nominal[:, ENERGY]
    idle = (energy == 0) & (after.high[:, ENERGY] == 0) & (after.endless[:, ENERGY] == 0)
    for place, target in enumerate(targets):
        least = np.zeros(n, dtype=np.int64)
        most = np.zeros(n, dtype=np.int64)
        no_least = np.zeros(n, dtype=bool)
        no_most = np.zeros(n, dtype=bool)
        row = np.zeros(n, dtype=np.int64)
        for measure, weight in target.terms:
            row += weight * after.nominal[:, measure]
            open_end = after.endless[:, measure] > 0
            if weight > 0:
                least += weight * after.low[:, measure]
                most += weight * after.high[:, measure]
                no_most |= open_end
            else:
                least += weight * after.high[:, measure]
                most += weight * after.low[:, measure]
                no_least |= open_end
        keeps = np.ones(n, dtype=bool)
        fails = np.zeros(n, dtype=bool)
        if target.high is not None:
            bound = target.high - 1 if target.below else target.high
            keeps &= ~no_most & (most <= bound)
            fails |= ~no_least & (least > bound)
        if target.low is not None:
            bound = target.low + 1 if target.above else target.low
            keeps &= ~no_least & (least >= bound)
            fails |= ~no_most & (most < bound)
        amount = _amounts(target, row, after, energy)
        gap = np.zeros(n)
        if target.at_least is not None:
            gap = np.maximum(gap, (target.at_least - amount) / _reach(target.at_least, target))
        if target.at_most is not None:
            gap = np.maximum(gap, (amount - target.at_most) / _reach(target.at_most, target))
        value = np.clip(1.0 - gap, 0.0, 1.0)
        if target.kind == "share_of_energy":
            keeps, fails = keeps | idle, fails & ~idle
            applies[:, place] = ~idle
        met[:, place] = keeps
        satisfied[:, place] = np.where(keeps, 1.0, np.where(fails, value, 0.0))
    return met, satisfied, applies


def _reach(bound: float, target: Target) -> float:
    return abs(bound) * target.distance_percent / PERCENT or 1e-9


def _amounts(target: Target, row: "Whole", after: Bounds, energy: "Whole") -> Any:
    import numpy as np

    if target.kind != "share_of_energy":
        return row / target.per_unit
    part = sum(weight * after.nominal[:, measure] for measure, weight in target.shown_terms)
    return np.where(energy > 0, PERCENT * np.asarray(part) / np.maximum(energy, SCALE // SCALE), 0.0)
