"""Which single change to a lunch mends most, worked out for all candidates at once.

A candidate takes at most one item out and puts at most one in. All candidates are judged together as
whole-number matrices (candidates x measures times measures x targets), the same rows and bounds as the
check itself. A change that breaks a target which was met is never offered.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from service.domain.foods.amounts import ItemVector
from service.domain.lunch.findings import Judgement
from service.domain.lunch.judging_arrays import Bounds, bounds_of, judge_all
from service.domain.lunch.standards import PERCENT, Target
from service.domain.measures import MEASURE_COUNT

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
    unbounded = np.repeat(base.unbounded.sum(axis=0, keepdims=True), len(candidates), axis=0)
    nominal = np.repeat(base.nominal.sum(axis=0, keepdims=True), len(candidates), axis=0)
    nothing = ItemVector((0,) * MEASURE_COUNT, ())
    out = bounds_of([c.out or nothing for c in candidates])
    into = bounds_of([c.into or nothing for c in candidates])
    after = Bounds(
        low - out.low + into.low,
        high - out.high + into.high,
        unbounded - out.unbounded + into.unbounded,
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


def _weight(judgements: Sequence[Judgement]) -> float:
    """The weights of the targets that apply."""
    return sum(one.target.weight for one in judgements if one.status != "not_applicable")


def _earned(judgements: Sequence[Judgement]) -> float:
    """The weights earned by targets that apply and are not unknown."""
    known = (one for one in judgements if one.status not in ("not_applicable", "unknown"))
    return sum(one.target.weight * one.satisfaction for one in known)
