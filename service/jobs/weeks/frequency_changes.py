"""What to change next week by a standard of frequencies: up to three single changes, each judged in full.

Changes come from the rules not kept: add a food of the group that is short, leave out or swap what is too much.
Never a food which the child or the setting must avoid or of which that is unknown; never one that breaks a rule kept.
"""

from collections.abc import Iterator, Sequence
from itertools import chain
from typing import Any, NamedTuple

from service.domain.allergens.screening import Avoidance
from service.domain.foods.amounts import Portion
from service.domain.lunch.changes import (
    KEPT,
    Judged,
    LunchChange,
    Move,
    Moves,
    adding,
    best_changes,
    leaving_out,
    swapping,
)
from service.domain.weeks.days import school_days_of
from service.domain.weeks.frequency import (
    CountedItem,
    FrequencyDay,
    FrequencyFinding,
    FrequencyRow,
    frequency_findings,
)
from service.jobs.foods.wishes import Wishes
from service.jobs.lunch.changes import MayHave
from service.jobs.weeks.changes import Use, uses_of, week_change_row, week_foods_at_hand, week_packets
from service.jobs.weeks.days import DayOfWeek, SchoolWeek
from service.jobs.weeks.items import counted_food, counted_items
from service.jobs.weeks.requests import WeekRequest

MOST_FOODS = 5
"""How many foods of a group are tried for one rule."""
NEVER_ADDED = frozenset({"confectionery", "snack", "fried", "pastry", "meat_product", "cake_or_biscuit"})


class AtHand(NamedTuple):
    """A food at hand and what it counts as."""

    portion: Portion
    counted: tuple[CountedItem, ...]

    def counts_for(self, row: FrequencyRow) -> bool:
        """Whether a rule counts it."""
        return any(row.counts in (item.groups or ()) for item in self.counted)


def frequency_changes(
    asked: WeekRequest,
    rows: Sequence[FrequencyRow],
    weeks: Sequence[SchoolWeek],
    age_group: str,
    before: Sequence[FrequencyFinding],
    avoidances: list[Avoidance],
    age_months: int,
    wishes: Wishes,
) -> list[dict[str, Any]]:
    """The best single changes as published rows: most rules fixed, most days fixed, then the smallest."""
    week = weeks[-1]
    earlier = [day for one in weeks[:-1] for day in school_days_of(one)]
    may_have = MayHave(None, tuple(avoidances), age_months, tuple(asked.regions), week_packets(asked))
    at_hand = [
        AtHand(one, tuple(counted_food(one.food, one.amount_mg, age_group)))
        for one in week_foods_at_hand(asked, may_have, wishes)
    ]
    at_hand = [
        one for one in at_hand if not any(item.groups is None or item.groups & NEVER_ADDED for item in one.counted)
    ]
    counted = [_counted_each(day, age_group) for day in week.days]
    coming = {id(one.portion): one.counted for one in at_hand}
    judged: list[Judged[Moves, int]] = []
    for change in _changes(week, counted, before, at_hand):
        comes = () if change.into is None else coming[id(change.into)]
        days, touched = _after(week, counted, change, comes)
        looked_at = [
            one for one in before if one.row.counts in touched or not touched.isdisjoint(one.row.accompanied_by)
        ]
        now = frequency_findings([one.row for one in looked_at], days, earlier, week.monday, asked.vegetarian)
        one = _judged(change, looked_at, now)
        if one is not None:
            judged.append(one)
    labels = {row.id: row.label for row in rows}
    on = [day.on for day in week.days]
    return [
        week_change_row(one.change, on, week, one.fixes, labels, one.after)
        for one in best_changes(judged, asked.max_changes)
    ]


def _counted_each(day: DayOfWeek, age_group: str) -> list[tuple[CountedItem, ...]]:
    """What each item of a day counts as; a dish counts as itself and its parts."""
    return [
        counted_items([one], [item], [eaten], age_group)
        for one, item, eaten in zip(day.asked.items, day.items, day.eaten_mg, strict=True)
    ]


