"""One application for all tests that only read."""

from collections.abc import Iterator

import pytest
from starlette.testclient import TestClient

from tests.api.clients import client


@pytest.fixture(scope="session")
def service() -> Iterator[TestClient]:
    """A client of an application with the usual settings."""
    with client() as one:
        yield one
