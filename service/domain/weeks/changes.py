"""Which single change to next week's packed lunches mends most, all candidates judged at once.

A candidate moves food on one or more days: out, in, or one for the other. Week rows are judged on the sum of the days
and daily rows on each day it touches, with the same bounds as the week itself. A change that breaks a target which was
met, over the week or on any one day, is never offered.
"""

from collections.abc import Sequence
from typing import Any, Literal, NamedTuple

from service.domain.foods.amounts import NOTHING, ItemVector, add_up, sum_of
from service.domain.lunch.findings import Judgement, judge
from service.domain.lunch.judging_arrays import Bounds, bounds_of, judge_all
from service.domain.lunch.standards import ENERGY, Target, TargetTable
from service.domain.measures import MEASURE_COUNT
from service.domain.weeks.week import (
    ABSENT,
    CountedDay,
    WeekFinding,
    WeekLengths,
    mean_targets,
    total_targets,
    week_findings,
)

KEPT = ("met", "not_applicable")
LEAST_GAIN = 0.01
"""How much satisfaction (summed over the targets) a change must bring that mends nothing by itself."""

LOOKED_AT_BESIDE = 3
"""How many more than asked for are judged in full, so that not all of them mend the same."""

ChangeKind = Literal["portion", "swap", "add", "remove"]


class Move(NamedTuple):
    """What goes out and what comes in on one of the counted days."""

    day: int
    out: ItemVector | None
    into: ItemVector | None


class WeekCandidate(NamedTuple):
    """One possible change. ``family``: alike changes, of which one is told; ``size_mg``: how much food moves."""

    kind: ChangeKind
    moves: tuple[Move, ...]
    family: tuple[str, str, str]
    size_mg: int
    key: tuple[str, ...]


class RankedWeek(NamedTuple):
    """A candidate judged in full: the findings it mends, and on how many days a daily rule is newly kept."""

    candidate: WeekCandidate
    mends: tuple[str, ...]
    days_mended: int


def rank_week_changes(
    table: TargetTable,
    days: Sequence[CountedDay],
    school_days: int,
    lengths: WeekLengths,
    candidates: Sequence[WeekCandidate],
    limit: int,
) -> list[RankedWeek]:
    """The ``limit`` best single changes: most findings mended, most days mended, then the smallest.

    Every day must know its parts. Each change is judged again in full before it is told.
    """
    if not candidates or not days or limit <= 0:
        return []
    before = week_findings(table, days, school_days, lengths)
    found: list[RankedWeek] = []
    families: set[tuple[str, str, str]] = set()
    for place in _in_order(table, days, school_days, lengths, candidates):
        candidate = candidates[place]
        if candidate.family in families:
            continue
        judged = _in_full(table, days, school_days, lengths, candidate, before)
        if judged is None:
            continue
        families.add(candidate.family)
        found.append(judged)
        if len(found) == limit + LOOKED_AT_BESIDE:
            break
    return _varied(found, limit)


def _varied(found: Sequence[RankedWeek], limit: int) -> list[RankedWeek]:
    """The first ``limit``, those that mend just what an earlier one mends after the others."""
    seen: set[tuple[str, ...]] = set()
    first: list[RankedWeek] = []
    later: list[RankedWeek] = []
    for one in found:
        (later if one.mends in seen else first).append(one)
        seen.add(one.mends)
    return (first + later)[:limit]


def after(days: Sequence[CountedDay], candidate: WeekCandidate) -> list[CountedDay]:
    """The days as they would be, summed anew from their items."""
    changed = list(days)
    for move in candidate.moves:
        on, _vector, parts = changed[move.day]
        kept = list(parts)
        if move.out is not None:
            kept.remove(move.out)
        if move.into is not None:
            kept.append(move.into)
        changed[move.day] = CountedDay(on, sum_of(kept), tuple(kept))
    return changed


def _in_full(
    table: TargetTable,
    days: Sequence[CountedDay],
    school_days: int,
    lengths: WeekLengths,
    candidate: WeekCandidate,
    was: Sequence[WeekFinding],
) -> RankedWeek | None:
    """The candidate judged by the code that judges a week; None where it breaks something or brings nothing."""
    now = week_findings(table, after(days, candidate), school_days, lengths)
    mends: list[str] = []
    days_mended = 0
    gained = 0.0
    for old, new in zip(was, now, strict=True):
        if old.status in KEPT and new.status not in KEPT:
            return None
        for (_on, one), (_same, other) in zip(old.days, new.days, strict=True):
            if one.status in KEPT and other.status not in KEPT:
                return None
            days_mended += one.status not in KEPT and other.status in KEPT
        gained += new.judgement.satisfaction - old.judgement.satisfaction
        if old.status not in KEPT and new.status in KEPT:
            mends.append(new.judgement.target.id)
    if not mends and not days_mended and gained < LEAST_GAIN:
        return None
    return RankedWeek(candidate, tuple(mends), days_mended)


