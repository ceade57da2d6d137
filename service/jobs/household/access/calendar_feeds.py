"""Addresses at which a calendar program reads the household's calendar: made, listed, read, removed.

Such an address opens the calendar and nothing else. It is shown once, when it is made.
"""

from datetime import datetime
from typing import Any
from uuid import UUID

from pydantic import Field

from service.domain.errors import StoreFault
from service.jobs.household.access.devices import NOTED_EVERY
from service.jobs.household.access.secrets import has_form_of_secret
from service.jobs.requests.fields import Asked, ShortName, is_kept_id
from service.store.access.calendar_feeds import CalendarFeed as CalendarFeed  # noqa: PLC0414 - what the edges are given
from service.store.access.calendar_feeds import (
    Shows,
    create_feed,
    feed_of_secret,
    feeds_of,
    no_feed,
    note_reading,
    remove_feed,
)
from service.store.database import Store
from service.store.household.records import Connection, now

FEED_PATH = "/calendar/{key}.ics"
"""Where the pages answer the reader of a calendar."""


class NewFeed(Asked):
    """An address to make: who reads it, in which language, and whether it may say who must not have what."""

    name: ShortName = Field(description="Who reads it, e.g. the phone's calendar.")
    language: str = Field(max_length=10, description="The language of the calendar.")
    with_health: bool = Field(False, description="Whether it says whom packets are read for, and what to look for.")


def make_feed(connection: Connection, household: UUID, asked: NewFeed, moment: datetime | None = None) -> str:
    """Make an address; its path, which holds its secret and is stored nowhere."""
    shows: Shows = "health" if asked.with_health else "days"
    _feed, secret = create_feed(connection, household, asked.name, shows, asked.language, moment or now())
    return FEED_PATH.format(key=secret)


def list_feeds(connection: Connection, household: UUID) -> list[dict[str, Any]]:
    """The addresses of a household, without their secrets."""
    return [
        {
            "id": str(one.id),
            "name": one.name,
            "with_health": one.rights == "health",
            "language": one.language,
            "made_at": one.created_at.isoformat(timespec="seconds"),
            "last_used_at": None if one.last_used_at is None else one.last_used_at.isoformat(timespec="seconds"),
        }
        for one in feeds_of(connection, household)
    ]


def feed_read(store: Store, secret: str, moment: datetime | None = None) -> CalendarFeed | None:
    """The address with a secret, its reading noted; None for one that is not known or was removed."""
    if not has_form_of_secret(secret):
        return None
    moment = moment or now()
    with store.reading() as connection:
        feed = feed_of_secret(connection, secret)
    if feed is None or (feed.last_used_at is not None and moment - feed.last_used_at < NOTED_EVERY):
        return feed
    try:
        with store.writing_at_once() as connection:
            note_reading(connection, feed.id, moment)
    except StoreFault:
        return feed  # a full, read-only or busy store can still be read from; the reading is noted another time
    return feed._replace(last_used_at=moment)


def revoke_feed(connection: Connection, household: UUID, feed_id: str) -> None:
    """Remove an address: nobody reads it from now on. ``NotThere`` if this household has none of that id."""
    if not is_kept_id(feed_id):
        raise no_feed(feed_id)
    remove_feed(connection, household, UUID(feed_id))
