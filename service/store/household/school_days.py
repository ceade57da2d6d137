"""School days: those of some days, the one of a day, and what becomes of them when a child goes."""

from datetime import date
from typing import Any
from uuid import UUID

from sqlalchemy import Connection, String, bindparam, cast, select, update

from service.store.household.kinds import SCHOOL_DAY
from service.store.household.records import Record, find_same, now_or_later
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


def forget_buyer(connection: Connection, household: UUID, child: UUID) -> None:
    """A child buys on no day any more; the days stay."""
    names = cast(school_days.c.body, String).contains(str(child), autoescape=True)
    days = select(school_days).where(school_days.c.household_id == household, names).with_for_update()
    for row in connection.execute(days).all():
        left = [one for one in row.body["buys"] if one != str(child)]
        connection.execute(
            update(school_days)
            .where(school_days.c.id == row.id)
            .values(body={**row.body, "buys": left}, version=row.version + 1, updated_at=now_or_later(school_days))
        )
