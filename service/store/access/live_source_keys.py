"""The key with which a household asks the live source of branded foods; without one it asks nothing."""

from datetime import datetime
from typing import NamedTuple
from uuid import UUID

from sqlalchemy import Connection, delete, insert, select

from service.store.tables import live_source_keys
from service.store.wiping import note_removal


class LiveSourceKey(NamedTuple):
    """A key as it was given, and since when it is used."""

    api_key: str
    created_at: datetime

    def __repr__(self) -> str:
        """Without the key, so that no log has it."""
        return f"LiveSourceKey(since {self.created_at})"


def live_source_key(connection: Connection, household: UUID) -> LiveSourceKey | None:
    """The key of a household; None where it has not switched the source on."""
    columns = [live_source_keys.c[name] for name in LiveSourceKey._fields]
    row = connection.execute(select(*columns).where(live_source_keys.c.household_id == household)).first()
    return None if row is None else LiveSourceKey._make(row)


def put_live_source_key(connection: Connection, household: UUID, api_key: str, moment: datetime) -> None:
    """Store a key in the place of the one there was."""
    remove_live_source_key(connection, household)
    connection.execute(insert(live_source_keys).values(household_id=household, api_key=api_key, created_at=moment))


def remove_live_source_key(connection: Connection, household: UUID) -> None:
    """Delete the key of a household, if there is one."""
    connection.execute(delete(live_source_keys).where(live_source_keys.c.household_id == household))
    note_removal(connection)
