"""The packets that a household read in some days."""

from datetime import date
from typing import Any
from uuid import UUID

from sqlalchemy import Connection, bindparam, select

from service.store.tables import packets

_BODIES = (
    select(packets.c.body)
    .where(
        packets.c.household_id == bindparam("household"),
        packets.c.read_on >= bindparam("first"),
        packets.c.read_on <= bindparam("last"),
    )
    .order_by(packets.c.read_on, packets.c.id)
)


def bodies_of_packets(connection: Connection, household: UUID, first: date, last: date) -> list[dict[str, Any]]:
    """The packets read from one day to another, oldest first."""
    rows = connection.execute(_BODIES, {"household": household, "first": first, "last": last})
    return [row.body for row in rows]
