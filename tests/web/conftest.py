"""Kitchens for the tests of the pages, on SQLite and on PostgreSQL."""

from collections.abc import Iterator
from contextlib import closing
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
def kitchen(store: Store, store_url: str, on: date) -> Iterator[Kitchen]:
    """The invented family."""
    with closing(demo_kitchen(store, store_url, on)) as made:
        yield made


@pytest.fixture
def new_kitchen(store: Store, store_url: str) -> Iterator[Kitchen]:
    """A household that has nothing yet."""
    with closing(empty_kitchen(store, store_url)) as made:
        yield made


@pytest.fixture
def small_kitchen(new_kitchen: Kitchen) -> Kitchen:
    """A household with one child and nothing else."""
    ash = {"nickname": "Ash", "standard": "us-school-lunch", "age_group": "grades-k-5"}
    new_kitchen.children["Ash"] = new_kitchen.keep("children", ash)
    return new_kitchen
