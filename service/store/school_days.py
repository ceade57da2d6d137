"""School days: what is set out and what the school serves on a day."""

from datetime import date
from typing import Any
from uuid import UUID

from sqlalchemy import Connection, select

from service.store.kinds import SCHOOL_DAY
from service.store.records import Record, find_same
from service.store.tables import school_days


def school_day_on(connection: Connection, household: UUID, day: date) -> Record | None:
    """What a household stores of a day, or None."""
    return find_same(connection, SCHOOL_DAY, household, {"day": day})


def school_days_between(connection: Connection, household: UUID, first: date, last: date) -> list[dict[str, Any]]:
    """The bodies of the days from one to another, in their order."""
    table = SCHOOL_DAY.table
    rows = connection.execute(
        select(table.c.body)
        .where(table.c.household_id == household, school_days.c.day >= first, school_days.c.day <= last)
        .order_by(school_days.c.day)
    )
    return [row.body for row in rows]
