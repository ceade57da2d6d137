"""Opens the store and hands out transactions: a SQLite file by default, PostgreSQL by its URL.

SQLite: WAL, so that reading and writing do not wait for each other; foreign keys on; every commit is on the disk before
it is acknowledged (``synchronous=FULL``); a writer takes its place in line at once (``BEGIN IMMEDIATE``), so that two
writers wait and none is refused half way.

Every wait ends: for a connection, for a lock, for a statement. Then it is a ``StoreFault``, which is answered 503.
"""

import json
import logging
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import Any
from urllib.parse import parse_qsl

from sqlalchemy import URL, Connection, Engine, create_engine, event, make_url, text
from sqlalchemy.exc import (
    ArgumentError,
    DatabaseError,
    DataError,
    IntegrityError,
    NotSupportedError,
    ProgrammingError,
)
from sqlalchemy.exc import TimeoutError as PoolTimeout
from sqlalchemy.pool import ConnectionPoolEntry

from service.domain.errors import BadInput, StoreFault
from service.domain.messages import message
from service.store.database_faults import store_fault
from service.store.files import sqlite_file
from service.store.files.working_folder import working_folder

BUSY_MS = 5_000
"""How long a writer waits for its turn, in milliseconds. Readers wait for no writer."""
READER_BUSY_MS = 1_000
"""How long a reader waits where somebody keeps a whole SQLite file to himself (``locking_mode=EXCLUSIVE``), in milliseconds."""
CONNECTIONS, MORE_CONNECTIONS = 10, 20
"""Connections to the database that are kept, and how many more there may be for a while."""
HARDLY_ANY_MS = 20
"""How long it is waited where waiting is not worth while, in milliseconds."""
POOL_S = 3
"""How long one of them is waited for, in seconds."""
STATEMENT_MS, IDLE_MS = 30_000, 300_000
"""PostgreSQL: how long one statement may take, and a transaction in which nothing is asked, in milliseconds."""
CONNECT_S = 3
"""PostgreSQL: how long a new connection may take, in seconds."""
UNHEARD_MS = 10_000
"""PostgreSQL: how long a connection is believed in that is not answered at all, in milliseconds (Linux)."""
MADE_READY_MS = 60_000
"""How long a server waits for another that makes the store ready, in milliseconds; a migration itself may take its time."""
WIPE = "secure_delete=ON"
"""What is deleted is overwritten; what that leaves behind, ``wiping.py`` removes."""
FILE_NAME = "packed-lunch.sqlite3"
ONE_AT_A_TIME = 7_105_116
"""Number of the lock that PostgreSQL servers take while they make a store ready (ours, arbitrary)."""
WRITING, PATIENCE_MS = "packed_lunch_writing", "packed_lunch_patience"
OF_THE_STATEMENT = (DataError, IntegrityError, NotSupportedError, ProgrammingError)
"""Faults that speak of what was asked, not of the database."""

logging.getLogger("sqlalchemy.pool").setLevel(logging.CRITICAL)
"""What the pool meets while it gives up a connection that broke is not told: the fault itself says that the store does not answer."""


class Store:
    """A store that is open: transactions for reading and for writing.

    ``file``: that of a SQLite store. ``read_only``: the file or its folder may not be written to.
    """

    def __init__(self, engine: Engine, file: Path | None = None, *, read_only: bool = False) -> None:
        self.engine = engine
        self.file = file
        self.read_only = read_only
        self.with_it = ExitStack()
        self.reader = engine
        self.writer = engine.execution_options(**{WRITING: True})
        self.hasty_writer = engine.execution_options(**{WRITING: True, PATIENCE_MS: HARDLY_ANY_MS})
        if engine.dialect.name == "postgresql":
            self.reader = engine.execution_options(isolation_level="REPEATABLE READ", postgresql_readonly=True)

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """A transaction that only reads: one picture of the store, whatever is written meanwhile."""
        with self._transaction(self.reader) as connection:
            yield connection

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """A transaction that is kept whole or not at all."""
        if self.read_only:
            raise StoreFault(pointer="", value="the store", problem=message("fault.store-read-only"))
        with self._transaction(self.writer) as connection:
            yield connection

    def write_unless_busy(self, write: Callable[[Connection], None]) -> bool:
        """Write what may be left undone, without waiting for others that write: whether it was written."""
        try:
            with self._transaction(self.hasty_writer) as connection:
                write(connection)
        except StoreFault:
            return False  # another writes, or the disk is full or read-only: what is stored can still be read
        return True

    @contextmanager
    def _transaction(self, engine: Engine) -> Iterator[Connection]:
        try:
            with engine.begin() as connection:
                yield connection
        except PoolTimeout as fault:
            raise StoreFault(pointer="", value="the store", problem=message("fault.store-full-house")) from fault
        except DatabaseError as fault:
            if isinstance(fault, OF_THE_STATEMENT):
                raise
            raise store_fault(fault.orig) from fault

    def close(self) -> None:
        """Give back all connections."""
        self.engine.dispose()
        self.with_it.close()


