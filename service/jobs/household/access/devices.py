"""Devices that are signed in to a household: listed, recognised, renamed, signed out."""

from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from pydantic import Field

from service.jobs.requests.fields import Asked, ShortName, is_kept_id
from service.store.access.devices import Device as Device  # noqa: PLC0414 - what the edges are given
from service.store.access.devices import (
    device_of_secret,
    devices_of,
    no_device,
    note_use,
    rename_device,
    sign_out_device,
    sign_out_devices,
)
from service.store.database import Store
from service.store.household.records import Connection, now
from service.store.retention_runs import last_run

SIGNED_IN = timedelta(days=90)
"""How long a device stays signed in after it was last used (ours)."""
NOTED_EVERY = timedelta(minutes=5)
"""A use is noted at most so often: reading a page should not write to the store each time (ours)."""


class DeviceName(Asked):
    """What a device is called."""

    name: ShortName = Field(description="Where it is or whose it is, e.g. kitchen tablet.")


def recognise_device(store: Store, secret: str, moment: datetime | None = None) -> Device | None:
    """The device that a secret belongs to, unless it was signed out or was not used for 90 days; its use is noted.

    ``moment``: when it is used; left out: now.
    """
    moment = moment or now()
    with store.reading() as connection:
        device = device_of_secret(connection, secret, moment)
        if device is None or abs(moment - device.last_used_at) < NOTED_EVERY:  # later: the clock was set back
            return device
        if moment < device.last_used_at and _is_behind(connection, device.household_id, moment):
            return device  # a clock that is years behind would end it years ago
    ends_at = moment + SIGNED_IN
    if not store.write_unless_busy(lambda connection: note_use(connection, device.id, moment, ends_at)):
        return device  # the use is noted another time
    return device._replace(last_used_at=moment, ends_at=ends_at)


def _is_behind(connection: Connection, household: UUID, moment: datetime) -> bool:
    """Whether a clock is behind a day that is believed to have come."""
    run = last_run(connection, household)
    return run is not None and moment.date() < run.believed


def list_devices(connection: Connection, household: UUID, moment: datetime | None = None) -> list[dict[str, Any]]:
    """The devices of a household that are signed in, in the order in which they were."""
    return [shown_device(device) for device in devices_of(connection, household, moment or now())]


def rename(connection: Connection, household: UUID, device_id: str, asked: DeviceName) -> None:
    """Give a device another name; ``NotThere`` if this household has none of that id."""
    rename_device(connection, household, _id(device_id), asked.name)


def sign_out(connection: Connection, household: UUID, device_id: str, moment: datetime | None = None) -> None:
    """Sign a device out; one that is signed out stays so. ``NotThere`` if this household has none of that id."""
    sign_out_device(connection, household, _id(device_id), moment or now())


def sign_out_all(
    connection: Connection, household: UUID, moment: datetime | None = None, but: UUID | None = None
) -> int:
    """Sign out all devices of a household (``but``: except that one); how many were signed in."""
    return sign_out_devices(connection, household, moment or now(), but)


def shown_device(device: Device) -> dict[str, Any]:
    """A device as it is shown."""
    return {
        "id": str(device.id),
        "name": device.name,
        "rights": device.rights,
        "child": None if device.child_id is None else str(device.child_id),
        "signed_in_at": _moment(device.created_at),
        "last_used_at": _moment(device.last_used_at),
        "ends_at": _moment(device.ends_at),
    }


def _id(device_id: str) -> UUID:
    if not is_kept_id(device_id):
        raise no_device(device_id)
    return UUID(device_id)


def _moment(moment: datetime) -> str:
    return moment.isoformat(timespec="seconds").replace("+00:00", "Z")
