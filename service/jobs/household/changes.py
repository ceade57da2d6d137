"""Whether anything that a household stores has changed since somebody last looked."""

from hashlib import sha256
from uuid import UUID

from service.store.household.changes import mark_of
from service.store.household.records import Connection


def household_mark(connection: Connection, household: UUID) -> str:
    """A short text that is another one after every change of what the household stores."""
    return sha256(mark_of(connection, household).encode()).hexdigest()[:16]
