"""Promise: every commit moves the mark by which devices hear of changes, in whichever order commits come."""

import threading
from collections.abc import Callable
from typing import NamedTuple
from uuid import UUID

import pytest

from service.store.access.households import change_household, create_household
from service.store.database import Store
from service.store.household import kinds
from service.store.household.changes import mark_of
from service.store.household.records import Connection, create, remove, replace
from tests.served import GENEROUS


class Home(NamedTuple):
    """A household with two foods."""

    id: UUID
    one: UUID
    other: UUID


@pytest.fixture
def home(store: Store) -> Home:
    with store.writing() as connection:
        household = create_household(connection, {"name": "Hazel"})
        one, other = (create(connection, kinds.FOOD, household, {}, {"name": name}).id for name in ("one", "other"))
    return Home(household, one, other)


def _mark(store: Store, home: Home) -> str:
    with store.reading() as connection:
        return mark_of(connection, home.id)


def _edit(connection: Connection, home: Home) -> None:
    replace(connection, kinds.FOOD, home.id, home.one, 1, {"edited": True}, {"name": "one"})


def _remove(connection: Connection, home: Home) -> None:
    remove(connection, kinds.FOOD, home.id, home.one)


def _remove_and_make(connection: Connection, home: Home) -> None:
    remove(connection, kinds.FOOD, home.id, home.one)
    create(connection, kinds.FOOD, home.id, {}, {"name": "in its place"})


def _make(connection: Connection, home: Home) -> None:
    create(connection, kinds.FOOD, home.id, {}, {"name": "one more"})


def _settings(connection: Connection, home: Home) -> None:
    change_household(connection, home.id, {"name": "Hazel and Rowan"})


@pytest.mark.parametrize("change", [_edit, _remove, _remove_and_make, _make, _settings])
def test_a_change_that_is_committed_late_moves_the_mark(
    store: Store, home: Home, change: Callable[[Connection, Home], None]
) -> None:
    """Two devices write at once, and a third looks after each commit.

    On PostgreSQL the change that began first is committed last; on SQLite the second waits for the first.
    """
    marks = [_mark(store, home)]
    may_go_on = threading.Event()

    def edit_the_other() -> None:
        with store.writing() as connection:
            assert may_go_on.wait(GENEROUS)
            replace(connection, kinds.FOOD, home.id, home.other, 1, {"edited": True}, {"name": "other"})

    second = threading.Thread(target=edit_the_other)
    overtakes = store.engine.dialect.name == "postgresql"
    with store.writing() as first:
        change(first, home)
        second.start()
        if overtakes:
            may_go_on.set()
            second.join(GENEROUS)
            marks.append(_mark(store, home))
    marks.append(_mark(store, home))
    if not overtakes:
        may_go_on.set()
        second.join(GENEROUS)
        marks.append(_mark(store, home))
    assert len(set(marks)) == 3, marks


def test_without_a_change_the_mark_stays(store: Store, home: Home) -> None:
    """Asked again, and while another household writes."""
    before = _mark(store, home)
    with store.writing() as connection:
        other = create_household(connection, {"name": "Aspen"})
        create(connection, kinds.FOOD, other, {}, {"name": "one"})
    assert _mark(store, home) == before