def _after(
    week: SchoolWeek,
    counted: Sequence[Sequence[tuple[CountedItem, ...]]],
    change: LunchChange,
    comes: tuple[CountedItem, ...],
) -> tuple[list[FrequencyDay], frozenset[str]]:
    """The school days as they would be, and the groups of what comes and goes."""
    gone = {(move.day, move.item) for move in change.where if move.item is not None}
    added = [move.day for move in change.where]
    logged = {day.on: day.counted for day in week.days}
    for place in set(added):
        kept = chain.from_iterable(one for at, one in enumerate(counted[place]) if (place, at) not in gone)
        logged[week.days[place].on] = (*kept, *comes * added.count(place))
    leaving = chain.from_iterable(counted[day][item] for day, item in gone)
    touched = frozenset(group for item in (*comes, *leaving) for group in item.groups or ())
    return [FrequencyDay(on, logged.get(on)) for on in week.school_days], touched


def _judged(
    change: LunchChange, before: Sequence[FrequencyFinding], now: Sequence[FrequencyFinding]
) -> Judged[Moves, int] | None:
    """The rules fixed and the days on which a daily rule is newly kept; None where a rule or a day breaks."""
    fixes: list[str] = []
    days_fixed = 0
    for was, is_now in zip(before, now, strict=True):
        if was.status in KEPT and is_now.status not in KEPT:
            return None
        open_before = {*was.off_days, *was.unsure_days}
        open_now = {*is_now.off_days, *is_now.unsure_days}
        if open_now - open_before:
            return None
        days_fixed += len(open_before - open_now)
        if was.status not in KEPT and is_now.status in KEPT:
            fixes.append(was.row.id)
    if not fixes and not days_fixed:
        return None
    return Judged((change,), (len(fixes), days_fixed), tuple(fixes), days_fixed)


def _changes(
    week: SchoolWeek,
    counted: Sequence[Sequence[tuple[CountedItem, ...]]],
    before: Sequence[FrequencyFinding],
    at_hand: Sequence[AtHand],
) -> Iterator[LunchChange]:
    """Every change looked at, from the rules not kept."""
    uses = uses_of(week.days)
    for finding in before:
        row = finding.row
        if finding.status in KEPT or finding.over == 0:
            continue
        if row.at_least is not None:
            yield from _additions(week, counted, finding, at_hand)
        elif row.unit in ("items", "days"):
            for use in uses:
                yield from _less(use, counted, row, at_hand)


def _additions(
    week: SchoolWeek,
    counted: Sequence[Sequence[tuple[CountedItem, ...]]],
    finding: FrequencyFinding,
    at_hand: Sequence[AtHand],
) -> Iterator[LunchChange]:
    row = finding.row
    wanting = {*finding.off_days, *finding.unsure_days}
    fitting = sorted(
        (one for one in at_hand if one.counts_for(row)), key=lambda one: (one.portion.amount_mg, one.portion.food.name)
    )
    for one in fitting[:MOST_FOODS]:
        free = [
            Move(None, None, place)
            for place, day in enumerate(week.days)
            if day.kind == "packed"
            and not any(item.name == one.portion.food.name for item in chain.from_iterable(counted[place]))
            and (row.period != "day" or day.on in wanting)
        ]
        count = len(free) if row.period == "day" else 1
        if row.unit in ("items", "days") and row.at_least is not None:
            count = max(1, row.at_least - int(finding.least))
        if 0 < count <= len(free):
            yield adding(one.portion, tuple(free[:count]))


def _less(
    use: Use,
    counted: Sequence[Sequence[tuple[CountedItem, ...]]],
    row: FrequencyRow,
    at_hand: Sequence[AtHand],
) -> Iterator[LunchChange]:
    """A food that a rule counts left out or swapped, on all of its days or on the last one."""
    of_use = [item for move in use.moves if move.item is not None for item in counted[move.day][move.item]]
    if not any(item.name == use.food.name and row.counts in (item.groups or ()) for item in of_use):
        return
    alike = [one for one in at_hand if one.portion.food.category == use.food.category][:MOST_FOODS]
    last = tuple(move for move in use.moves if move.day == use.moves[-1].day)
    for moves in dict.fromkeys((use.moves, last)):
        amount_mg = sum(item.amount_mg for item in use.items[-len(moves) :])
        if all(len(counted[move.day]) > 1 for move in moves):
            yield leaving_out(use.food, moves, amount_mg)
        for one in alike:
            if not one.counts_for(row):
                yield swapping(use.food, moves, amount_mg, one.portion)
