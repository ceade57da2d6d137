"""Lunches of a child, and those of some days."""

from datetime import date
from typing import Any
from uuid import UUID

from sqlalchemy import Connection, select

from service.store.household.kinds import LUNCH
from service.store.household.records import Record, find_same
from service.store.tables import lunches


def of_child(child: UUID) -> Any:
    """A condition for ``records.page``: only this child's lunches."""
    return lunches.c.child_id == child


def from_day(first: date) -> Any:
    """A condition for ``records.page``: only lunches of this day or later."""
    return lunches.c.day >= first


def to_day(last: date) -> Any:
    """A condition for ``records.page``: only lunches of this day or earlier."""
    return lunches.c.day <= last


def lunch_of_day(connection: Connection, household: UUID, child: UUID, day: date) -> Record | None:
    """A child's lunch of a day, or None."""
    return find_same(connection, LUNCH, household, {"child_id": child, "day": day})


def bodies_of_days(
    connection: Connection, household: UUID, child: UUID, first: date, last: date
) -> list[dict[str, Any]]:
    """The lunches of one child from one day to another, in their order."""
    rows = connection.execute(
        select(LUNCH.table.c.body)
        .where(lunches.c.household_id == household, of_child(child), from_day(first), to_day(last))
        .order_by(lunches.c.day)
    )
    return [row.body for row in rows]


def kinds_of_days(connection: Connection, household: UUID, first: date, last: date) -> dict[tuple[str, date], str]:
    """By child and day what is logged of all children from one day to another: ``packed``, ``bought`` or ``none``."""
    rows = connection.execute(
        select(lunches.c.child_id, lunches.c.day, LUNCH.table.c.body).where(
            lunches.c.household_id == household, from_day(first), to_day(last)
        )
    )
    return {(str(row.child_id), row.day): row.body["kind"] for row in rows}


def bodies_before(connection: Connection, household: UUID, child: UUID, day: date, most: int) -> list[dict[str, Any]]:
    """The last lunches of one child before a day, the latest first."""
    rows = connection.execute(
        select(LUNCH.table.c.body)
        .where(lunches.c.household_id == household, of_child(child), lunches.c.day < day)
        .order_by(lunches.c.day.desc())
        .limit(most)
    )
    return [row.body for row in rows]
