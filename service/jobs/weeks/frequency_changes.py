"""What to change next week by a standard of frequencies: up to three single changes, each judged in full.

Changes come from the rules not kept: add one portion of what is short on a day that lacks it, leave out, swap or make smaller
what is too much. Never a food which the child or the setting must avoid or of which that is unknown; never one that
breaks a rule kept.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import chain
from typing import Any, NamedTuple

from service.domain.errors import LunchError
from service.domain.foods.amounts import Portion, amount_mg_of
from service.domain.lunch.changing.changes import (
    Judged,
    LunchChange,
    Move,
    Moves,
    adding,
    best_changes,
    leaving_out,
    portioning,
    swapping,
)
from service.domain.lunch.changing.ranking import KEPT
from service.domain.measures import THOUSANDTHS
from service.domain.weeks.changes import worth
from service.domain.weeks.days import school_days_of
from service.domain.weeks.frequency import (
    CountedItem,
    FrequencyDay,
    FrequencyFinding,
    FrequencyRow,
    frequency_findings,
)
from service.domain.weeks.judging import FrequencyRules
from service.jobs.weeks.changes import NEVER_LESS, NextWeek, Use, uses_of, week_change_row
from service.jobs.weeks.days import DayOfWeek, SchoolWeek
from service.jobs.weeks.items import counted_food, counted_items
from service.reference.foods.suggesting import suggesting

MOST_FOODS = 5
"""How many foods of a group are tried for one rule."""
NEVER_ADDED = frozenset({"confectionery", "snack", "fried", "pastry", "meat_product", "cake_or_biscuit"})
SERVED_ALONE = frozenset({"fruit", "fruit_dessert", "juice"})
"""Groups for which no dish is added that only has some of it inside: raisins in a snack mix are not a portion of fruit."""

Counted = tuple[CountedItem, ...]
Candidate = tuple[LunchChange, Counted]
"""A change, and what comes in with it counts as, on each of its days."""


class Week(NamedTuple):
    """The week that changes are looked for in: what each item of each day counts as, and what the rules say."""

    make: NextWeek
    counted: Sequence[Sequence[Counted]]
    findings: Sequence[FrequencyFinding]
    age_group: str

    @property
    def days(self) -> Sequence[DayOfWeek]:
        """Its days, as logged."""
        return self.make.week.days

    def open_rules(self, day: DayOfWeek, groups: frozenset[str]) -> int:
        """How many rules of each day a day does not keep that speak of some groups."""
        return sum(day.on in one.off_days and one.row.counts in groups for one in self.findings)


def frequency_changes(
    make: NextWeek,
    rules: FrequencyRules,
    weeks: Sequence[SchoolWeek],
    age_group: str,
    before: Sequence[FrequencyFinding],
) -> list[dict[str, Any]]:
    """The best single changes as published rows: most rules fixed, most days fixed, then the smallest."""
    earlier = [day for one in weeks[:-1] for day in school_days_of(one)]
    week = Week(make, [_counted_each(day, age_group) for day in make.week.days], before, age_group)
    judged: list[Judged[Moves, int]] = []
    for looked_for, comes in _changes(week):
        change = replace(looked_for, ahead=make.ahead(looked_for, week.days))
        days, touched = _after(week, change, comes)
        looked_at = [
            one for one in before if one.row.counts in touched or not touched.isdisjoint(one.row.accompanied_by)
        ]
        now = frequency_findings([one.row for one in looked_at], days, earlier, make.week.monday, rules.vegetarian)
        one = _judged(change, looked_at, now)
        if one is not None:
            judged.append(one)
    labels = {row.id: row.label for row in rules.rows}
    on = [day.on for day in make.week.days]
    return [
        week_change_row(one.change, on, make, one.fixes, labels, one.after)
        for one in best_changes(judged, make.asked.max_changes, most_alike=1)
    ]


def _counted_each(day: DayOfWeek, age_group: str) -> list[Counted]:
    """What each item of a day counts as; a dish counts as itself and its parts."""
    return [
        counted_items([one], [item], [eaten], age_group)
        for one, item, eaten in zip(day.asked.items, day.items, day.eaten_mg, strict=True)
    ]


def _after(week: Week, change: LunchChange, comes: Counted) -> tuple[list[FrequencyDay], frozenset[str]]:
    """The school days as they would be, and the groups of what comes and goes."""
    gone = {(move.day, move.item) for move in change.where if move.item is not None}
    added = [move.day for move in change.where]
    logged = {day.on: day.counted for day in week.days}
    for place in set(added):
        kept = chain.from_iterable(one for at, one in enumerate(week.counted[place]) if (place, at) not in gone)
        logged[week.days[place].on] = (*kept, *comes * added.count(place))
    leaving = chain.from_iterable(week.counted[day][item] for day, item in gone)
    touched = frozenset(group for item in (*comes, *leaving) for group in item.groups or ())
    return [FrequencyDay(on, logged.get(on)) for on in week.make.week.school_days], touched


def _judged(
    change: LunchChange, before: Sequence[FrequencyFinding], now: Sequence[FrequencyFinding]
) -> Judged[Moves, int] | None:
    """The rules fixed and the days on which one is newly kept; None where a rule or a day breaks.

    What is too much over the week is put right on the days it goes, though a day that nobody logged leaves the rule open.
    """
    fixes: list[str] = []
    days_fixed = eased = 0
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
        elif was.status == "over" and is_now.status == "unknown" and was.row.period != "day":
            eased += 1
            days_fixed += len({move.day for move in change.where})
    if not fixes and not days_fixed:
        return None
    return Judged((change,), worth(change, len(fixes) + eased, days_fixed), tuple(fixes), days_fixed)


def _changes(week: Week) -> Iterator[Candidate]:
    """Every change looked at, from the rules not kept."""
    uses = uses_of(week.days, week.make.edited)
    for finding in week.findings:
        row = finding.row
        if finding.status in KEPT or finding.over == 0:
            continue
        if row.at_least is not None:
            yield from _additions(week, finding)
            if row.unit == "portions":
                for use in uses:
                    yield from _portions(week, use, finding, more=True)
        elif row.at_most is not None:
            for use in uses:
                yield from _less(week, use, finding)


def _additions(week: Week, finding: FrequencyFinding) -> Iterator[Candidate]:
    """One portion of a food of the group that is short, on the days that lack it most."""
    row = finding.row
    tried = 0
    fitting = [
        (one, counted) for one, counted in (_one_portion(week, one, row) for one in week.make.at_hand) if counted
    ]
    for one, counted in sorted(fitting, key=lambda pair: (pair[0].amount_mg, pair[0].food.name)):
        free = _free_days(week, finding, one, counted)
        need = len(free)
        if row.unit in ("items", "days") and row.at_least is not None:
            need = max(1, row.at_least - int(finding.least))
        if not 0 < need <= len(free) or tried == MOST_FOODS:
            continue
        tried += 1
        counts = range(1, need + 1) if row.period == "day" else [1 if row.unit == "kinds" else need]
        for count in counts:
            yield adding(one, tuple(sorted(free[:count], key=lambda move: move.day))), counted


def _one_portion(week: Week, one: Portion, row: FrequencyRow) -> tuple[Portion, Counted]:
    """A food in an amount that is a whole portion for a rule, and what it counts as; nothing where it does not count."""
    usual = counted_food(one.food, one.amount_mg, week.age_group)
    counted = tuple(usual)
    mine = [item for item in counted if row.counts in (item.groups or ())]
    if row.counts in SERVED_ALONE:
        mine = [item for item in mine if item.served]
    if not mine or any(item.groups is None or item.groups & NEVER_ADDED for item in counted):
        return one, ()
    if row.unit != "portions" or _portions_of(counted, row) >= THOUSANDTHS:
        return one, counted
    for quantity in suggesting().other_quantities(one.food, one.quantity, one.unit, week.make.may_have.age_months):
        if quantity > one.quantity:
            larger = _in_quantity(one, quantity)
            counted = () if larger is None else tuple(counted_food(one.food, larger.amount_mg, week.age_group))
            if larger is not None and _portions_of(counted, row) >= THOUSANDTHS:
                return larger, counted
    return one, ()


def _portions_of(counted: Counted, row: FrequencyRow) -> int:
    return sum(item.portions.get(row.counts, 0) for item in counted)


def _in_quantity(one: Portion, quantity: float) -> Portion | None:
    try:
        amount_mg = amount_mg_of(one.food, round(quantity * THOUSANDTHS), one.unit)
    except LunchError:
        return None  # a portion too large or too small to be an item is not a candidate
    return one._replace(amount_mg=amount_mg, quantity=quantity)


def _free_days(week: Week, finding: FrequencyFinding, one: Portion, counted: Counted) -> list[Move]:
    """The days a food may be added on: first those that keep fewest of the rules it serves, then those without its group."""
    row = finding.row
    groups = frozenset(group for item in counted for group in item.groups or ())
    wanting = {*finding.off_days, *finding.unsure_days}
    there = {
        place: {group for item in chain.from_iterable(week.counted[place]) for group in item.groups or ()}
        for place in range(len(week.days))
    }
    free = [
        place
        for place, day in enumerate(week.days)
        if day.kind == "packed"
        and not any(item.food.name == one.food.name for item in day.items)
        and week.make.goes_with(one.food, day)
        and (row.period != "day" or day.on in wanting)
        and (row.unit != "days" or row.counts not in there[place])
    ]
    free.sort(key=lambda place: (-week.open_rules(week.days[place], groups), row.counts in there[place], place))
    return [Move(None, None, place) for place in free]


def _less(week: Week, use: Use, finding: FrequencyFinding) -> Iterator[Candidate]:
    """A food that a rule counts left out or swapped, on as few days as will do, or packed in a smaller portion."""
    row = finding.row
    if row.unit in ("grams_each", "ml_each"):
        yield from _portions(week, use, finding, more=False)
    moves = [move for move in use.moves if move.item is not None and _counts(week, move, use, row)]
    if row.period == "day":
        moves = [move for move in moves if week.days[move.day].on in finding.off_days]
    for count in range(1, len(moves) + 1):
        some = tuple(moves[-count:])
        amount_mg = sum(item.amount_mg for move, item in zip(use.moves, use.items, strict=True) if move in some)
        if all(len(week.counted[move.day]) > 1 for move in some):
            yield leaving_out(use.food, some, amount_mg), ()
        tried = 0
        for one in week.make.at_hand:
            counted = tuple(counted_food(one.food, one.amount_mg, week.age_group))
            if (
                tried < MOST_FOODS
                and one.food.category == use.food.category
                and not any(item.groups is None or item.groups & (NEVER_ADDED | {row.counts}) for item in counted)
                and all(week.make.goes_with(one.food, week.days[move.day], (move.item or 0,)) for move in some)
            ):
                tried += 1
                yield swapping(use.food, some, amount_mg, one), counted


def _counts(week: Week, move: Move, use: Use, row: FrequencyRow) -> bool:
    """Whether an item itself, not only a part of it, is what a rule counts."""
    items = () if move.item is None else week.counted[move.day][move.item]
    return any(item.name == use.food.name and row.counts in (item.groups or ()) for item in items)


def _portions(week: Week, use: Use, finding: FrequencyFinding, *, more: bool) -> Iterator[Candidate]:
    """Another portion of a food on the days that do not keep a rule of each day; those packed alike are changed alike."""
    if use.came_back or not (week.make.more_of(use) if more else use.food.category not in NEVER_LESS):
        return
    alike: dict[tuple[float, str], list[tuple[Move, int]]] = {}
    for place, (move, item) in enumerate(zip(use.moves, use.items, strict=True)):
        if week.days[move.day].on in finding.off_days and _counts(week, move, use, finding.row):
            alike.setdefault((item.quantity, item.unit), []).append((move, place))
    for (quantity, unit), on in alike.items():
        item = use.items[on[0][1]]
        for other in suggesting().other_quantities(use.food, quantity, unit, week.make.may_have.age_months):
            if (other > quantity) != more:
                continue
            into = _in_quantity(Portion(use.food, 0, quantity, unit, item.form, item.option), other)
            if into is None:
                continue
            first = on[0][0]
            asked = week.days[first.day].asked.items[first.item or 0]
            comes = counted_items([asked], [item], [into.amount_mg], week.age_group)
            size = abs(into.amount_mg - item.amount_mg) * len(on)
            moves = tuple(move for move, _place in on)
            times = round(other / quantity, 3)
            yield portioning(use.food, moves, size, into, other, more=more, times=times), comes
