"""The photograph kept with a packet: put to it, shown, removed. A packet of another household is not there."""

from uuid import UUID

from service.domain.errors import NotThere
from service.domain.messages import message
from service.jobs.household.kinds import PACKETS
from service.jobs.household.packets.photographs import MEDIA_TYPE
from service.jobs.household.records import show_record
from service.store.household import packet_photos
from service.store.household.packet_photos import Photo
from service.store.household.records import Connection


def put_photo(connection: Connection, household: UUID, packet_id: str, image: bytes) -> None:
    """Keep a photograph with a packet, in the place of the one there was; ``NotThere`` for a packet that is not here.

    ``image``: as ``photographs.as_kept`` gives it, made before the transaction, which it would hold up.
    """
    packet = show_record(connection, PACKETS, household, packet_id).id
    packet_photos.keep_photo(connection, household, packet, MEDIA_TYPE, image)


def show_photo(connection: Connection, household: UUID, packet_id: str) -> Photo:
    """The photograph of a packet; ``NotThere`` where the packet or the photograph is not here."""
    packet = show_record(connection, PACKETS, household, packet_id).id
    photo = packet_photos.photo_of(connection, household, packet)
    if photo is None:
        raise NotThere(pointer="/id", value=packet_id, problem=message("fault.no-photo-here"))
    return photo


def mark_of_photo(connection: Connection, household: UUID, packet_id: UUID) -> str | None:
    """What tells a packet's photograph from an earlier one; None where there is none."""
    return packet_photos.photo_mark(connection, household, packet_id)


def take_photo_away(connection: Connection, household: UUID, packet_id: str) -> None:
    """Remove the photograph of a packet; nothing happens where there is none. ``NotThere`` for the packet."""
    packet_photos.remove_photo(connection, household, show_record(connection, PACKETS, household, packet_id).id)
