"""Addresses at which other programs read a household's calendar. Only the hash of an address's secret is stored."""

import secrets
from datetime import datetime
from typing import Literal, NamedTuple
from uuid import UUID

from sqlalchemy import Connection, delete, insert, select, update

from service.domain.errors import NotThere
from service.domain.messages import message
from service.store.access.households import SECRET_BYTES, hash_of
from service.store.household.records import new_id
from service.store.tables import calendar_feeds

Shows = Literal["days", "health"]
"""``days``: what is done on which day; ``health``: also who must not have what."""


class CalendarFeed(NamedTuple):
    """An address without its secret. ``rights``: what the calendar shows; ``last_used_at``: None: it was never read."""

    id: UUID
    household_id: UUID
    name: str
    rights: Shows
    language: str
    created_at: datetime
    last_used_at: datetime | None


_FEED = [calendar_feeds.c[name] for name in CalendarFeed._fields]


def create_feed(
    connection: Connection, household: UUID, name: str, rights: Shows, language: str, moment: datetime
) -> tuple[CalendarFeed, str]:
    """Make an address; gives it and its secret, which is stored nowhere."""
    secret = secrets.token_urlsafe(SECRET_BYTES)
    feed = CalendarFeed(new_id(), household, name, rights, language, moment, None)
    connection.execute(insert(calendar_feeds).values(secret_hash=hash_of(secret), **feed._asdict()))
    return feed, secret


def feed_of_secret(connection: Connection, secret: str) -> CalendarFeed | None:
    """The address that a secret belongs to, or None."""
    row = connection.execute(select(*_FEED).where(calendar_feeds.c.secret_hash == hash_of(secret))).first()
    return None if row is None else CalendarFeed._make(row)


def feeds_of(connection: Connection, household: UUID) -> list[CalendarFeed]:
    """The addresses of a household, in the order they were made."""
    query = select(*_FEED).where(calendar_feeds.c.household_id == household).order_by(calendar_feeds.c.id)
    return [CalendarFeed._make(row) for row in connection.execute(query)]


def note_reading(connection: Connection, feed: UUID, moment: datetime) -> None:
    """Note that an address was read."""
    connection.execute(update(calendar_feeds).where(calendar_feeds.c.id == feed).values(last_used_at=moment))


def remove_feed(connection: Connection, household: UUID, feed: UUID) -> None:
    """Remove an address, so that nobody reads it any more; ``NotThere`` if this household has none of that id."""
    this = (calendar_feeds.c.id == feed, calendar_feeds.c.household_id == household)
    if connection.execute(delete(calendar_feeds).where(*this)).rowcount == 0:
        raise no_feed(str(feed))


def no_feed(feed: str) -> NotThere:
    """The fault for an id of no address."""
    return NotThere(
        pointer="/id",
        value=feed,
        problem=message("fault.not-here", noun="calendar address"),
    )
