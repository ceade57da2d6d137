"""Promise: of people who change what a household says of itself at once, none loses a change, and no rule names a food that goes."""

import threading
from uuid import UUID

import pytest
from pydantic_core import to_json

from service.domain.errors import ManyFaults, NotThere
from service.jobs.household.access.households import make_household
from service.jobs.household.kinds import FOODS
from service.jobs.household.records import keep_record, remove_record
from service.jobs.household.requests import KeptFood
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


def test_a_food_that_goes_while_a_rule_names_it(store: Store, household: UUID) -> None:
    """Whichever is first: the rule is refused, or goes with the food; and neither waits for the other in vain."""
    label = KeptFood.model_validate({"name": "bar", "serving": {"name": "bar", "grams": 35.0}})
    for _ in range(ROUNDS):
        with store.writing() as connection:
            food = str(keep_record(connection, FOODS, household, label, None).record.id)
        together = threading.Barrier(2)
        told: list[str] = []

        def rule(food: str = food, together: threading.Barrier = together, told: list[str] = told) -> None:
            together.wait()
            try:
                with store.writing() as connection:
                    edit_settings(connection, household, to_json({"keep_in_fridge": [{"food": food, "portions": 1.0}]}))
            except (NotThere, ManyFaults):
                told.append("refused")
            else:
                told.append("kept")

        def remove(food: str = food, together: threading.Barrier = together, told: list[str] = told) -> None:
            together.wait()
            with store.writing() as connection:
                remove_record(connection, FOODS, household, food, lambda _version: None)
            told.append("removed")

        workers = [threading.Thread(target=rule), threading.Thread(target=remove)]
        for worker in workers:
            worker.start()
        for worker in workers:
            worker.join()
        assert set(told) in ({"kept", "removed"}, {"refused", "removed"})
        with store.reading() as connection:
            assert settings_of(connection, household).keep_in_fridge == []
