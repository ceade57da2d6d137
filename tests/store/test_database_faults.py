"""Promise: what a database says is said in our words, with what to do about it, whatever language its server speaks."""

import sqlite3
from pathlib import Path

import psycopg
import pytest
from psycopg import errors
from sqlalchemy import text

from service.domain.errors import StoreFault
from service.store.database import connect
from service.store.database_faults import store_fault
from service.store.files import sqlite_file
from service.store.migrate import open_store

SPANISH = "cancelando la sentencia debido a que se agotó el tiempo"


@pytest.mark.parametrize(
    ("raised", "code"),
    [
        (errors.LockNotAvailable(SPANISH), "store-locked"),
        (errors.QueryCanceled(SPANISH), "store-locked"),
        (errors.DeadlockDetected(SPANISH), "store-locked"),
        (errors.SerializationFailure(SPANISH), "store-locked"),
        (errors.DiskFull(SPANISH), "disk-full"),
        (errors.TooManyConnections(SPANISH), "store-full-house"),
        (errors.ReadOnlySqlTransaction(SPANISH), "store-read-only"),
        (errors.AdminShutdown(SPANISH), "store-no-answer"),
        (psycopg.OperationalError("connection refused"), "store-no-answer"),
        (sqlite3.OperationalError("database or disk is full"), "disk-full"),
        (sqlite3.OperationalError("disk I/O error"), "store-disk-error"),
        (sqlite3.OperationalError("database is locked"), "store-locked"),
        (sqlite3.OperationalError("attempt to write a readonly database"), "store-read-only"),
        (sqlite3.DatabaseError("database disk image is malformed"), "store-damaged"),
        (sqlite3.DatabaseError("file is not a database"), "no-store"),
    ],
)
def test_each_fault_has_its_words(raised: Exception, code: str) -> None:
    """psycopg makes its classes from PostgreSQL's own list of codes; SQLite's words are those of sqlite.org/rescode.html."""
    assert store_fault(raised).code == code


def test_sqlite_that_is_full_is_a_fault_that_says_so(tmp_path: Path) -> None:
    """Its own limit of pages raises what a full disk raises (sqlite.org/rescode.html#full)."""
    url = f"sqlite:///{tmp_path / 'store.sqlite3'}"
    open_store(url).close()
    store = connect(url)

    def write() -> None:
        with store.writing() as connection:
            connection.execute(text("PRAGMA max_page_count=1"))
            connection.execute(text("CREATE TABLE large (one TEXT)"))
            connection.execute(text("INSERT INTO large VALUES (hex(randomblob(1000000)))"))

    try:
        with pytest.raises(StoreFault, match="disk-full"):
            write()
    finally:
        store.close()


def test_a_new_store_without_room_is_a_fault(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Not an error of the driver: on a full disk its file can be made and nothing put into it."""

    def full(_file: Path) -> None:
        raise sqlite3.OperationalError("database or disk is full")

    monkeypatch.setattr(sqlite_file, "_make", full)
    with pytest.raises(StoreFault, match="disk-full"):
        connect(f"sqlite:///{tmp_path / 'store.sqlite3'}")
