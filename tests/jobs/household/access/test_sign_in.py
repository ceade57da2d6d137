"""Promise: a link signs in one device with its rights; the device is known, listed, renamed and signed out.

Moments are passed in: nothing here waits. Both databases.
"""

import threading
from datetime import UTC, datetime, timedelta
from uuid import UUID

import pytest
from pydantic import ValidationError

from service.domain.errors import NotThere
from service.jobs.household.access.access_keys import make_first_key
from service.jobs.household.access.devices import (
    NOTED_EVERY,
    SIGNED_IN,
    DeviceName,
    list_devices,
    recognise_device,
    rename,
    sign_out,
    sign_out_all,
)
from service.jobs.household.access.opened import Households
from service.jobs.household.access.sign_in_links import WORKS_FOR, NewLink, SignedIn, make_link, redeem
from service.jobs.household.retention.purging import purge
from service.store.access.households import all_households, create_household
from service.store.database import Store
from service.store.household import kinds
from service.store.household.records import create
from tests.store.filled import everything

MORNING = datetime(2026, 11, 26, 6, 30, tzinfo=UTC)
SECOND = timedelta(seconds=1)
PACK = NewLink(name="kitchen tablet", rights="pack")


@pytest.fixture
def household(store: Store) -> UUID:
    """A household."""
    make_first_key(store)
    with store.reading() as connection:
        return all_households(connection)[0][0]


def signed_in(store: Store, household: UUID, asked: NewLink = PACK, moment: datetime = MORNING) -> SignedIn:
    """A device that used its link at once."""
    with store.writing() as connection:
        link = make_link(connection, household, asked, moment)
    made = redeem(store, link.secret, moment)
    assert made is not None
    return made


def test_times_are_those_promised() -> None:
    """Ten minutes for a link, ninety days for a device: what the README says."""
    assert (timedelta(minutes=10), timedelta(days=90)) == (WORKS_FOR, SIGNED_IN)


def test_a_link_signs_in_one_device(store: Store, household: UUID) -> None:
    """With the name and rights asked for; its address has the secret; a second time it is of no use, nor is it too late."""
    with store.writing() as connection:
        link, late = (make_link(connection, household, PACK, MORNING) for _ in range(2))
    assert link.path == f"/sign-in?link={link.secret}"
    assert link.ends_at == MORNING + WORKS_FOR
    made = redeem(store, link.secret, MORNING + WORKS_FOR - SECOND)
    assert made is not None
    assert (made.device.name, made.device.rights, made.device.child_id) == ("kitchen tablet", "pack", None)
    assert redeem(store, link.secret, MORNING) is None
    assert redeem(store, late.secret, MORNING + WORKS_FOR) is None
    for wrong in ("", "x", "x" * 43, link.secret + "x", made.secret, "\N{SNOWMAN}" * 43):
        assert redeem(store, wrong, MORNING) is None
    assert len(everything(store)["devices"]) == 1
    assert recognise_device(store, link.secret, MORNING) is None
    assert not any(
        secret in row for rows in everything(store).values() for row in rows for secret in (link.secret, made.secret)
    )


def test_of_several_that_bring_a_link_at_once_one_is_signed_in(store: Store, household: UUID) -> None:
    """And one device is made."""
    with store.writing() as connection:
        link = make_link(connection, household, PACK, MORNING)
    start, found = threading.Barrier(4), list[SignedIn | None]()

    def bring() -> None:
        start.wait()
        found.append(redeem(store, link.secret, MORNING))

    devices = [threading.Thread(target=bring) for _ in range(4)]
    for device in devices:
        device.start()
    for device in devices:
        device.join()
    assert len(found) == 4
    assert sum(one is not None for one in found) == 1
    assert len(everything(store)["devices"]) == 1


def test_a_link_for_taking_names_a_child_of_the_house(store: Store, household: UUID) -> None:
    """And no other link names one; another household's child is not there."""
    with store.writing() as connection:
        theirs = create_household(connection, {"name": "Aspen"})
        child = create(connection, kinds.CHILD, theirs, {}, {"name": "Wren"})
    take = NewLink(rights="take", child=str(child.id))
    with pytest.raises(NotThere), store.writing() as connection:
        make_link(connection, household, take, MORNING)
    made = signed_in(store, theirs, take)
    assert (made.device.name, made.device.rights, made.device.child_id) == ("", "take", child.id)
    for wrong in (
        {"rights": "take"},
        {"rights": "keep", "child": str(child.id)},
        {"rights": "read"},
        {"rights": "pack", "name": "a\nb"},
    ):
        with pytest.raises(ValidationError):
            NewLink.model_validate(wrong)


