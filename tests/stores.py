"""Stores for the tests: the same test runs on a SQLite file and on a real PostgreSQL server.

``store_url``: the address of a store of this test's own, its tables made, nothing in it. ``empty_url``: not even tables.
``store``: the first of the two, open.
"""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import delete, inspect

from service.store.database import Store, connect
from service.store.migrate import HEAD, open_store, revision_of
from service.store.tables import METADATA, households
from tests.postgres import PostgresServer, postgres_running

TABLES = len(METADATA.tables) + 1  # and that of the migrations
BOTH = ["sqlite", pytest.param("postgresql", marks=pytest.mark.postgres)]


@pytest.fixture(scope="session")
def postgres_server() -> Iterator[PostgresServer]:
    """A PostgreSQL server for all tests of this run; skips where it is not installed."""
    with postgres_running() as server:
        yield server


@pytest.fixture(scope="session")
def shared_database(postgres_server: PostgresServer) -> str:
    """The address of a database that one test after the other uses: making one takes long."""
    return postgres_server.new_database()


@pytest.fixture
def postgres_url(postgres_server: PostgresServer, shared_database: str) -> str:
    """The address of a PostgreSQL store: its tables are made, nothing is in it."""
    name = shared_database.rpartition("/")[2]
    postgres_server.disconnect(name)
    left = connect(shared_database)
    with left.writing() as connection:
        as_made = revision_of(connection) == HEAD and len(inspect(connection).get_table_names()) == TABLES
        if as_made:  # TRUNCATE would make the files of every table anew: for few rows it takes five times as long
            connection.execute(delete(households))
    left.close()
    if not as_made:
        postgres_server.ask("DROP SCHEMA public CASCADE; CREATE SCHEMA public", name)
        open_store(shared_database).close()
    return shared_database


@pytest.fixture(scope="session")
def sqlite_template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A SQLite file with the tables made, to copy."""
    file = tmp_path_factory.mktemp("template") / "store.sqlite3"
    open_store(f"sqlite:///{file}").close()
    return file


@pytest.fixture(params=BOTH)
def backend(request: pytest.FixtureRequest) -> str:
    """Which database: ``sqlite`` or ``postgresql``."""
    return str(request.param)


@pytest.fixture
def store_url(backend: str, request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """The address of a store of this test's own: its tables are made, nothing is in it."""
    if backend == "sqlite":
        file = tmp_path / "store.sqlite3"
        shutil.copyfile(request.getfixturevalue("sqlite_template"), file)
        return f"sqlite:///{file}"
    return request.getfixturevalue("postgres_url")


@pytest.fixture
def empty_url(backend: str, request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """The address of a store of this test's own without tables."""
    if backend == "sqlite":
        return f"sqlite:///{tmp_path / 'empty.sqlite3'}"
    server: PostgresServer = request.getfixturevalue("postgres_server")
    return server.new_database()


@pytest.fixture
def store(store_url: str) -> Iterator[Store]:
    """A store of this test's own, open."""
    one = open_store(store_url)
    yield one
    one.close()
