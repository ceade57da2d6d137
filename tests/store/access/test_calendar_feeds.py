"""Promise: an address of the calendar is known by its secret until it is removed, and the secret is stored nowhere.

Moments are passed in: nothing here waits.
"""

from datetime import UTC, datetime, timedelta
from pathlib import Path
from uuid import UUID, uuid4

import pytest
from sqlalchemy import select

from service.domain.errors import NotThere
from service.jobs.household.access.calendar_feeds import NewFeed, feed_read, list_feeds, make_feed, revoke_feed
from service.jobs.household.access.devices import NOTED_EVERY
from service.jobs.household.transfer.export_household import read_household
from service.jobs.household.transfer.json import as_json
from service.store.access.calendar_feeds import create_feed, feed_of_secret, feeds_of, note_reading, remove_feed
from service.store.access.households import create_household, remove_household
from service.store.backup import restore_backup, write_backup
from service.store.database import Store
from service.store.tables import calendar_feeds
from tests.refused import refused

MORNING = datetime(2026, 11, 26, 6, 30, 0, 5, UTC)


@pytest.fixture
def household(store: Store) -> UUID:
    """A household."""
    with store.writing() as connection:
        return create_household(connection, {"name": "Hazel"})


def test_an_address_is_known_by_its_secret_which_is_nowhere_in_the_store(store: Store, household: UUID) -> None:
    with store.writing() as connection:
        feed, secret = create_feed(connection, household, "phone", "days", "en", MORNING)
        assert feed_of_secret(connection, secret) == feed
        assert feed_of_secret(connection, "x" * 43) is None
        (row,) = connection.execute(select(calendar_feeds)).all()
        assert secret not in map(str, row)
        note_reading(connection, feed.id, MORNING)
        assert feeds_of(connection, household) == [feed._replace(last_used_at=MORNING)]


def test_one_that_is_removed_leaves_nothing_and_is_no_other_households(store: Store, household: UUID) -> None:
    with store.writing() as connection:
        other = create_household(connection, {"name": "Alder"})
        feed, secret = create_feed(connection, household, "phone", "health", "es", MORNING)
        with refused(NotThere, match="is not a calendar address here"):
            remove_feed(connection, other, feed.id)
        with refused(NotThere, match="is not a calendar address here"):
            remove_feed(connection, household, uuid4())
        remove_feed(connection, household, feed.id)
        assert feed_of_secret(connection, secret) is None
        assert connection.execute(select(calendar_feeds)).all() == []


def test_it_goes_with_its_household(store: Store, household: UUID) -> None:
    with store.writing() as connection:
        _feed, secret = create_feed(connection, household, "phone", "days", "en", MORNING)
        remove_household(connection, household)
        assert feed_of_secret(connection, secret) is None


def test_a_reading_is_noted_now_and_then(store: Store, household: UUID) -> None:
    with store.writing() as connection:
        path = make_feed(connection, household, NewFeed(name="phone", language="en"), MORNING)
    secret = path.removeprefix("/calendar/").removesuffix(".ics")
    for after, noted in ((0, 0), (1, 0), (NOTED_EVERY.seconds, NOTED_EVERY.seconds)):
        feed = feed_read(store, secret, MORNING + timedelta(seconds=after))
        assert feed is not None
        assert feed.last_used_at == MORNING + timedelta(seconds=noted)
    assert feed_read(store, "..", MORNING) is None
    assert feed_read(store, "y" * 43, MORNING) is None


def test_an_id_that_is_none_is_refused_by_name(store: Store, household: UUID) -> None:
    with store.writing() as connection, refused(NotThere, match="is not a calendar address here"):
        revoke_feed(connection, household, "phone")


def test_a_backup_holds_it_and_an_export_does_not(store: Store, household: UUID, tmp_path: Path) -> None:
    """As for devices: whoever restores a backup has the same ways in; whoever is given an export has none."""

    with store.writing() as connection:
        path = make_feed(connection, household, NewFeed(name="wall clock", language="en"), MORNING)
    secret = path.removeprefix("/calendar/").removesuffix(".ics")
    file = tmp_path / "backup.jsonl"
    write_backup(store, file)
    with store.writing() as connection:
        feeds = list_feeds(connection, household)
        revoke_feed(connection, household, feeds[0]["id"])
    restore_backup(store, file)
    assert feed_read(store, secret, MORNING) is not None
    assert secret.encode() not in file.read_bytes()
    assert b"wall clock" not in as_json(read_household(store, household))
