"""Which single change to next week's packed lunches fixes most, all changes judged at once.

Week rows are judged on the sum of the days and daily rows on each day that a change touches, with the same bounds as
the week itself. A change that breaks a target which was met, over the week or on any one day, is never offered.
"""

from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

from service.domain.foods.amounts import add_up, sum_of
from service.domain.lunch.changing.changes import Judged, LunchChange, Moves, best_changes, columns, moved_by
from service.domain.lunch.changing.ranking import KEPT
from service.domain.lunch.changing.too_much import CLEARLY, FAR, amount_in, is_known
from service.domain.lunch.findings import Judgement, judge
from service.domain.lunch.judging_arrays import judge_all
from service.domain.lunch.standards import Target, TargetTable
from service.domain.lunch.totals_arrays import Bounds, bounds_of
from service.domain.weeks.week import (
    ABSENT,
    CountedDay,
    WeekFinding,
    WeekLengths,
    mean_targets,
    total_targets,
    week_findings,
)

LOOKED_AT_BESIDE = 3
"""How many more than asked for are judged in full, so that not all of them fix the same."""

POINTS_OF_A_TARGET = 15
"""So many points of the score by which a change is ahead of others count as one more target fixed (our choice)."""

TARGETS_OF_A_DAYS_MOST = 4
"""What a change adds on a day to what is too much over the week, as a part of the most for a day: the whole of it counts as so
many targets (our choice)."""

TARGETS_OF_ALL_TOO_MUCH = 4
"""What a change takes away of what is far too much over the week: all of it counts as so many targets, and less where less is too
much (our choice)."""


class TooMuch(NamedTuple):
    """A target of which a week has more than the most.

    ``excess``: how much more, in the parts of its row, above 0; ``far``: 1 where that is far too much, less where it is less.
    """

    target: Target
    excess: int
    far: float


JudgedWeek = Judged[Moves, int]
"""A change to a week; after it, a rule of each day is newly kept on so many days."""


def rank_week_changes(
    table: TargetTable,
    days: Sequence[CountedDay],
    school_days: int,
    lengths: WeekLengths,
    before: Sequence[WeekFinding],
    changes: Sequence[LunchChange],
    limit: int,
) -> list[JudgedWeek]:
    """The ``limit`` best single changes: most findings fixed (with what it is ahead of others, and what it takes from what is too
    much), most days fixed, then the smallest.

    Every day must know its parts. Each change is judged again in full before it is taken.

    ``school_days``: how many the week has. ``before``: what is found of the week as it is. Source: ours.
    """
    if not changes or not days or limit <= 0:
        return []

    def in_full(one: JudgedWeek) -> JudgedWeek | None:
        return _in_full(table, days, school_days, lengths, one.change, before, too_much)

    too_much = too_much_in(table, days, before)
    quick = _judged_at_once(table, days, school_days, lengths, changes, too_much)
    return best_changes(quick, limit, most_alike=1, confirmed=in_full, looked_at=limit + LOOKED_AT_BESIDE)


def too_much_in(table: TargetTable, days: Sequence[CountedDay], found: Sequence[WeekFinding]) -> list[TooMuch]:
    """What the days have more of than the most for them; only amounts with a most of their own."""
    over = {one.judgement.target.id for one in found if one.status == "over"}
    too_much = []
    for target in table.targets:
        if target.id in over and target.kind == "measure" and target.highest:
            most = target.highest * len(days)
            excess = sum(amount_in(target, day.vector) for day in days) - most
            if excess > 0:
                too_much.append(TooMuch(target, excess, min(excess / (FAR * most), 1.0)))
    return too_much


def after(days: Sequence[CountedDay], change: LunchChange) -> list[CountedDay]:
    """The days as they would be, summed anew from their items."""
    changed = list(days)
    for move in change.where:
        on, _vector, parts, _core = changed[move.day]
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
    change: LunchChange,
    was: Sequence[WeekFinding],
    too_much: Sequence[TooMuch],
) -> JudgedWeek | None:
    """The change judged by the code that judges a week; None where it breaks something or fixes nothing."""
    now = week_findings(table, after(days, change), school_days, lengths)
    fixes: list[str] = []
    days_fixed = 0
    for old, new in zip(was, now, strict=True):
        if old.status in KEPT and new.status not in KEPT:
            return None
        for (_on, one), (_same, other) in zip(old.days, new.days, strict=True):
            if one.status in KEPT and other.status not in KEPT:
                return None
            days_fixed += one.status not in KEPT and other.status in KEPT
        if old.status not in KEPT and new.status in KEPT:
            fixes.append(new.judgement.target.id)
    if not fixes and not days_fixed:
        return None
    eases = tuple(one.target.id for one in too_much if CLEARLY <= _part_taken(one, change) < 1)
    return Judged((change,), worth(change, len(fixes), days_fixed, too_much), tuple(fixes), days_fixed, eases)


