"""School days: those of some days, and the one of a day."""

from datetime import date
from typing import Any
from uuid import UUID

from sqlalchemy import Connection, bindparam, select

from service.store.household.kinds import SCHOOL_DAY
from service.store.household.records import Record, find_same
from service.store.tables import school_days

# Made once: several pages ask it.
_BODIES = (
    select(school_days.c.body)
    .where(
        school_days.c.household_id == bindparam("household"),
        school_days.c.day >= bindparam("first"),
        school_days.c.day <= bindparam("last"),
    )
    .order_by(school_days.c.day)
)


def from_day(first: date) -> Any:
    """A condition for ``records.page``: only this day or later."""
    return school_days.c.day >= first


def to_day(last: date) -> Any:
    """A condition for ``records.page``: only this day or earlier."""
    return school_days.c.day <= last


def school_day_of(connection: Connection, household: UUID, day: date) -> Record | None:
    """What a household has stored of a day, or None."""
    return find_same(connection, SCHOOL_DAY, household, {"day": day})


def bodies_of_days(connection: Connection, household: UUID, first: date, last: date) -> list[dict[str, Any]]:
    """What a household has stored of the days from one to another, in their order."""
    rows = connection.execute(_BODIES, {"household": household, "first": first, "last": last})
    return [row.body for row in rows]
