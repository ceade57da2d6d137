"""Promise: of two people who change different things that a household says of itself at once, neither loses his change."""

import threading
from uuid import UUID

import pytest
from pydantic_core import to_json

from service.jobs.household.access.households import make_household
from service.jobs.household.settings import edit_settings, settings_of
from service.store.database import Store

ROUNDS = 20


@pytest.fixture
def household(store: Store) -> UUID:
    """A household that has said nothing yet."""
    return make_household(store, "Hazel", 13)[0]


def test_changes_at_once_are_all_kept(store: Store, household: UUID) -> None:
    """A merge patch names what it changes; the rest is what the other wrote."""
    for number in range(1, ROUNDS + 1):
        patches = [{"name": f"Hazel {number}"}, {"retention_months": number}, {"salts_cooking_water": number % 2 == 0}]
        together = threading.Barrier(len(patches))

        def change(patch: dict[str, object], together: threading.Barrier = together) -> None:
            together.wait()
            with store.writing() as connection:
                edit_settings(connection, household, to_json(patch))

        workers = [threading.Thread(target=change, args=(patch,)) for patch in patches]
        for worker in workers:
            worker.start()
        for worker in workers:
            worker.join()
        with store.reading() as connection:
            found = settings_of(connection, household).model_dump()
        assert {name: found[name] for patch in patches for name in patch} == {
            name: value for patch in patches for name, value in patch.items()
        }
