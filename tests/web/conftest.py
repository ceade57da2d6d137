"""Kitchens for the tests of the pages, on SQLite and on PostgreSQL."""

from collections.abc import Iterator
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
    made = demo_kitchen(store, store_url, on)
    yield made
    made.close()


@pytest.fixture
def new_kitchen(store: Store, store_url: str) -> Iterator[Kitchen]:
    """A household that has nothing yet."""
    made = empty_kitchen(store, store_url)
    yield made
    made.close()