def test_a_device_stays_signed_in_while_it_is_used(store: Store, household: UUID) -> None:
    """Ninety days from its last use; its use is written at most every few minutes."""
    made = signed_in(store, household)
    before = everything(store)
    assert recognise_device(store, made.secret, MORNING + NOTED_EVERY - SECOND) == made.device
    assert everything(store) == before
    used = MORNING + NOTED_EVERY
    known = recognise_device(store, made.secret, used)
    assert known == made.device._replace(last_used_at=used, ends_at=used + SIGNED_IN)
    assert recognise_device(store, made.secret, used + SIGNED_IN) is None
    again = recognise_device(store, made.secret, used + SIGNED_IN - SECOND)
    assert again is not None
    assert again.ends_at == used + SIGNED_IN - SECOND + SIGNED_IN


def test_a_device_is_known_where_its_use_cannot_be_noted(
    store: Store, household: UUID, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A disk that is full can still be read from."""
    made = signed_in(store, household)
    monkeypatch.setattr(store, "write_unless_busy", lambda _write: False)
    assert recognise_device(store, made.secret, MORNING + NOTED_EVERY) == made.device


def test_devices_are_listed_renamed_and_signed_out(store: Store, household: UUID) -> None:
    """One, then all but the one that asks; those of another household are not there."""
    with store.writing() as connection:
        other = create_household(connection, {"name": "Aspen"})
    first, second, third = (signed_in(store, household) for _ in range(3))
    theirs = signed_in(store, other)
    with store.writing() as connection:
        rename(connection, household, str(first.device.id), DeviceName(name="hall"))
        listed = list_devices(connection, household, MORNING)
    assert [one["name"] for one in listed] == ["hall", "kitchen tablet", "kitchen tablet"]
    assert listed[0] == {
        "id": str(first.device.id), "name": "hall", "rights": "pack", "child": None, "signed_in_at": "2026-11-26T06:30:00Z",
        "last_used_at": "2026-11-26T06:30:00Z", "ends_at": "2027-02-24T06:30:00Z",
    }  # fmt: skip
    for device in (str(theirs.device.id), "hall", ""):
        with store.writing() as connection, pytest.raises(NotThere):
            rename(connection, household, device, DeviceName(name="mine"))
        with store.writing() as connection, pytest.raises(NotThere):
            sign_out(connection, household, device, MORNING)
    with store.writing() as connection:
        sign_out(connection, household, str(first.device.id), MORNING)
        assert sign_out_all(connection, household, MORNING, but=third.device.id) == 1
    known = [recognise_device(store, one.secret, MORNING) is not None for one in (first, second, third, theirs)]
    assert known == [False, False, True, True]


def test_whose_a_device_is_is_known_to_the_service(store: Store, store_url: str, household: UUID) -> None:
    """A caller with the device; a key is no device, and a device no key."""
    with store.writing() as connection:
        link = make_link(connection, household, PACK)
    made = redeem(store, link.secret)
    assert made is not None
    households = Households(store_url)
    try:
        caller = households.signed_in(made.secret.encode())
        assert caller is not None
        assert (caller.household, caller.rights, caller.device) == (household, "pack", made.device)
        assert households.caller(made.secret.encode()) is None
        for wrong in (b"", b"\xff" * 43, made.secret.encode() + b"\n"):
            assert households.signed_in(wrong) is None
    finally:
        households.close()


def test_what_is_of_no_more_use_is_purged(store: Store, household: UUID) -> None:
    """Links and devices long ended, or signed out; one that is signed in stays."""
    long_ago = datetime.now(UTC) - SIGNED_IN - timedelta(days=1)
    signed_in(store, household, moment=long_ago)
    out, stays = (signed_in(store, household, moment=datetime.now(UTC)) for _ in range(2))
    with store.writing() as connection:
        sign_out(connection, household, str(out.device.id))
    purge(store, datetime.now(UTC).date())
    (left,) = everything(store)["devices"]
    assert str(stays.device.id) in left
    assert len(everything(store)["sign_in_links"]) == 2