def worth(change: LunchChange, fixed: int, days_fixed: int, too_much: Sequence[TooMuch] = ()) -> tuple[float, float]:
    """What a change to a week is worth: the targets or rules fixed, with what it is ahead, then the days fixed.

    ``too_much``: what the week has more of than the most.
    """
    less = sum(_less_of(one, change) for one in too_much)
    return fixed + change.ahead / POINTS_OF_A_TARGET + less, days_fixed


def _less_of(one: TooMuch, change: LunchChange) -> float:
    """As how many targets it counts that a change takes away what is too much; below 0 where it adds to it.

    Taking away counts over the week, so that it is made on as many days as it needs; adding counts on each of its days.
    """
    taken = _part_taken(one, change)
    if taken > 0:
        return TARGETS_OF_ALL_TOO_MUCH * one.far * min(taken, 1.0)
    if not change.where or not one.target.highest:
        return 0.0
    return TARGETS_OF_A_DAYS_MOST * taken * one.excess / (one.target.highest * len(change.where))


def _part_taken(one: TooMuch, change: LunchChange) -> float:
    """Which part of what is too much a change takes away; below 0 where it adds to it, 0 where what comes in has no figure."""
    if not all(is_known(one.target, move.into) for move in change.where if move.into is not None):
        return 0.0
    moved = sum(
        amount_in(one.target, vector) * sign
        for move in change.where
        for vector, sign in ((move.out, 1), (move.into, -1))
        if vector is not None
    )
    return moved / one.excess


def _judged_at_once(
    table: TargetTable,
    days: Sequence[CountedDay],
    school_days: int,
    lengths: WeekLengths,
    changes: Sequence[LunchChange],
    too_much: Sequence[TooMuch],
) -> Iterator[JudgedWeek]:
    """The changes that break nothing and fix something."""
    import numpy as np

    amounts, shares = total_targets(table, school_days, lengths)
    over_days = [*mean_targets(table, len(days)), *shares]
    firm = [target for target in table.targets if target.firm]
    moved = moved_by(changes)
    items = columns(bounds_of([part for day in days for part in day.parts]))
    firsts = np.cumsum([0] + [len(day.parts) for day in days[:-1]])
    each_day = [np.add.reduceat(part, firsts, axis=0) for part in items]
    week = Bounds(
        *(part.sum(axis=0) + np.add.reduceat(by, moved.first, axis=0) for part, by in zip(items, moved.by, strict=True))
    )
    day_after = Bounds(*(part[moved.day] + by for part, by in zip(each_day, moved.by, strict=True)))
    absent = school_days - len(days)
    whole = Bounds(week.low, week.high, week.unbounded + absent, week.nominal)
    known_before = add_up([day.vector for day in days])
    whole_before = add_up([day.vector for day in days] + [ABSENT] * absent)
    fixed, broken = _compared(over_days, week, [judge(t, known_before) for t in over_days])
    more, also_broken = _compared(amounts, whole, [judge(t, whole_before) for t in amounts])
    kept, _satisfied, _applies = judge_all(firm, day_after)
    totals = [add_up([day.vector]) for day in days]
    was = np.array([[judge(target, total).status in KEPT for target in firm] for total in totals], dtype=bool).reshape(
        len(days), len(firm)
    )
    day_broken = (was[moved.day] & ~kept).any(axis=1)
    broken |= also_broken | (np.add.reduceat(day_broken.astype(np.int64), moved.first) > 0)
    newly = np.add.reduceat((~was[moved.day] & kept).astype(np.int64), moved.first, axis=0)
    failing = (~was).sum(axis=0)
    fixed = fixed + more + ((newly == failing) & (failing > 0)).sum(axis=1)
    days_fixed = newly.sum(axis=1)
    for place, change in enumerate(changes):
        if not broken[place] and (fixed[place] or days_fixed[place]):
            number, on_days = int(fixed[place]), int(days_fixed[place])
            yield Judged((change,), worth(change, number, on_days, too_much), (), on_days)


def _compared(targets: Sequence[Target], changed: Bounds, before: Sequence[Judgement]) -> tuple[Any, Any]:
    """For every change: how many targets it fixes, and whether it breaks one."""
    import numpy as np

    kept, _satisfied, _applies = judge_all(targets, changed)
    was_kept = np.array([one.status in KEPT for one in before], dtype=bool)
    return (kept & ~was_kept).sum(axis=1), (was_kept & ~kept).any(axis=1)
