"""What is deleted: a file of an older version is overwritten too; PostgreSQL gives the room free, where it may."""

import logging
import sqlite3
from pathlib import Path

import psycopg
import pytest
from sqlalchemy import text

from service.store.access.households import create_household, remove_household
from service.store.database import Store, connect
from service.store.household import kinds
from service.store.household.records import create, remove
from service.store.migrate import open_store
from service.store.wiping import wipe
from tests.postgres import PostgresServer

WORD = "quillwyn"


def test_only_where_something_was_deleted(store: Store, backend: str) -> None:
    """SQLite: without its mark in the file nothing is written anew; the mark goes with the work."""
    if backend != "sqlite":
        pytest.skip("PostgreSQL needs no mark")
    with store.writing() as connection:
        household = create_household(connection, {})
        child = create(connection, kinds.CHILD, household, {}, {"name": WORD})
    assert wipe(store) == "nothing"
    with store.writing() as connection:
        remove(connection, kinds.CHILD, household, child.id)
    assert (wipe(store), wipe(store)) == ("done", "nothing")


def test_a_file_written_without_overwriting(sqlite_template: Path, tmp_path: Path) -> None:
    """As an older version left it: with rows deleted and not overwritten. The first deletion takes them along."""
    file = tmp_path / "store.sqlite3"
    file.write_bytes(sqlite_template.read_bytes())
    plain = sqlite3.connect(file)
    plain.execute("PRAGMA secure_delete = OFF")
    rows = [(f"{number:032x}", f'{{"name": "{WORD * 50}"}}') for number in range(200)]
    plain.executemany("INSERT INTO households VALUES (?, 1, '2026-01-01', '2026-01-01', ?)", rows)
    plain.commit()
    plain.execute("DELETE FROM households")
    plain.commit()
    plain.close()
    assert WORD.encode() in file.read_bytes()
    store = open_store(f"sqlite:///{file}")
    with store.writing() as connection:
        household = create_household(connection, {})
    with store.writing() as connection:
        remove_household(connection, household)
    assert wipe(store) == "done"
    assert WORD.encode() not in file.read_bytes()
    store.close()


def test_somebody_who_writes_is_not_waited_for_long(
    store: Store, backend: str, caplog: pytest.LogCaptureFixture, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is done later, and one line says so."""
    if backend != "sqlite":
        pytest.skip("PostgreSQL has many writers")
    monkeypatch.setattr("service.store.wiping.WAIT_MS", 50)
    with store.writing() as connection:
        remove_household(connection, create_household(connection, {}))
    with store.writing(), caplog.at_level(logging.WARNING, "packed_lunch"):
        assert wipe(store) == "later"
    assert len(caplog.records) == 1
    assert wipe(store) == "done"


def _dead_rows(url: str) -> int:
    query = "SELECT count(*) FROM heap_page_items(get_raw_page('children', 0)) WHERE lp_len > 0"
    with psycopg.connect(url, autocommit=True) as connection:
        connection.execute("CREATE EXTENSION IF NOT EXISTS pageinspect")
        pages = connection.execute("SELECT pg_relation_size('children') / 8192").fetchone()
        if pages == (0,):
            return 0
        (count,) = connection.execute(query).fetchone() or (0,)
        return int(count)


@pytest.mark.postgres
def test_postgresql_gives_the_room_free(postgres_server: PostgresServer) -> None:
    """After VACUUM no row that was deleted is left in the table for anybody to read."""
    url = postgres_server.new_database()
    store = open_store(url)
    with store.writing() as connection:
        household = create_household(connection, {})
        made = [create(connection, kinds.CHILD, household, {}, {"name": f"{WORD} {number}"}) for number in range(20)]
    with store.writing() as connection:
        for child in made[:10]:
            remove(connection, kinds.CHILD, household, child.id)
    assert _dead_rows(url) == 20
    assert wipe(store) == "done"
    assert _dead_rows(url) == 10
    store.close()


@pytest.mark.postgres
def test_postgresql_without_the_right(postgres_server: PostgresServer, caplog: pytest.LogCaptureFixture) -> None:
    """A user who does not own the tables: the deletion stands, and one line says what was not done."""
    url = postgres_server.new_database()
    store = open_store(url)
    with store.writing() as connection:
        connection.execute(text("DROP ROLE IF EXISTS guest"))
        connection.execute(text("CREATE ROLE guest LOGIN"))
        connection.execute(text("GRANT ALL ON ALL TABLES IN SCHEMA public TO guest"))
    guest = connect(url.replace("tests@", "guest@"))
    with guest.writing() as connection:
        remove_household(connection, create_household(connection, {}))
    with caplog.at_level(logging.WARNING, "packed_lunch"):
        assert wipe(guest) == "no_right"
    assert len(caplog.records) == 1
    guest.close()
    with store.writing() as connection:
        connection.execute(text("DROP OWNED BY guest"))
        connection.execute(text("DROP ROLE guest"))
    store.close()
