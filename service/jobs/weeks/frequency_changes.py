"""What to change next week by a standard of frequencies: up to three single changes, each judged in full.

Candidates come from the rules not kept: add a food of the group that is short, leave out or swap what is too much.
Never a food which the child or the setting must avoid or of which that is unknown; never one that breaks a rule kept.
"""

from collections.abc import Iterator, Sequence
from datetime import date
from typing import Any, NamedTuple

from service.domain.allergens.screening import Avoidance
from service.domain.foods.food import Food
from service.domain.weeks.days import school_days_of
from service.domain.weeks.frequency import (
    CountedItem,
    FrequencyDay,
    FrequencyFinding,
    FrequencyRow,
    frequency_findings,
)
from service.domain.weeks.words import weekday
from service.jobs.weeks.changes import AtHand, Told, change_row, foods_at_hand
from service.jobs.weeks.days import SchoolWeek
from service.jobs.weeks.items import counted_food
from service.jobs.weeks.requests import WeekRequest

KEPT = ("met", "not_applicable")
MOST_FOODS = 5
"""How many foods of a group are tried for one rule."""
NEVER_ADDED = frozenset({"confectionery", "snack", "fried", "pastry", "meat_product", "cake_or_biscuit"})


class Trial(NamedTuple):
    """A change: the days as they would be, in words, what family it is of, how much food moves, and a key for ties.

    ``touched``: the groups of what comes and goes.
    """

    days: tuple[FrequencyDay, ...]
    told: Told
    family: tuple[str, str]
    size_mg: int
    key: tuple[str, ...]
    touched: frozenset[str]


def frequency_changes(
    asked: WeekRequest,
    rows: Sequence[FrequencyRow],
    weeks: Sequence[SchoolWeek],
    age_group: str,
    before: Sequence[FrequencyFinding],
    avoidances: list[Avoidance],
    age_months: int,
) -> list[dict[str, Any]]:
    """The best single changes as published rows: most rules mended, most days mended, then the smallest."""
    week = weeks[-1]
    days = tuple(school_days_of(week))
    earlier = [day for one in weeks[:-1] for day in school_days_of(one)]
    packed = frozenset(day.on for day in week.days if day.kind == "packed")
    at_hand = [
        (one, tuple(counted_food(one.food, one.amount_mg, age_group)))
        for one in foods_at_hand(asked, None, avoidances, age_months)
    ]
    at_hand = [
        pair for pair in at_hand if not any(item.groups is None or item.groups & NEVER_ADDED for item in pair[1])
    ]
    found = []
    for trial in _trials(days, packed, before, at_hand, week):
        touched = [one for one in before if _touches(one.row, trial.touched)]
        now = frequency_findings([one.row for one in touched], trial.days, earlier, week.monday, asked.vegetarian)
        judged = _judged(touched, now)
        if judged is not None:
            mends, days_mended = judged
            found.append((-len(mends), -days_mended, trial.size_mg, trial.key, mends, days_mended, trial))
    found.sort(key=lambda one: one[:4])
    labels = {row.id: row.label for row in rows}
    best: list[dict[str, Any]] = []
    families: set[tuple[str, str]] = set()
    for _count, _days, _size, _key, mends, days_mended, trial in found:
        if trial.family not in families and len(best) < asked.max_changes:
            families.add(trial.family)
            best.append(change_row(trial.told, mends, [labels[one] for one in mends], days_mended))
    return best


def _touches(row: FrequencyRow, groups: frozenset[str]) -> bool:
    """Whether a rule can come out otherwise when items of these groups come or go."""
    return row.counts in groups or not groups.isdisjoint(row.beside)


def _judged(before: Sequence[FrequencyFinding], now: Sequence[FrequencyFinding]) -> tuple[tuple[str, ...], int] | None:
    """The rules mended and the days on which a daily rule is newly kept; None where a rule or a day breaks."""
    mends: list[str] = []
    days_mended = 0
    for was, is_now in zip(before, now, strict=True):
        if was.status in KEPT and is_now.status not in KEPT:
            return None
        open_before = {*was.off_days, *was.unsure_days}
        open_now = {*is_now.off_days, *is_now.unsure_days}
        if open_now - open_before:
            return None
        days_mended += len(open_before - open_now)
        if was.status not in KEPT and is_now.status in KEPT:
            mends.append(was.row.id)
    return (tuple(mends), days_mended) if mends or days_mended else None


