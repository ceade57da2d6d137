"""A standard of frequencies and portions: how often, how many kinds, how large a portion, over a day or a week.

What an item counts as is a set of food groups. An item whose groups nobody said, and a school day without items, may
count as anything: a count is an interval, and a rule is met only if the whole interval keeps it. Portions are whole
thousandths.
"""

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from typing import Literal, NamedTuple

from service.domain.lunch.findings import Status
from service.domain.measures import THOUSANDTHS
from service.domain.messages import Message, message
from service.domain.weeks.words import count_message, with_notes

Unit = Literal["portions", "items", "days", "kinds", "grams_each", "ml_each", "accompanied", "kitchen"]
Period = Literal["day", "week", "three_weeks"]
ForWhom = Literal["everyone", "vegetarian", "not_vegetarian"]


class FrequencyRow(NamedTuple):
    """One rule: what it counts, in what unit, over what period, and its bounds."""

    id: str
    label: str
    counts: str
    unit: Unit
    period: Period
    at_least: int | None
    at_most: int | None
    whole_day: bool
    kitchen_only: str
    accompanied_by: tuple[str, ...]
    for_whom: ForWhom
    age_groups: frozenset[str]
    from_day: date
    until_day: date | None
    source: str
    status: str


class CountedItem(NamedTuple):
    """One item of a day: its groups (None: nobody said), its kind, weight, and thousandths of a portion by group.

    ``served``: False for a part of a dish, which is not a portion by itself; ``amount_ul``: what a drink measures.
    """

    name: str
    groups: frozenset[str] | None
    kind: str
    amount_mg: int
    portions: Mapping[str, int]
    served: bool = True
    amount_ul: int = 0


class FrequencyDay(NamedTuple):
    """A school day: its items, or None where nobody said what was eaten."""

    on: date
    items: tuple[CountedItem, ...] | None


class FrequencyFinding(NamedTuple):
    """What a rule of frequencies says: the count's interval (``most`` None: no end), the days it failed on."""

    row: FrequencyRow
    status: Status
    least: float
    most: float | None
    over: int
    off_days: tuple[date, ...]
    unsure_days: tuple[date, ...]
    seen: tuple[str, ...]
    """Names of the items that counted."""
    reason: Message | None = None
    """Why it is not judged."""


def frequency_findings(
    rows: Sequence[FrequencyRow],
    days: Sequence[FrequencyDay],
    earlier: Sequence[FrequencyDay],
    monday: date,
    vegetarian: bool,
) -> list[FrequencyFinding]:
    """Every rule over the school days of a week.

    ``earlier``: school days of the weeks before, for rules over three weeks; a week with no days there is unknown.

    ``days``: the school days of the week, in any order; ``monday``: its first day. Source: beside each row.

    >>> from datetime import date
    >>> fish = FrequencyRow(
    ...     "oily-fish", "oily fish", "oily_fish", "days", "week", 1, None, False, "", (), "everyone", frozenset(),
    ...     date(2015, 1, 1), None, "", "proposed",
    ... )
    >>> sardines = CountedItem("sardines", frozenset({"oily_fish"}), "sardine", 60_000, {})
    >>> monday = date(2026, 11, 23)
    >>> frequency_findings([fish], [FrequencyDay(monday, (sardines,))], (), monday, False)[0].status
    'met'
    >>> frequency_findings([fish], [FrequencyDay(monday, None)], (), monday, False)[0].status  # nobody said
    'unknown'
    """
    ordered = sorted(days, key=lambda day: day.on)
    return [_finding(row, ordered, earlier, monday, vegetarian) for row in rows]


def _finding(
    row: FrequencyRow, days: Sequence[FrequencyDay], earlier: Sequence[FrequencyDay], monday: date, vegetarian: bool
) -> FrequencyFinding:
    over = sum(day.items is not None for day in days)
    if row.unit == "kitchen":
        return _not_applicable(row, over, message("frequency.kitchen-why", why=row.kitchen_only))
    if (row.for_whom == "vegetarian" and not vegetarian) or (row.for_whom == "not_vegetarian" and vegetarian):
        if row.for_whom == "vegetarian":
            return _not_applicable(row, over, message("frequency.for-vegetarians"))
        return _not_applicable(row, over, message("frequency.not-for-vegetarians"))
    if not days:
        return _not_applicable(row, 0, message("frequency.no-school-day"))
    if over == 0:
        return FrequencyFinding(row, "unknown", 0, None, 0, (), tuple(day.on for day in days), ())
    if row.period == "day":
        return _each_day(row, days, over)
    if row.period == "three_weeks":
        days = _three_weeks(days, earlier, monday)
    least, most = _count(row, days)
    seen = tuple(dict.fromkeys(item.name for day in days for item in day.items or () if _counts(row, item)))
    return FrequencyFinding(row, _status(row, least, most), least, most, over, (), (), seen)


def _not_applicable(row: FrequencyRow, over: int, reason: Message) -> FrequencyFinding:
    return FrequencyFinding(row, "not_applicable", 0, 0, over, (), (), (), reason)


def _three_weeks(days: Sequence[FrequencyDay], earlier: Sequence[FrequencyDay], monday: date) -> Sequence[FrequencyDay]:
    """The days of this week and the two before it; a week nobody logged stands as one day without items."""
    found = list(days)
    for back in (1, 2):
        first = monday - timedelta(weeks=back)
        week = [day for day in earlier if first <= day.on < first + timedelta(days=7)]
        found += week or [FrequencyDay(first, None)]
    return found


def _counts(row: FrequencyRow, item: CountedItem) -> bool:
    return item.groups is not None and row.counts in item.groups


