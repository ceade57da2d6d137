"""Whether anything that a household stores has changed since somebody last looked."""

from uuid import UUID

from service.store.changes import mark_of
from service.store.records import Connection


def household_mark(connection: Connection, household: UUID) -> str:
    """A text that is another one after every change of what the household stores."""
    return mark_of(connection, household)
