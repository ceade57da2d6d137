"""The prices that matter for some days."""

from datetime import date, timedelta
from typing import Any
from uuid import UUID

from sqlalchemy import Connection, Row, select

from service.store.tables import prices


def prices_of(connection: Connection, household: UUID, what: str) -> list[UUID]:
    """The ids of all prices of one thing."""
    query = select(prices.c.id).where(prices.c.household_id == household, prices.c.what == what)
    return list(connection.execute(query.order_by(prices.c.id)).scalars())


def bodies_of_prices(connection: Connection, household: UUID, first: date, last: date) -> list[dict[str, Any]]:
    """The prices that hold on any day from one to another, oldest first, in whatever currency.

    Of each pack and meal: the price that held on the first day, and every later one up to the last day.
    """
    query = (
        select(prices.c.what, prices.c.from_day, prices.c.body)
        .where(prices.c.household_id == household, prices.c.from_day <= last)
        .order_by(prices.c.from_day, prices.c.id)
    )
    rows = connection.execute(query).all()
    replaced: dict[str, date] = {}
    held: list[dict[str, Any]] = []
    for row in reversed(rows):
        if _last_day(row, replaced.get(row.what)) >= first:
            held.append(row.body)
        replaced[row.what] = row.from_day
    return held[::-1]


def _last_day(row: Row[Any], replaced_on: date | None) -> date:
    """The last day on which a price holds; the last of all days where it holds on."""
    ends = row.body["until"]
    last = date.max if ends is None else date.fromisoformat(ends)
    return last if replaced_on is None else min(last, replaced_on - timedelta(days=1))
