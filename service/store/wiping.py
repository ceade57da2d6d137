"""What is deleted leaves nothing behind in the files of the store.

SQLite overwrites what it deletes (``secure_delete``), but rows that it has moved between pages leave copies in what is free of
a page. Only ``VACUUM``, which writes the whole file anew, is rid of them; after it the write-ahead log is emptied. Both
may have to wait for others who use the store. So the deletion itself leaves a mark in the file (``user_version``), and
whoever comes next makes it good: the next deletion, the server when it stops or starts, ``packed-lunch purge``.

PostgreSQL gives the room of deleted rows free with ``VACUUM``, which only the owner of the tables may; it overwrites neither
what is free of a page nor its own log.
"""

import logging
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, Literal

from sqlalchemy import Connection, text
from sqlalchemy.exc import DBAPIError

from service.store.database import Store
from service.store.tables import METADATA

log = logging.getLogger("packed_lunch")

Wiped = Literal["nothing", "done", "later", "no_right"]
"""``nothing`` was to be done; ``done``; ``later``: others are using the store; ``no_right``: PostgreSQL does not let this user."""
DONE, DUE = 0, 1
WAIT_MS = 2_000
"""How long others are waited for, in milliseconds (ours); whoever deletes something waits as long."""
IN_MEMORY = 64_000_000
"""Bytes of a store up to which its copy is made in memory; above, in a file without a name, which holds nothing deleted."""

HELD = "55P03"
"""PostgreSQL's number for: a lock is not to be had."""


def note_removal(connection: Connection) -> None:
    """Note, in the transaction that deletes something, that it must leave nothing behind."""
    if connection.dialect.name == "sqlite":
        connection.exec_driver_sql(f"PRAGMA user_version = {DUE}")


def wipe(store: Store) -> Wiped:
    """Leave nothing behind of what was deleted; outside of any transaction, since others have to be waited for."""
    if store.engine.dialect.name == "sqlite":
        return wipe_file(store)
    return _vacuum_tables(store)


def wipe_file(store: Store) -> Wiped:
    """The same for a SQLite file where a deletion has left its mark; PostgreSQL does it by itself some time after."""
    if store.engine.dialect.name != "sqlite" or store.read_only:
        return "nothing"
    try:
        with _cursor(store) as cursor:
            if _number(cursor, "PRAGMA user_version") != DUE:
                return "nothing"
            size = _number(cursor, "PRAGMA page_count") * _number(cursor, "PRAGMA page_size")
            cursor.execute(f"PRAGMA temp_store = {'MEMORY' if size <= IN_MEMORY else 'FILE'}")
            cursor.execute("VACUUM")
            if not _log_emptied(cursor):
                return _later("somebody is reading")
            cursor.execute(f"PRAGMA user_version = {DONE}")
            return "done"
    except (sqlite3.Error, DBAPIError) as fault:
        return _later(str(fault))


@contextmanager
def _cursor(store: Store) -> Iterator[sqlite3.Cursor]:
    """A cursor of the driver outside of a transaction, which waits for others for a short time only."""
    raw = store.engine.raw_connection()
    try:
        cursor: Any = raw.cursor()
        usual = _number(cursor, "PRAGMA busy_timeout")
        cursor.execute(f"PRAGMA busy_timeout = {WAIT_MS}")
        try:
            yield cursor
        finally:
            cursor.execute("PRAGMA temp_store = DEFAULT")
            cursor.execute(f"PRAGMA busy_timeout = {usual}")
            cursor.close()
    finally:
        raw.close()


def _number(cursor: sqlite3.Cursor, pragma: str) -> int:
    return int(cursor.execute(pragma).fetchone()[0])


def _log_emptied(cursor: sqlite3.Cursor) -> bool:
    busy, _frames, _moved = cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
    return not busy


def _later(why: str) -> Wiped:
    log.warning(
        "What was deleted can still be found in the store's file (%s). The next purge, stop or start removes it.", why
    )
    return "later"


def _vacuum_tables(store: Store) -> Wiped:
    """Vacuum all tables of ours. A table that is held by another is left out, and so is one that belongs to somebody else."""
    said: list[str] = []

    def note(notice: Any) -> None:
        said.append(str(notice.sqlstate))

    tables = ", ".join(table.name for table in METADATA.sorted_tables)
    try:
        with store.engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
            driver: Any = connection.connection.driver_connection
            driver.add_notice_handler(note)
            try:
                connection.execute(text(f"VACUUM (SKIP_LOCKED, INDEX_CLEANUP ON) {tables}"))
            finally:
                driver.remove_notice_handler(note)
    except DBAPIError as fault:
        return _later(type(fault.orig).__name__)
    if not said:
        return "done"
    if any(one != HELD for one in said):  # the other reason not to vacuum a table, which has no number of its own
        log.warning("The room of deleted rows is not given free now: only the owner of the tables may VACUUM them.")
        return "no_right"
    return _later("somebody is using a table")
