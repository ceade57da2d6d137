"""What is kept too long is removed: lunches older than the household's retention says."""

from calendar import monthrange
from datetime import UTC, date, datetime
from typing import Any
from uuid import UUID

from sqlalchemy import Connection, delete, func, select

from service.store.household.records import now
from service.store.kept_replies import KEPT, forget_replies_naming
from service.store.tables import kept_replies, lunches, stock

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
    query = select(func.count()).select_from(lunches).where(lunches.c.household_id == household, lunches.c.day < day)
    return int(connection.execute(query).scalar_one())


def remove_lunches_before(connection: Connection, household: UUID, day: date) -> int:
    """Remove a household's lunches of the days before one, and the replies that tell of them; how many."""
    old = (lunches.c.household_id == household, lunches.c.day < day)
    just_logged = select(lunches.c.id).where(*old, lunches.c.created_at > now() - KEPT)
    for lunch in connection.execute(just_logged).scalars().all():
        forget_replies_naming(connection, household, lunch)
    return connection.execute(delete(lunches).where(*old)).rowcount


def remove_used_up_stock_before(connection: Connection, household: UUID, day: date) -> int:
    """Remove the entries of the stock of which nothing is left since before a day, with their events; how many."""
    long_ago = datetime(day.year, day.month, day.day, tzinfo=UTC)
    used_up = (stock.c.household_id == household, stock.c.updated_at < long_ago, stock.c.body["grams"].as_float() == 0)
    return connection.execute(delete(stock).where(*used_up)).rowcount


def remove_old_replies(connection: Connection) -> int:
    """Remove the replies that are kept no longer for a request that is sent again; how many."""
    return connection.execute(delete(kept_replies).where(kept_replies.c.created_at <= now() - KEPT)).rowcount
