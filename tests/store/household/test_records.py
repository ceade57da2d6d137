"""Promise: a record belongs to one household, is edited from the version it was read at, and is there once.

The laws of lost updates: of several edits made from one version exactly one is kept (checked by counting).
"""

import threading
from datetime import date
from uuid import UUID

import pytest

from service.domain.errors import AlreadyThere, AnyFault, NotThere, StaleEdit
from service.store.access.households import (
    all_households,
    create_household,
    create_key,
    hash_of,
    key_of_secret,
    keys_of,
    remove_household,
    revoke_key,
)
from service.store.database import Store
from service.store.household import kinds
from service.store.household.kinds import KINDS
from service.store.household.records import Kind, count_naming, create, find, get, page, remove, replace
from tests.refused import refused
from tests.store.filled import everything, fill


@pytest.fixture
def homes(store: Store) -> tuple[UUID, UUID]:
    """Two households."""
    with store.writing() as connection:
        return create_household(connection, {"name": "Hazel"}), create_household(connection, {"name": "Aspen"})


def test_a_record_comes_back_as_it_was_kept(store: Store, homes: tuple[UUID, UUID]) -> None:
    """Body in its order, moments with their zone, version 1; an edit raises the version and keeps the first moment."""
    body = {"z": 1, "a": [1.5, None, True, "ü"], "m": {"y": 1, "x": 2}}
    with store.writing() as connection:
        made = create(connection, kinds.FOOD, homes[0], body, {"name": "bar"})
    with store.reading() as connection:
        kept = get(connection, kinds.FOOD, homes[0], made.id)
    assert kept._replace(body=body) == made
    assert {name: kept.body[name] for name in body} == body
    assert list(kept.body)[:3] == ["z", "a", "m"]  # what a food has by default comes after it
    assert list(kept.body["m"]) == ["y", "x"]
    assert kept.created_at.utcoffset() is not None
    with store.writing() as connection:
        edited = replace(connection, kinds.FOOD, homes[0], made.id, 1, {"name": "new"}, {"name": "new"})
    assert (edited.version, edited.created_at, edited.body["name"]) == (2, made.created_at, "new")
    assert edited.updated_at >= made.updated_at


@pytest.mark.parametrize("kind", KINDS.values(), ids=KINDS)
def test_another_households_record_is_not_there(store: Store, homes: tuple[UUID, UUID], kind: Kind) -> None:
    """Read, edited, removed, listed, counted by the other household: nothing, and nothing changed."""
    fill(store, 2)
    with store.reading() as connection:
        owner = next(one for one, _ in all_households(connection) if page(connection, kind, one, None, 1))
        record = page(connection, kind, owner, None, 1)[0]
    before = everything(store)
    with store.writing() as connection:
        assert find(connection, kind, homes[0], record.id) is None
        assert page(connection, kind, homes[0], None, 100) == []
        assert count_naming(connection, kinds.LUNCH, homes[0], record.id) == 0
        with pytest.raises(NotThere):
            get(connection, kind, homes[0], record.id)
        with pytest.raises(NotThere):
            replace(connection, kind, homes[0], record.id, record.version, {}, {})
        with pytest.raises(NotThere):
            remove(connection, kind, homes[0], record.id)
    assert everything(store) == before


def test_of_several_edits_from_one_version_one_is_kept(store: Store, homes: tuple[UUID, UUID]) -> None:
    """Six at once, twenty times: one is kept each time, the others are told that theirs is stale."""
    with store.writing() as connection:
        made = create(connection, kinds.FOOD, homes[0], {"by": -1}, {"name": "bar"})
    for version in range(1, 21):
        outcomes: list[str] = []

        def edit(worker: int, version: int = version, outcomes: list[str] = outcomes) -> None:
            try:
                with store.writing() as connection:
                    replace(connection, kinds.FOOD, homes[0], made.id, version, {"by": worker}, {"name": "bar"})
            except StaleEdit:
                outcomes.append("stale")
            except AnyFault as fault:
                outcomes.append(repr(fault))
            else:
                outcomes.append("kept")

        workers = [threading.Thread(target=edit, args=(number,)) for number in range(6)]
        for worker in workers:
            worker.start()
        for worker in workers:
            worker.join()
        assert sorted(outcomes) == ["kept", *["stale"] * 5]
    with store.reading() as connection:
        assert get(connection, kinds.FOOD, homes[0], made.id).version == 21


def test_what_must_be_there_once_is_there_once(store: Store, homes: tuple[UUID, UUID]) -> None:
    """The same name in one household is refused, in another it is not; so is a second lunch of a child on a day."""
    with store.writing() as connection:
        child = create(connection, kinds.CHILD, homes[0], {}, {"name": "rowan"})
        create(connection, kinds.CHILD, homes[1], {}, {"name": "rowan"})
    with refused(AlreadyThere, match="nickname"), store.writing() as connection:
        create(connection, kinds.CHILD, homes[0], {}, {"name": "rowan"})
    columns = {"child_id": child.id, "day": date(2026, 11, 25), "kind": "none"}
    with store.writing() as connection:
        create(connection, kinds.LUNCH, homes[0], {}, columns)
    with refused(AlreadyThere, match="date"), store.writing() as connection:
        create(connection, kinds.LUNCH, homes[0], {}, columns)


def test_pages_hold_each_record_once_in_the_order_made(store: Store, homes: tuple[UUID, UUID]) -> None:
    """Also those made between two pages."""
    with store.writing() as connection:
        made = [create(connection, kinds.FOOD, homes[0], {}, {"name": f"{n}"}).id for n in range(25)]
    found: list[UUID] = []
    after = None
    while True:
        with store.writing() as connection:
            some = page(connection, kinds.FOOD, homes[0], after, 7)
            if len(found) == 7:
                made.append(create(connection, kinds.FOOD, homes[0], {}, {"name": "meanwhile"}).id)
        if not some:
            break
        found += [record.id for record in some]
        after = some[-1].id
    assert found == made == sorted(made)


def test_a_household_leaves_with_all_it_keeps(store: Store) -> None:
    """Nothing with its id is left in any table; the other household's rows are all there."""
    household = fill(store, 3)
    before = everything(store)
    with store.writing() as connection:
        remove_household(connection, household)
    after = everything(store)
    assert repr(household) not in repr(after)
    assert {name: len(rows) * 2 for name, rows in after.items()} == {name: len(rows) for name, rows in before.items()}
    with pytest.raises(NotThere), store.writing() as connection:
        remove_household(connection, household)


def test_a_key_opens_its_household_until_it_is_revoked(store: Store, homes: tuple[UUID, UUID]) -> None:
    """Two secrets never meet; only a hash is kept; another household cannot revoke it."""
    with store.writing() as connection:
        key, secret = create_key(connection, homes[0], "tablet", "pack")
        other, other_secret = create_key(connection, homes[1], "tablet", "pack")
    assert secret != other_secret
    assert secret not in repr(everything(store))
    assert hash_of(secret) in repr(everything(store))
    with store.writing() as connection:
        assert key_of_secret(connection, secret) == key
        assert key_of_secret(connection, secret[:-1]) is None
        with pytest.raises(NotThere):
            revoke_key(connection, homes[1], key.id)
        revoke_key(connection, homes[0], key.id)
        assert key_of_secret(connection, secret) is None
        assert key_of_secret(connection, other_secret) == other
        assert [one.revoked_at is None for one in keys_of(connection, homes[0])] == [False]
