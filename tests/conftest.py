"""Fixtures for all tests."""

from tests.stores import (  # noqa: F401 - pytest finds fixtures by their names here
    backend,
    empty_url,
    postgres_server,
    postgres_url,
    shared_database,
    sqlite_template,
    store,
    store_url,
)
