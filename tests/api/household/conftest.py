"""A household in a store of its own, on SQLite and on PostgreSQL; ``store_url`` is that of ``tests/stores.py``."""

from collections.abc import Iterator

import pytest
from starlette.testclient import TestClient

from service.store.database import Store
from tests.api.clients import client
from tests.api.household.homes import Home, new_home


@pytest.fixture
def kitchen(store_url: str) -> Iterator[TestClient]:
    """A service with an empty store."""
    with client(database_url=store_url) as service:
        yield service


@pytest.fixture
def home(kitchen: TestClient, store: Store) -> Home:
    """A household that keeps nothing yet."""
    return new_home(kitchen, store)


@pytest.fixture
def neighbours(kitchen: TestClient, store: Store) -> Home:
    """Another household in the same store."""
    return new_home(kitchen, store)
