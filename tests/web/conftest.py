"""Kitchens for the tests of the pages, on SQLite and on PostgreSQL."""

from datetime import date

import pytest

from service.jobs.household.access.households import today
from service.store.database import Store
from tests.web.kitchens import Kitchen, demo_kitchen, empty_kitchen


@pytest.fixture
def on() -> date:
    """The kitchen's own day."""
    return today()


@pytest.fixture
def kitchen(store: Store, store_url: str, on: date) -> Kitchen:
    """The invented family."""
    return demo_kitchen(store, store_url, on)


@pytest.fixture
def new_kitchen(store: Store, store_url: str) -> Kitchen:
    """A household that has nothing yet."""
    return empty_kitchen(store, store_url)


@pytest.fixture
def small_kitchen(new_kitchen: Kitchen) -> Kitchen:
    """A household with one child and nothing else."""
    ash = {"nickname": "Ash", "standard": "us-school-lunch", "age_group": "grades-k-5"}
    new_kitchen.children["Ash"] = new_kitchen.keep("children", ash)
    return new_kitchen
