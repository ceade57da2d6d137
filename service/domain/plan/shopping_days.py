"""On which days to shop, so that nothing is older on its day than it keeps: the fewest days."""

from collections.abc import Collection, Iterable, Sequence
from datetime import date, timedelta
from typing import NamedTuple


class Wanted(NamedTuple):
    """Something that is wanted on a day and keeps so many days from the day it is bought; None: as long as is planned here."""

    on: date
    keeps: int | None


def shopping_days(wanted: Iterable[Wanted], first: date, others: Collection[date] = ()) -> tuple[date, ...]:
    """The first day and the fewest further ones from which everything is fresh on its day.

    ``others``: the days on which one can shop besides the first; empty: any day. What no such day can bring fresh asks for
    none. Method: the least number of points that meet every interval (take the earliest end first). Source: common practice.

    >>> monday = date(2026, 11, 30)
    >>> [day.day for day in shopping_days([Wanted(date(2026, 12, 4), 3)], monday)]
    [30, 3]
    """
    days = [first]
    spans = []
    for one in wanted:
        begin, end = span_of(one, first)
        if begin > first:
            spans.append((end, begin))
    for end, begin in sorted(spans):
        if any(begin <= day <= end for day in days):
            continue
        fit = [day for day in others if begin <= day <= end] if others else [end]
        if fit:
            days.append(max(fit))
    return tuple(sorted(days))


def span_of(one: Wanted, first: date) -> tuple[date, date]:
    """The days on which a thing can be bought, the earliest and the last: the evening before, or that day where it keeps none."""
    if one.keeps is None:
        return first, max(first, one.on)
    begin = max(first, one.on - timedelta(days=one.keeps))
    return begin, max(begin, one.on - timedelta(days=1))


def bought_on(one: Wanted, days: Sequence[date]) -> tuple[date, bool]:
    """The day to buy a thing, the earliest on which it is still fresh, and whether it is; else the last day before it is wanted.

    ``days``: in order, the first of them not after the day it is wanted.
    """
    begin, end = span_of(one, days[0])
    for day in days:
        if begin <= day <= end:
            return day, True
    before = [day for day in days if day <= one.on]
    return (before or [days[0]])[-1], False
