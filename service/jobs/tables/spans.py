"""The targets of a standard by spans of days, in all of which the same rows hold: one table for all lunches of a span."""

from __future__ import annotations

from bisect import bisect_right
from datetime import date, timedelta
from functools import lru_cache

from service.domain.lunch.compiling import compile_targets
from service.domain.lunch.standards import Standard, TargetTable


@lru_cache(maxsize=1024)
def compiled(known: Standard, group: str, span: int) -> TargetTable | None:
    """The targets of an age group in a span of days: one table for all of them; None where no row of it holds."""
    on = first_days(known)[span]
    if not any(row.age_group == group and row.in_force(on) for row in known.rows):
        return None
    return compile_targets(known, known.group(group), on)


def span_of(known: Standard, on: date) -> int:
    """Which span of days, in all of which the same rows hold, a day falls in."""
    return bisect_right(first_days(known), on) - 1


@lru_cache(maxsize=64)
def first_days(known: Standard) -> list[date]:
    """The days from which another set of rows or rules holds than the day before, in order."""
    spans = [(row.from_day, row.until_day) for row in known.rows]
    spans += [(rule.from_day, rule.until_day) for rule in known.product_rules]
    spans += [(rule.from_day, rule.until_day) for rule in known.milk_rules]
    spans += [(rule.from_day, rule.until_day) for rule in known.substitute_rules]
    ends = {until + timedelta(days=1) for _from, until in spans if until is not None}
    return sorted({first for first, _until in spans} | ends)