def _in_order(
    table: TargetTable,
    days: Sequence[CountedDay],
    school_days: int,
    lengths: WeekLengths,
    candidates: Sequence[WeekCandidate],
) -> list[int]:
    """The places of the candidates that break nothing and bring something, best first."""
    import numpy as np

    unique: dict[int, int] = {}
    vectors: list[ItemVector] = []

    def place_of(vector: ItemVector | None) -> int:
        one = vector or NOTHING
        if id(one) not in unique:
            unique[id(one)] = len(vectors)
            vectors.append(one)
        return unique[id(one)]

    moves = [move for candidate in candidates for move in candidate.moves]
    starts = np.cumsum([0] + [len(candidate.moves) for candidate in candidates[:-1]])
    out = np.array([place_of(move.out) for move in moves])
    into = np.array([place_of(move.into) for move in moves])
    on = np.array([move.day for move in moves])
    amounts, shares = total_targets(table, school_days, lengths)
    over_days = [*mean_targets(table, len(days)), *shares]
    firm = [target for target in table.targets if target.firm]
    used = sorted({ENERGY}.union(*(target.measures for target in (*amounts, *over_days, *firm))))

    def columns(one: Bounds) -> list[Any]:
        return [part[:, used] for part in (one.low, one.high, one.unbounded, one.nominal)]

    def whole_width(parts: Sequence[Any]) -> Bounds:
        """The measures looked at, each in its own column again."""
        wide = [np.zeros((part.shape[0], MEASURE_COUNT), dtype=np.int64) for part in parts]
        for one, part in zip(wide, parts, strict=True):
            one[:, used] = part
        return Bounds(*wide)

    every = columns(bounds_of(vectors))
    delta = [part[into] - part[out] for part in every]
    items = columns(bounds_of([part for day in days for part in day.parts]))
    firsts = np.cumsum([0] + [len(day.parts) for day in days[:-1]])
    parts = [np.add.reduceat(part, firsts, axis=0) for part in items]
    week = whole_width(
        [
            part.sum(axis=0)[None, :] + np.add.reduceat(change, starts, axis=0)
            for part, change in zip(parts, delta, strict=True)
        ]
    )
    day_after = whole_width([part[on] + change for part, change in zip(parts, delta, strict=True)])
    absent = school_days - len(days)
    whole = Bounds(week.low, week.high, week.unbounded + absent, week.nominal)
    known_before = add_up([day.vector for day in days])
    whole_before = add_up([day.vector for day in days] + [ABSENT] * absent)
    newly_week, broken, gain = _compared(over_days, week, [judge(t, known_before) for t in over_days])
    more, also_broken, more_gain = _compared(amounts, whole, [judge(t, whole_before) for t in amounts])
    mended = newly_week + more
    broken = broken | also_broken
    met, _satisfied, _applies = judge_all(firm, day_after)
    totals = [add_up([day.vector]) for day in days]
    was = np.array([[judge(target, total).status in KEPT for target in firm] for total in totals], dtype=bool).reshape(
        len(days), len(firm)
    )
    day_broken = (was[on] & ~met).any(axis=1)
    broken |= np.add.reduceat(day_broken.astype(np.int64), starts) > 0
    newly = np.add.reduceat((~was[on] & met).astype(np.int64), starts, axis=0)
    failing = (~was).sum(axis=0)
    mended = mended + ((newly == failing[None, :]) & (failing[None, :] > 0)).sum(axis=1)
    days_mended = newly.sum(axis=1)
    gained = gain + more_gain
    return sorted(
        (
            place
            for place in range(len(candidates))
            if not broken[place] and (mended[place] or days_mended[place] or gained[place] >= LEAST_GAIN)
        ),
        key=lambda place: (
            -int(mended[place]),
            -int(days_mended[place]),
            candidates[place].size_mg if mended[place] or days_mended[place] else -round(float(gained[place]), 6),
            candidates[place].key,
        ),
    )


def _compared(targets: Sequence[Target], changed: Bounds, before: Sequence[Judgement]) -> tuple[Any, Any, Any]:
    """For every candidate: how many targets it mends, whether it breaks one, how much satisfaction it brings."""
    import numpy as np

    met, satisfied, applies = judge_all(targets, changed)
    was_met = np.array([one.status in KEPT for one in before], dtype=bool)
    had = np.array([one.satisfaction for one in before])
    kept = met | ~applies
    if not targets:
        nothing = np.zeros(changed.low.shape[0])
        return nothing.astype(np.int64), nothing.astype(bool), nothing
    return (kept & ~was_met).sum(axis=1), (was_met & ~kept).any(axis=1), (satisfied - had).sum(axis=1)
