"""Lunches of a child, and those of some days."""

from datetime import date
from typing import Any
from uuid import UUID

from sqlalchemy import Connection, select

from service.store.kinds import LUNCH
from service.store.tables import lunches


def of_child(child: UUID) -> Any:
    """A condition for ``records.page``: only this child's lunches."""
    return lunches.c.child_id == child


def of_days(first: date, last: date) -> Any:
    """A condition for ``records.page``: only lunches from one day to another, both included."""
    return lunches.c.day.between(first, last)


def bodies_of_days(
    connection: Connection, household: UUID, child: UUID, first: date, last: date
) -> list[dict[str, Any]]:
    """The lunches of one child from one day to another, in their order."""
    rows = connection.execute(
        select(LUNCH.table.c.body)
        .where(lunches.c.household_id == household, of_child(child), of_days(first, last))
        .order_by(lunches.c.day)
    )
    return [row.body for row in rows]
