"""The photograph of a packet: at most one of each, gone with its packet."""

from collections.abc import Iterator
from datetime import datetime
from typing import Any, NamedTuple
from uuid import UUID

from sqlalchemy import Connection, delete, insert, select

from service.store.household.records import now
from service.store.tables import packet_photos
from service.store.wiping import note_removal


class Photo(NamedTuple):
    """An image as it is shown, with its media type, and a mark that is another one for every photograph."""

    media_type: str
    image: bytes
    mark: str


def keep_photo(connection: Connection, household: UUID, packet: UUID, media_type: str, image: bytes) -> None:
    """Keep the photograph of a packet in the place of the one there was; the packet must be the household's."""
    remove_photo(connection, household, packet)
    values = {"packet_id": packet, "household_id": household, "media_type": media_type, "image": image}
    connection.execute(insert(packet_photos).values(**values, created_at=now()))


def photo_of(connection: Connection, household: UUID, packet: UUID) -> Photo | None:
    """The photograph of a packet, or None."""
    row = connection.execute(select(packet_photos).where(*_of(household, packet))).first()
    return None if row is None else Photo(row.media_type, row.image, _mark(row.created_at))


def photo_mark(connection: Connection, household: UUID, packet: UUID) -> str | None:
    """The mark of a packet's photograph without the image; None where there is none."""
    row = connection.execute(select(packet_photos.c.created_at).where(*_of(household, packet))).first()
    return None if row is None else _mark(row.created_at)


def photos_of(connection: Connection, household: UUID) -> Iterator[tuple[UUID, bytes]]:
    """Packet and image of all photographs of a household, by the packet's id; one at a time, since they are large."""
    query = (
        select(packet_photos.c.packet_id, packet_photos.c.image)
        .where(packet_photos.c.household_id == household)
        .order_by(packet_photos.c.packet_id)
    )
    for row in connection.execute(query, execution_options={"yield_per": 1}):
        yield row.packet_id, row.image


def remove_photo(connection: Connection, household: UUID, packet: UUID) -> bool:
    """Remove the photograph of a packet; whether there was one."""
    gone = connection.execute(delete(packet_photos).where(*_of(household, packet))).rowcount > 0
    if gone:
        note_removal(connection)
    return gone


def _of(household: UUID, packet: UUID) -> list[Any]:
    return [packet_photos.c.household_id == household, packet_photos.c.packet_id == packet]


def _mark(created_at: datetime) -> str:
    return format(round(created_at.timestamp() * 1_000_000), "x")