def _trials(
    days: tuple[FrequencyDay, ...],
    packed: frozenset[date],
    before: Sequence[FrequencyFinding],
    at_hand: Sequence[tuple[AtHand, tuple[CountedItem, ...]]],
    week: SchoolWeek,
) -> Iterator[Trial]:
    for finding in before:
        row = finding.row
        if finding.status in KEPT or finding.over == 0:
            continue
        if row.at_least is not None:
            yield from _additions(days, packed, finding, at_hand)
        elif row.unit in ("items", "days"):
            yield from _without(days, packed, row, week, at_hand)


def _additions(
    days: tuple[FrequencyDay, ...],
    packed: frozenset[date],
    finding: FrequencyFinding,
    at_hand: Sequence[tuple[AtHand, tuple[CountedItem, ...]]],
) -> Iterator[Trial]:
    row = finding.row
    wanting = {*finding.off_days, *finding.unsure_days}
    fitting = [pair for pair in at_hand if any(row.counts in (item.groups or ()) for item in pair[1])]
    fitting.sort(key=lambda pair: (pair[0].amount_mg, pair[0].food.name))
    for one, items in fitting[:MOST_FOODS]:
        free = [
            place
            for place, day in enumerate(days)
            if day.on in packed
            and not any(item.name == one.food.name for item in day.items or ())
            and (row.period != "day" or day.on in wanting)
        ]
        count = len(free) if row.period == "day" else 1
        if row.unit in ("items", "days") and row.at_least is not None:
            count = max(1, row.at_least - int(finding.least))
        if 0 < count <= len(free):
            yield _trial("add", days, free[:count], None, one, items, one.amount_mg * count)


def _without(
    days: tuple[FrequencyDay, ...],
    packed: frozenset[date],
    row: FrequencyRow,
    week: SchoolWeek,
    at_hand: Sequence[tuple[AtHand, tuple[CountedItem, ...]]],
) -> Iterator[Trial]:
    foods = {item.food.name: item for day in week.days for item in day.items}
    names = dict.fromkeys(
        item.name for day in days if day.on in packed for item in day.items or () if row.counts in (item.groups or ())
    )
    for name in names:
        if name not in foods:
            continue  # a part of a dish: it cannot go alone
        item = foods[name]
        on = [
            place
            for place, day in enumerate(days)
            if day.on in packed and any(one.name == name for one in day.items or ())
        ]
        for chosen in dict.fromkeys((tuple(on), tuple(on[-1:]))):
            yield _trial("remove", days, chosen, item.food, None, (), item.amount_mg * len(chosen))
            alike = [pair for pair in at_hand if pair[0].food.category == item.food.category]
            for one, items in alike[:MOST_FOODS]:
                if not any(row.counts in (other.groups or ()) for other in items):
                    size = (item.amount_mg + one.amount_mg) * len(chosen)
                    yield _trial("swap", days, chosen, item.food, one, items, size)


def _trial(
    kind: Any,
    days: tuple[FrequencyDay, ...],
    chosen: Sequence[int],
    out: Food | None,
    into: AtHand | None,
    items: tuple[CountedItem, ...],
    size_mg: int,
) -> Trial:
    changed = list(days)
    gone_items = [
        item for place in chosen for item in days[place].items or () if out is not None and item.name == out.name
    ]
    touched = frozenset(group for item in (*items, *gone_items) for group in item.groups or ())
    for place in chosen:
        kept = tuple(item for item in days[place].items or () if out is None or item.name != out.name)
        changed[place] = FrequencyDay(days[place].on, kept + items)
    on = tuple(weekday(days[place].on) for place in chosen)
    gone, come = "" if out is None else out.name, "" if into is None else into.food.name
    told = Told(
        kind,
        None if into is None else into.food,
        out,
        on,
        None if into is None else into.amount_mg,
        None if into is None else into.quantity,
        None if into is None else into.unit,
    )
    family = (f"{kind} {gone}", "" if into is None else into.food.category)
    return Trial(tuple(changed), told, family, size_mg, (kind, gone, come, str(len(chosen))), touched)
