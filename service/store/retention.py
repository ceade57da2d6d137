"""What is older than a household wants is removed: lunches, school days, and entries of the stock that are used up.

It is moved to where it can be put back from (``removed_records``). Which day counts is decided by who calls, not by the clock.
"""

from calendar import monthrange
from datetime import UTC, date, datetime
from typing import Any
from uuid import UUID

from sqlalchemy import Connection, Table, func, select

from service.store.kept_replies import forget_replies_naming
from service.store.removed_records import set_aside
from service.store.tables import lunches, school_days, stock, stock_events

DEFAULT_MONTHS = 13
"""Months that a lunch is kept where the household says nothing: the same month of last year can still be looked at."""


def retention_months(body: dict[str, Any]) -> int:
    """How many months a household stores its lunches."""
    return int(body.get("retention_months", DEFAULT_MONTHS))


def first_day_kept(today: date, months: int) -> date:
    """The day so many calendar months before; the last of its month where that month is shorter."""
    year, month = divmod(today.year * 12 + today.month - 1 - months, 12)
    return date(year, month + 1, min(today.day, monthrange(year, month + 1)[1]))


def count_lunches_before(connection: Connection, household: UUID, day: date) -> int:
    """How many lunches of the days before one a household stores."""
    return count_before(connection, household, day)["lunches"]


def count_before(connection: Connection, household: UUID, day: date) -> dict[str, int]:
    """How many records of each kind a household stores that are removed where a day is the first that is kept."""
    return {
        str(table.name): int(connection.execute(select(func.count()).select_from(table).where(*where)).scalar_one())
        for table, where in _before(household, day)
    }


def remove_before(connection: Connection, household: UUID, day: date, removed_on: date) -> dict[str, int]:
    """Remove the records from before a day, and the replies that tell of the lunches; how many of each kind.

    ``removed_on``: the day from which on they can be put back for a while.
    """
    counts = {}
    for table, where in _before(household, day):
        if table is stock:
            of_entries = stock_events.c.stock_id.in_(select(stock.c.id).where(*where))
            set_aside(connection, stock_events, [of_entries], removed_on)
        gone = set_aside(connection, table, where, removed_on)
        if table is lunches:
            forget_replies_naming(connection, household, gone)
        counts[str(table.name)] = len(gone)
    return counts


def _before(household: UUID, day: date) -> list[tuple[Table, list[Any]]]:
    """The tables that old records are removed from, and which of them are old: of the stock what was used up before."""
    long_ago = datetime(day.year, day.month, day.day, tzinfo=UTC)
    return [
        (lunches, [lunches.c.household_id == household, lunches.c.day < day]),
        (school_days, [school_days.c.household_id == household, school_days.c.day < day]),
        (
            stock,
            [stock.c.household_id == household, stock.c.updated_at < long_ago, stock.c.body["grams"].as_float() == 0],
        ),
    ]