def _count(row: FrequencyRow, days: Sequence[FrequencyDay]) -> tuple[float, float | None]:
    """The least and the most (None: no end) that a week's count can be."""
    unsure = [day for day in days if day.items is None or any(item.groups is None for item in day.items)]
    if row.unit == "days":
        sure = [day for day in days if any(_counts(row, item) for item in day.items or ())]
        maybe = [day for day in unsure if day not in sure]
        # A day without items is one day at most; in a rule over three weeks it may stand for a whole week.
        endless = any(day.items is None for day in maybe) and row.period == "three_weeks"
        return len(sure), None if endless else len(sure) + len(maybe)
    items = [item for day in days for item in day.items or () if _counts(row, item)]
    if row.unit == "kinds":
        least = float(len({item.kind for item in items}))
    elif row.unit == "items":
        least = float(len(items))
    else:
        least = sum(item.portions[row.counts] for item in items) / THOUSANDTHS
    return least, None if unsure else least


def _status(row: FrequencyRow, least: float, most: float | None) -> Status:
    if row.at_most is not None:
        if least > row.at_most:
            return "over"
        if most is None or most > row.at_most:
            return "unknown"
    if row.at_least is not None:
        if most is not None and most < row.at_least:
            return "short"
        if least < row.at_least:
            return "unknown"
    return "met"


def _each_day(row: FrequencyRow, days: Sequence[FrequencyDay], over: int) -> FrequencyFinding:
    """A rule of each day, over the days that have items: the most serious of what they came to."""
    off: list[date] = []
    unsure: list[date] = []
    worst: Status = "not_applicable"
    least: float | None = None
    seen: list[str] = []
    rank: dict[Status, int] = {"not_applicable": 0, "met": 1, "unknown": 2, "short": 3, "over": 3}
    for day in days:
        # Neither a breach nor a proof: the finding says over how many days it was judged.
        if day.items is None:
            continue
        status, amount = _one_day(row, day)
        if amount is not None:
            larger = row.at_most is not None
            least = amount if least is None else (max if larger else min)(least, amount)
        if status in ("short", "over"):
            off.append(day.on)
        elif status == "unknown":
            unsure.append(day.on)
        if rank[status] > rank[worst]:
            worst = status
        seen += [item.name for item in day.items if _counts(row, item)]
    reason = message("frequency.nothing-eaten") if worst == "not_applicable" else None
    most = None if unsure else least or 0
    return FrequencyFinding(
        row, worst, least or 0, most, over, tuple(off), tuple(unsure), tuple(dict.fromkeys(seen)), reason
    )


def _one_day(row: FrequencyRow, day: FrequencyDay) -> tuple[Status, float | None]:
    items = day.items or ()
    unsure = any(item.groups is None for item in items)
    if row.unit == "accompanied":
        if not any(_counts(row, item) for item in items):
            return ("unknown" if unsure else "not_applicable"), None
        accompanied_by = any(item.groups is not None and item.groups & set(row.accompanied_by) for item in items)
        return ("met" if accompanied_by else "unknown" if unsure else "short"), None
    if row.unit in ("grams_each", "ml_each"):
        sizes = [
            (item.amount_ul if row.unit == "ml_each" else item.amount_mg) / THOUSANDTHS
            for item in items
            if item.served and _counts(row, item)
        ]
        if not sizes:
            return ("unknown" if unsure else "not_applicable"), None
        most = max(sizes)
        return _status(row, most, None if unsure else most), most
    least, most_count = _count(row, [day])
    return _status(row, least, most_count), least


def wanted_message(row: FrequencyRow) -> Message:
    """What a rule asks for: "at least 1 portion a day", "none".

    Source of the figures: the row.
    """
    unit = row.unit
    if unit == "accompanied":
        return message("frequency.accompanied")
    if unit == "kitchen":
        return message("frequency.kitchen")
    if row.at_most == 0:
        return message("frequency.none")
    if unit in ("grams_each", "ml_each"):
        return message("frequency.portion-size", at_most=row.at_most, unit=unit)
    if row.at_least is not None:
        return message("frequency.at-least", at_least=row.at_least, unit=unit, period=row.period)
    return message("frequency.at-most", at_most=row.at_most, unit=unit, period=row.period)


def frequency_message(finding: FrequencyFinding, notes: Sequence[Message]) -> Message:
    """Say one finding; ``notes``: which days were not counted."""
    row = finding.row
    label, asked = row.label, wanted_message(row)
    if finding.reason is not None:
        return message("frequency.not-judged", label=label, reason=finding.reason)
    notes = [message("frequency.whole-day"), *notes] if row.whole_day else list(notes)
    off = [on.isoformat() for on in finding.off_days]
    unsure = [on.isoformat() for on in finding.unsure_days]
    if finding.over == 0:
        said = message("frequency.no-items", label=label, wanted=asked)
    elif row.period == "day":
        if off and unsure:
            said = message("frequency.off-and-unsure", label=label, off=off, unsure=unsure, wanted=asked)
        elif off:
            said = message("frequency.off", label=label, off=off, wanted=asked)
        elif unsure:
            said = message("frequency.unsure", label=label, unsure=unsure, wanted=asked)
        else:
            said = message("frequency.kept-daily", label=label, days=finding.over, wanted=asked)
    else:
        count = count_message(finding.least, finding.most, row.unit)
        if finding.status == "unknown":
            said = message("frequency.count-unknown", label=label, count=count, wanted=asked)
        else:
            said = message("frequency.count", label=label, count=count, wanted=asked)
    return with_notes(said, notes)
