"""Promise: no wait for the database lasts; reading waits for no writer, and what had to give up says so as a fault of the store."""

import sqlite3
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import psycopg
import pytest
from sqlalchemy import Insert, Table, text

from service.domain.errors import StoreFault
from service.store import backup, database
from service.store.backup import write_backup
from service.store.database import Store, connect
from service.store.migrate import open_store
from tests.store.filled import fill

COUNT = text("SELECT count(*) FROM households")
AT_ONCE_S = 0.25
PATIENT_S = 1.0
"""Less than a reader would wait."""


@pytest.fixture
def sqlite_file(tmp_path: Path) -> Path:
    """A store with something in it."""
    file = tmp_path / "one.sqlite3"
    store = open_store(f"sqlite:///{file}")
    fill(store, 2)
    store.close()
    return file


@pytest.fixture
def hasty(monkeypatch: pytest.MonkeyPatch) -> None:
    """Tenths of the seconds that are waited for otherwise."""
    monkeypatch.setattr(database, "BUSY_MS", 300)
    monkeypatch.setattr(database, "READER_BUSY_MS", 100)


@pytest.mark.parametrize("begin", ["BEGIN IMMEDIATE", "BEGIN EXCLUSIVE"])
@pytest.mark.usefixtures("hasty")
def test_reading_waits_for_no_writer_of_another_program(sqlite_file: Path, begin: str) -> None:
    """Opening the store included; a writer gives up after its time, one that does not wait does so at once."""
    with closing(sqlite3.connect(sqlite_file, isolation_level=None)) as other:
        other.execute(begin)
        with closing(open_store(f"sqlite:///{sqlite_file}")) as store, store.reading() as connection:
            assert connection.execute(COUNT).scalar()
            with pytest.raises(StoreFault, match="store-locked"), store.writing():
                pass
            began = time.monotonic()
            assert not store.write_unless_busy(lambda connection: connection.execute(COUNT))
            assert time.monotonic() - began < AT_ONCE_S


@pytest.mark.usefixtures("hasty")
def test_a_file_that_another_program_keeps_to_itself_is_a_fault(sqlite_file: Path) -> None:
    """Only this holds readers up in WAL mode (sqlite.org/wal.html, section 8); they give up."""
    with closing(sqlite3.connect(sqlite_file, isolation_level=None)) as other:
        other.execute("PRAGMA locking_mode=EXCLUSIVE")
        other.execute("BEGIN EXCLUSIVE")
        with pytest.raises(StoreFault, match="store-locked"):
            open_store(f"sqlite:///{sqlite_file}")


def test_a_pool_that_is_all_taken_is_a_fault(sqlite_file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Not an error of the pool's library."""
    monkeypatch.setattr(database, "_POOL", {"pool_size": 1, "max_overflow": 0, "pool_timeout": 0.1})
    with (
        closing(connect(f"sqlite:///{sqlite_file}")) as store,
        store.reading(),
        pytest.raises(StoreFault, match="store-full-house"),
        store.reading(),
    ):
        pass


@pytest.fixture
def postgres_store(postgres_url: str, hasty: None) -> Iterator[Store]:
    """A store on PostgreSQL that waits for three tenths of a second."""
    store = connect(postgres_url)
    yield store
    store.close()


@pytest.mark.postgres
def test_a_table_that_is_locked_is_a_fault_and_the_others_are_read(postgres_store: Store, postgres_url: str) -> None:
    """Forty that wait for one table leave room for those who read another."""
    faults: list[StoreFault] = []

    def read_locked() -> None:
        try:
            with postgres_store.reading() as connection:
                connection.execute(text("SELECT count(*) FROM children"))
        except StoreFault as fault:
            faults.append(fault)

    with psycopg.connect(postgres_url) as other:
        other.execute("LOCK TABLE children IN ACCESS EXCLUSIVE MODE")
        waiting = [threading.Thread(target=read_locked) for _ in range(40)]
        for one in waiting:
            one.start()
        with postgres_store.reading() as connection:
            assert connection.execute(COUNT).scalar() == 0
        for one in waiting:
            one.join()
    assert len(faults) == 40


@pytest.mark.postgres
def test_postgresql_is_told_of_every_bound(postgres_store: Store) -> None:
    """Asked of the server itself."""
    with postgres_store.reading() as connection:
        told = {
            name: connection.execute(text(f"SHOW {name}")).scalar()
            for name in ("lock_timeout", "statement_timeout", "idle_in_transaction_session_timeout")
        }
    assert told == {
        "lock_timeout": "300ms", "statement_timeout": "30s", "idle_in_transaction_session_timeout": "5min",
    }  # fmt: skip


def test_a_restore_lets_readers_through(store_url: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Between its emptying and its end, reading goes on at once and sees what was there before."""
    with closing(open_store(store_url)) as store:
        fill(store, 2)
        write_backup(store, tmp_path / "backup")
        with store.reading() as connection:
            before = connection.execute(COUNT).scalar()
        seen: list[tuple[object, float]] = []
        put_in = backup.insert

        def read_meanwhile(table: Table) -> Insert:
            began = time.monotonic()
            with store.reading() as connection:
                seen.append((connection.execute(COUNT).scalar(), time.monotonic() - began))
            return put_in(table)

        monkeypatch.setattr(backup, "insert", read_meanwhile)
        backup.restore_backup(store, tmp_path / "backup")
        assert len(seen) > 1
        assert {count for count, _seconds in seen} == {before}
        assert max(seconds for _count, seconds in seen) < PATIENT_S


@pytest.mark.parametrize(
    "before",
    ["", "from service.api.logs.lines import configure_logging; configure_logging('debug')"],
    ids=["command", "service"],
)
def test_a_broken_connection_prints_nothing_of_its_own(before: str) -> None:
    """SQLAlchemy logs what it meets while it gives a broken connection up, with a traceback; the fault says it already."""
    line = "logging.getLogger('sqlalchemy.pool.impl.QueuePool').error('Error closing cursor', stack_info=True)"
    code = f"import logging, service.store.database; {before}\n{line}"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert (done.stdout, done.stderr) == ("", "")