def one_at_a_time(connection: Connection) -> None:
    """Wait until no other server is making this store ready (SQLite: a writer waits for the other anyway)."""
    if connection.dialect.name == "postgresql":
        connection.execute(text(f"SET LOCAL lock_timeout = {MADE_READY_MS}"))
        connection.execute(text("SET LOCAL statement_timeout = 0"))
        connection.execute(text(f"SELECT pg_advisory_xact_lock({ONE_AT_A_TIME})"))


def default_url() -> str:
    """The SQLite file in this platform's folder for a user's data."""
    from platformdirs import user_data_path

    return f"sqlite:///{user_data_path('packed-lunch', appauthor=False) / FILE_NAME}"


def connect(url: str) -> Store:
    """A store at an address; its tables are not looked at. ``BadInput`` for an address of another kind."""
    try:
        address = make_url(url)
    except ArgumentError as fault:
        raise _no_address() from fault
    if address.drivername == "sqlite":
        if address.database in (None, "", ":memory:"):
            raise _no_address()
        return _sqlite_store(url, Path(str(address.database)))
    if address.get_backend_name() == "postgresql":
        return Store(_postgresql(address.set(drivername="postgresql+psycopg").render_as_string(hide_password=False)))
    raise _no_address()


def _no_address() -> BadInput:
    return BadInput(
        pointer="PACKED_LUNCH_DATABASE_URL",
        value="(an address)",
        problem=message("fault.no-store-address"),
    )


def copy_of(file: Path) -> Store:
    """A copy of a store, in a folder of ours that is removed when it is closed; for what may not be written to where it is."""
    with ExitStack() as kept:
        copy = sqlite_file.copied(file, kept.enter_context(working_folder()))
        store = Store(_sqlite(f"sqlite:///{copy}"), file)
        store.with_it = kept.pop_all()
    return store


_POOL: dict[str, Any] = {"pool_size": CONNECTIONS, "max_overflow": MORE_CONNECTIONS, "pool_timeout": POOL_S}


def _sqlite_store(url: str, file: Path) -> Store:
    opening = sqlite_file.look_at(file)
    if opening.by_copy:
        store = copy_of(file)
        store.read_only = True
        return store
    if opening.address is not None:
        address = URL.create("sqlite", database=opening.address.partition("?")[0], query=_query(opening.address))
        return Store(_sqlite(address, to_write=False), file, read_only=True)
    return Store(_sqlite(url), file)


def _query(address: str) -> dict[str, str]:
    return {"uri": "true", **dict(parse_qsl(address.partition("?")[2]))}


def _sqlite(url: str | URL, *, to_write: bool = True) -> Engine:
    connect_args = {"timeout": READER_BUSY_MS / 1000, "check_same_thread": False}
    engine = create_engine(url, connect_args=connect_args, hide_parameters=True, json_deserializer=_json, **_POOL)
    to_be_written = ("journal_mode=WAL", "synchronous=FULL", WIPE) if to_write else ()

    @event.listens_for(engine, "connect")
    def prepare(connection: Any, _entry: ConnectionPoolEntry) -> None:
        connection.isolation_level = None  # the driver begins no transactions of its own
        cursor = connection.cursor()
        for pragma in (*to_be_written, "foreign_keys=ON"):
            cursor.execute(f"PRAGMA {pragma}")
        cursor.close()

    @event.listens_for(engine, "begin")
    def begin(connection: Connection) -> None:
        options = connection.get_execution_options()
        writing = options.get(WRITING, False)
        patience = options.get(PATIENCE_MS, BUSY_MS if writing else READER_BUSY_MS)
        if connection.info.get(PATIENCE_MS) != patience:  # it stays as it was set, whoever uses the connection next
            connection.exec_driver_sql(f"PRAGMA busy_timeout={patience}")
            connection.info[PATIENCE_MS] = patience
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writing else "BEGIN")

    return engine


def _json(written: str) -> Any:
    """A body as it was stored; ``StoreFault`` where a damaged disk has changed it."""
    try:
        return json.loads(written)
    except ValueError as fault:
        raise StoreFault(pointer="", value="the store", problem=message("fault.store-damaged")) from fault


def _postgresql(url: str) -> Engine:
    try:
        engine = create_engine(
            url,
            pool_pre_ping=True,
            isolation_level="READ COMMITTED",
            hide_parameters=True,
            connect_args=_bounds(url),
            **_POOL,
        )
    except ModuleNotFoundError as fault:
        raise BadInput(
            pointer="PACKED_LUNCH_DATABASE_URL",
            value="(a PostgreSQL address)",
            problem=message("fault.no-store-driver"),
        ) from fault

    @event.listens_for(engine, "begin")
    def begin(connection: Connection) -> None:
        patience = connection.get_execution_options().get(PATIENCE_MS)
        if patience is not None:
            connection.exec_driver_sql(f"SET LOCAL lock_timeout = {patience}")

    return engine


def _bounds(url: str) -> dict[str, Any]:
    """What PostgreSQL and its driver are told of waits; what the address says of its own holds, too."""
    given = make_url(url).query
    bounds = f"-c lock_timeout={BUSY_MS} -c statement_timeout={STATEMENT_MS} -c idle_in_transaction_session_timeout={IDLE_MS}"
    own = {"connect_timeout": CONNECT_S, "tcp_user_timeout": UNHEARD_MS}
    return {
        "options": f"{bounds} {given.get('options', '')}".strip(),
        **{name: value for name, value in own.items() if name not in given},
    }
