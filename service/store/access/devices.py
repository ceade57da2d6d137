"""Devices that are signed in to a household: made, recognised, renamed, signed out. Only the hash of a secret is stored."""

import secrets
from datetime import datetime
from typing import Literal, NamedTuple
from uuid import UUID

from sqlalchemy import Connection, bindparam, delete, insert, or_, select, update

from service.domain.errors import NotThere
from service.domain.messages import message
from service.store.access.households import SECRET_BYTES, hash_of
from service.store.household.records import new_id
from service.store.tables import devices

DeviceRights = Literal["keep", "pack", "take"]
"""``keep``: everything; ``pack``: see all, and log what is packed for the day; ``take``: one child's taking only."""


class Device(NamedTuple):
    """A device without its secret. ``child_id``: the one child whose taking it shows, of a device with that right."""

    id: UUID
    household_id: UUID
    name: str
    rights: DeviceRights
    child_id: UUID | None
    created_at: datetime
    last_used_at: datetime
    ends_at: datetime
    signed_out_at: datetime | None


_DEVICE = [devices.c[name] for name in Device._fields]
# Made once: it is asked with every request.
_OF_SECRET = select(*_DEVICE).where(
    devices.c.secret_hash == bindparam("secret_hash"),
    devices.c.signed_out_at.is_(None),
    devices.c.ends_at > bindparam("moment"),
)


def create_device(
    connection: Connection,
    household: UUID,
    name: str,
    rights: DeviceRights,
    child: UUID | None,
    made_at: datetime,
    ends_at: datetime,
) -> tuple[Device, str]:
    """Sign in a device; gives it and its secret, which is stored nowhere."""
    secret = secrets.token_urlsafe(SECRET_BYTES)
    device = Device(new_id(), household, name, rights, child, made_at, made_at, ends_at, None)
    connection.execute(insert(devices).values(secret_hash=hash_of(secret), **device._asdict()))
    return device, secret


def device_of_secret(connection: Connection, secret: str, moment: datetime) -> Device | None:
    """The device that a secret belongs to, unless it was signed out or its time is over."""
    row = connection.execute(_OF_SECRET, {"secret_hash": hash_of(secret), "moment": moment}).first()
    return None if row is None else Device._make(row)


def devices_of(connection: Connection, household: UUID, moment: datetime) -> list[Device]:
    """The devices of a household that are signed in, in the order in which they were."""
    rows = connection.execute(
        select(*_DEVICE)
        .where(devices.c.household_id == household, devices.c.signed_out_at.is_(None), devices.c.ends_at > moment)
        .order_by(devices.c.id)
    )
    return [Device._make(row) for row in rows]


def note_use(connection: Connection, device: UUID, moment: datetime, ends_at: datetime) -> None:
    """Note that a device was used, and until when it now stays signed in; one that was signed out stays so."""
    connection.execute(
        update(devices)
        .where(devices.c.id == device, devices.c.signed_out_at.is_(None))
        .values(last_used_at=moment, ends_at=ends_at)
    )


def rename_device(connection: Connection, household: UUID, device: UUID, name: str) -> None:
    """Give a device another name; ``NotThere`` if this household has none of that id."""
    found = connection.execute(
        update(devices).where(devices.c.id == device, devices.c.household_id == household).values(name=name)
    )
    if found.rowcount == 0:
        raise no_device(str(device))


def sign_out_device(connection: Connection, household: UUID, device: UUID, moment: datetime) -> None:
    """Sign a device out; one that is signed out stays so. ``NotThere`` if this household has none of that id."""
    this = (devices.c.id == device, devices.c.household_id == household)
    if connection.execute(select(devices.c.id).where(*this)).first() is None:
        raise no_device(str(device))
    connection.execute(update(devices).where(*this, devices.c.signed_out_at.is_(None)).values(signed_out_at=moment))


def sign_out_devices(connection: Connection, household: UUID, moment: datetime, but: UUID | None = None) -> int:
    """Sign out all devices of a household (``but``: except one); how many were signed in."""
    query = update(devices).where(
        devices.c.household_id == household, devices.c.signed_out_at.is_(None), devices.c.ends_at > moment
    )
    if but is not None:
        query = query.where(devices.c.id != but)
    return connection.execute(query.values(signed_out_at=moment)).rowcount


def remove_ended_devices(connection: Connection, household: UUID, moment: datetime) -> int:
    """Remove the devices of a household that are signed in no longer; how many."""
    ended = or_(devices.c.signed_out_at.is_not(None), devices.c.ends_at <= moment)
    return connection.execute(delete(devices).where(devices.c.household_id == household, ended)).rowcount


def end_devices_by(connection: Connection, household: UUID, latest: datetime) -> None:
    """No device of a household stays signed in longer than to a moment, as one would that a clock years ahead has noted."""
    longer = (devices.c.household_id == household, devices.c.ends_at > latest)
    connection.execute(update(devices).where(*longer).values(ends_at=latest))


def no_device(device: str) -> NotThere:
    """The fault for an id of no device."""
    return NotThere(
        pointer="/id",
        value=device,
        problem=message("fault.not-here", noun="device"),
    )
