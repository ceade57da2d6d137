"""Promise: a link signs in one device, once; a device is known until it is signed out or its time is over.

Moments are passed in: nothing here waits.
"""

import threading
from datetime import UTC, datetime, timedelta
from uuid import UUID

import pytest
from sqlalchemy import insert, select

from service.domain.errors import NotThere
from service.store.access.devices import (
    create_device,
    device_of_secret,
    devices_of,
    note_use,
    remove_ended_devices,
    rename_device,
    sign_out_device,
    sign_out_devices,
)
from service.store.access.households import create_household, remove_household
from service.store.access.sign_in_links import SignInLink, create_link, remove_ended_links, use_link
from service.store.database import Store
from service.store.household import kinds
from service.store.household.records import create, remove
from service.store.tables import devices, packet_photos, sign_in_links
from tests.refused import refused

MORNING = datetime(2026, 11, 26, 6, 30, 0, 5, UTC)
LATER = MORNING + timedelta(minutes=10)
SECOND = timedelta(seconds=1)


@pytest.fixture
def household(store: Store) -> UUID:
    """A household."""
    with store.writing() as connection:
        return create_household(connection, {"name": "Hazel"})


def test_a_link_is_used_once_and_in_time(store: Store, household: UUID) -> None:
    """At its last moment it is too late; used once it is of no more use; the secret is nowhere in the store."""
    with store.writing() as connection:
        link, secret = create_link(connection, household, "tablet", "pack", None, MORNING, LATER)
        assert use_link(connection, secret, LATER) is None
        assert use_link(connection, "x" * 43, MORNING) is None
        used = use_link(connection, secret, LATER - SECOND)
        assert used == link._replace(used_at=LATER - SECOND)
        assert use_link(connection, secret, LATER - SECOND) is None
        (row,) = connection.execute(select(sign_in_links)).all()
        assert secret not in map(str, row)


def test_of_two_that_use_a_link_at_once_one_is_signed_in(store: Store, household: UUID) -> None:
    """Both databases: the second waits for the first and finds the link used."""
    for _ in range(10):
        with store.writing() as connection:
            _, secret = create_link(connection, household, "tablet", "keep", None, MORNING, LATER)
        start, found = threading.Barrier(4), list[SignInLink | None]()

        def use(secret: str = secret, start: threading.Barrier = start, found: list[SignInLink | None] = found) -> None:
            start.wait()
            with store.writing() as connection:
                found.append(use_link(connection, secret, MORNING))

        callers = [threading.Thread(target=use) for _ in range(4)]
        for caller in callers:
            caller.start()
        for caller in callers:
            caller.join()
        assert len(found) == 4
        assert sum(one is not None for one in found) == 1


def test_a_device_is_known_until_its_time_is_over(store: Store, household: UUID) -> None:
    """Each use may move the end; its secret is nowhere in the store."""
    with store.writing() as connection:
        device, secret = create_device(connection, household, "tablet", "keep", None, MORNING, LATER)
        assert device_of_secret(connection, secret, LATER - SECOND) == device
        assert device_of_secret(connection, secret, LATER) is None
        note_use(connection, device.id, LATER, LATER + SECOND)
        assert device_of_secret(connection, secret, LATER) == device._replace(
            last_used_at=LATER, ends_at=LATER + SECOND
        )
        assert devices_of(connection, household, LATER + SECOND) == []
        (row,) = connection.execute(select(devices)).all()
        assert secret not in map(str, row)


def test_a_device_that_is_signed_out_stays_so(store: Store, household: UUID) -> None:
    """One of three, then all but one; a use noted afterwards changes nothing; another household's are untouched."""
    with store.writing() as connection:
        other = create_household(connection, {"name": "Aspen"})
        made = [create_device(connection, household, str(n), "keep", None, MORNING, LATER) for n in range(3)]
        theirs, _ = create_device(connection, other, "phone", "keep", None, MORNING, LATER)
        sign_out_device(connection, household, made[0][0].id, MORNING)
        note_use(connection, made[0][0].id, MORNING + SECOND, LATER + SECOND)
        assert device_of_secret(connection, made[0][1], MORNING) is None
        sign_out_device(connection, household, made[0][0].id, MORNING)
        assert sign_out_devices(connection, household, MORNING, but=made[2][0].id) == 1
        assert [one.name for one in devices_of(connection, household, MORNING)] == ["2"]
        assert sign_out_devices(connection, household, MORNING) == 1
        assert [one.id for one in devices_of(connection, other, MORNING)] == [theirs.id]
        for change in (
            lambda: sign_out_device(connection, household, theirs.id, MORNING),
            lambda: rename_device(connection, household, theirs.id, "mine"),
        ):
            with refused(NotThere, match="List each device"):
                change()
        rename_device(connection, other, theirs.id, "kitchen phone")
        assert devices_of(connection, other, MORNING)[0].name == "kitchen phone"


def test_what_has_ended_is_removed(store: Store, household: UUID) -> None:
    """Links past their end, devices past theirs or signed out; the others stay."""
    with store.writing() as connection:
        create_link(connection, household, "", "keep", None, MORNING, LATER)
        create_link(connection, household, "", "keep", None, MORNING, LATER + SECOND)
        for ends_at in (LATER, LATER + SECOND, LATER + 2 * SECOND):
            device, _ = create_device(connection, household, "", "keep", None, MORNING, ends_at)
        sign_out_device(connection, household, device.id, MORNING)
        assert remove_ended_links(connection, LATER) == 1
        assert remove_ended_devices(connection, household, LATER) == 2
        assert len(devices_of(connection, household, LATER)) == 1


def test_what_belongs_to_a_child_or_packet_goes_with_it(store: Store, household: UUID) -> None:
    """A child's devices and links, a packet's photograph; with the household everything."""
    with store.writing() as connection:
        child = create(connection, kinds.CHILD, household, {}, {"name": "Juniper"})
        packet = create(connection, kinds.PACKET, household, {}, {"food": "hummus", "read_on": MORNING.date()})
        photo = {"packet_id": packet.id, "media_type": "image/jpeg", "image": b"\xff\xd8", "created_at": MORNING}
        connection.execute(insert(packet_photos).values(household_id=household, **photo))
        for of_child in (child.id, None):
            create_link(connection, household, "", "take" if of_child else "keep", of_child, MORNING, LATER)
            create_device(connection, household, "", "take" if of_child else "keep", of_child, MORNING, LATER)
        remove(connection, kinds.CHILD, household, child.id)
        remove(connection, kinds.PACKET, household, packet.id)
        assert connection.execute(select(packet_photos)).all() == []
        assert [len(connection.execute(select(table)).all()) for table in (sign_in_links, devices)] == [1, 1]
        remove_household(connection, household)
        assert [len(connection.execute(select(table)).all()) for table in (sign_in_links, devices)] == [0, 0]
