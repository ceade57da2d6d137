"""The packets that a household read in some days."""

from datetime import date
from typing import Any
from uuid import UUID

from sqlalchemy import Connection, select

from service.store.tables import packets


def bodies_of_packets(connection: Connection, household: UUID, first: date, last: date) -> list[dict[str, Any]]:
    """The packets read from one day to another, oldest first."""
    query = (
        select(packets.c.body)
        .where(packets.c.household_id == household, packets.c.read_on >= first, packets.c.read_on <= last)
        .order_by(packets.c.read_on, packets.c.id)
    )
    return [row.body for row in connection.execute(query)]
