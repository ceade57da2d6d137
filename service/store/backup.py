"""A backup of the whole store, and its way back: one file of JSON lines, the same for SQLite and PostgreSQL.

::

    {"packed_lunch_backup": 1, "revision": "0002", "made_at": "...", "tables": {"households": {"id": "uuid", ...}, ...}}
    ["households", ["0198...", 1, "2026-11-25T07:30:00+00:00", ..., {...}]]
    ...
    {"end": true, "rows": 4711, "sha256": "..."}

The head names the columns of each table and what their values are; each row gives its values in that order; tables come
in the order in which they can be filled. The last line counts the rows and gives the SHA-256 of all bytes before it: a
file without a right last line is not a backup. It is read from one picture of the store, so it can be made while serving.
It holds all that is stored, hashes of the secrets of access keys and devices too: mode 0600.
"""

import hashlib
import tempfile
import time
from base64 import b64decode, b64encode
from collections.abc import Callable, Iterable, Iterator
from datetime import date, datetime
from itertools import groupby, islice
from pathlib import Path
from typing import Any, NamedTuple
from uuid import UUID

import orjson
from sqlalchemy import (
    JSON,
    Column,
    Connection,
    Date,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Uuid,
    delete,
    insert,
    select,
    text,
)
from sqlalchemy.exc import IntegrityError, OperationalError

from service.domain.errors import BadInput, StoreFault
from service.domain.messages import Message, message
from service.store.database import Store, connect
from service.store.household.records import now
from service.store.migrate import HEAD, known_revisions, upgrade
from service.store.tables import METADATA, Moment
from service.store.whole_file import whole_file
from service.store.wiping import note_removal

SHAPE = 1
"""The number of the shape of a backup; another shape gets another number."""
TRIES, BETWEEN_TRIES_S = 200, 0.05
AT_ONCE = 500
"""Rows put in with one statement."""

Line = tuple[str, list[Any]]


class _Type(NamedTuple):
    """What the values of a column are: the database's type, and the way to JSON and back."""

    column: type[Any]
    out: Callable[[Any], Any]
    back: Callable[[Any], Any]


def _same(value: Any) -> Any:
    return value


_TYPES = {
    "uuid": _Type(Uuid, str, UUID),
    "moment": _Type(Moment, datetime.isoformat, datetime.fromisoformat),
    "day": _Type(Date, date.isoformat, date.fromisoformat),
    "json": _Type(JSON, _same, _same),
    "bytes": _Type(LargeBinary, lambda value: b64encode(value).decode(), b64decode),
    "whole": _Type(Integer, _same, _same),
    "text": _Type(String, _same, _same),
}


class Backup(NamedTuple):
    """What a backup says of itself."""

    revision: str
    made_at: datetime
    rows: int
    tables: dict[str, dict[str, str]]


def write_backup(store: Store, path: Path) -> Backup:
    """Write all that the store holds; ``BadInput`` where the file cannot be written, ``StoreFault`` of the store."""
    made_at, tables = now(), _shape()
    digest, rows = hashlib.sha256(), 0
    with whole_file(path) as file, store.reading() as connection:

        def write(line: Any) -> None:
            written = orjson.dumps(line) + b"\n"
            digest.update(written)
            file.write(written)

        write({"packed_lunch_backup": SHAPE, "revision": HEAD, "made_at": made_at.isoformat(), "tables": tables})
        for line in _lines_of(connection):
            write(line)
            rows += 1
        write({"end": True, "rows": rows, "sha256": digest.hexdigest()})
    return Backup(HEAD, made_at, rows, tables)


def read_backup(path: Path) -> Backup:
    """Read a backup to its end and see that it is whole; ``BadInput`` names the line that is not right."""
    reader = _Reader(path)
    for _ in reader.lines():
        pass
    return reader.backup


def restore_backup(store: Store, path: Path) -> Backup:
    """Put a backup in the place of all that the store holds, in one transaction, while others use the store.

    The file is read to its end before anything is touched; one of an older version is migrated next to the store first.
    ``BadInput`` if it is not a whole backup, ``StoreFault`` if a newer version wrote it: then nothing was changed.
    """
    backup = read_backup(path)
    if backup.revision not in known_revisions():
        raise StoreFault(
            pointer="FILE",
            value=str(path),
            problem=message("fault.backup-newer"),
        )
    try:
        _put(store, path, backup)
    except IntegrityError as fault:
        raise BadInput(
            pointer="FILE",
            value=str(path),
            problem=message("fault.backup-rows-apart"),
        ) from fault
    return backup


def _put(store: Store, path: Path, backup: Backup) -> None:
    if backup.revision == HEAD:
        _replace(store, _Reader(path).lines(), backup.tables)
        return
    with tempfile.TemporaryDirectory(prefix="packed-lunch-") as folder:
        older_store = connect(f"sqlite:///{Path(folder) / 'older.sqlite3'}")
        try:
            upgrade(older_store, backup.revision)
            _replace(older_store, _Reader(path).lines(), backup.tables)
            upgrade(older_store)
            with older_store.reading() as connection:
                _replace(store, _lines_of(connection), _shape())
        finally:
            older_store.close()


def _shape() -> dict[str, dict[str, str]]:
    """The tables of this version: their columns and what the values are."""
    return {
        str(table.name): {str(column.name): _type_of(column) for column in table.columns}
        for table in METADATA.sorted_tables
    }


def _type_of(column: Column[Any]) -> str:
    return next(name for name, one in _TYPES.items() if isinstance(column.type, one.column))


def _lines_of(connection: Connection) -> Iterator[Line]:
    """Every row of every table, in an order that does not change."""
    for table in METADATA.sorted_tables:
        out = [_TYPES[_type_of(column)].out for column in table.columns]
        query = select(table).order_by(*table.primary_key.columns)
        found = connection.execute(query, execution_options={"yield_per": AT_ONCE})
        for row in found:
            yield (
                str(table.name),
                [None if value is None else change(value) for change, value in zip(out, row, strict=True)],
            )


def _replace(store: Store, lines: Iterable[Line], shape: dict[str, dict[str, str]]) -> None:
    """Put rows in the place of all that a store keeps; whole or not at all."""
    tables = {
        name: Table(name, MetaData(), *(Column(column, _TYPES[kind].column) for column, kind in columns.items()))
        for name, columns in shape.items()
    }
    with store.writing() as connection:
        if connection.dialect.name == "postgresql":
            _keep_writers_out(connection, list(tables))
        for table in reversed(tables.values()):
            connection.execute(delete(table))
        note_removal(connection)
        for name, rows in groupby(lines, lambda line: line[0]):
            while some := [_values(shape[name], row) for _, row in islice(rows, AT_ONCE)]:
                connection.execute(insert(tables[name]), some)


def _keep_writers_out(connection: Connection, tables: list[str]) -> None:
    """Nobody writes between the emptying and the filling; all may read (PostgreSQL; on SQLite one writes at a time).

    All locks at once or none, so that no writer stands in the way of this one and this one in the way of that.
    """
    lock = f"LOCK TABLE {', '.join(tables)} IN EXCLUSIVE MODE"
    for _ in range(TRIES):
        try:
            with connection.begin_nested():
                connection.execute(text(lock + " NOWAIT"))
        except OperationalError:
            time.sleep(BETWEEN_TRIES_S)
        else:
            return
    connection.execute(text(lock))


def _values(columns: dict[str, str], row: list[Any]) -> dict[str, Any]:
    return {
        column: None if value is None else _TYPES[kind].back(value)
        for (column, kind), value in zip(columns.items(), row, strict=True)
    }


class _Reader:
    """Reads a backup line by line; ``backup`` is what it says of itself, known once all lines were read."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.backup = Backup("", now(), 0, {})

    def lines(self) -> Iterator[Line]:
        """The rows; ``BadInput`` where the file is not what its last line says."""
        digest, rows = hashlib.sha256(), 0
        try:
            with self.path.open("rb") as file:
                head = file.readline()
                revision, made_at, tables = self._head(head)
                digest.update(head)
                for number, written in enumerate(file, 2):
                    line = self._json(written, number)
                    if isinstance(line, dict):
                        if line != {"end": True, "rows": rows, "sha256": digest.hexdigest()} or file.readline():
                            raise self._fault(number, message("fault.backup-changed"))
                        self.backup = Backup(revision, made_at, rows, tables)
                        return
                    digest.update(written)
                    rows += 1
                    yield self._row(line, tables, number)
        except OSError as fault:
            raise BadInput(
                pointer="FILE",
                value=str(self.path),
                problem=message("fault.backup-unreadable", reason=fault.strerror),
            ) from fault
        raise self._fault(rows + 2, message("fault.backup-breaks-off"))

    def _head(self, written: bytes) -> tuple[str, datetime, dict[str, dict[str, str]]]:
        head = self._json(written, 1)
        if not isinstance(head, dict) or head.get("packed_lunch_backup") != SHAPE:
            raise self._fault(1, message("fault.backup-no-head"))
        tables, revision = head.get("tables"), head.get("revision")
        if not isinstance(tables, dict) or not isinstance(revision, str):
            raise self._fault(1, message("fault.backup-without-tables"))
        known = all(isinstance(columns, dict) and set(columns.values()) <= set(_TYPES) for columns in tables.values())
        names = [*tables, *(column for columns in tables.values() for column in columns)] if known else []
        if not known or not all(name.isidentifier() and name.isascii() for name in names):
            raise self._fault(1, message("fault.backup-no-tables"))
        if revision == HEAD and tables != _shape():
            raise self._fault(1, message("fault.backup-other-tables"))
        try:
            return revision, datetime.fromisoformat(str(head.get("made_at"))), tables
        except ValueError as fault:
            raise self._fault(1, message("fault.backup-without-moment")) from fault

    def _row(self, line: Any, tables: dict[str, dict[str, str]], number: int) -> Line:
        try:
            name, row = line
            _values(tables[name], row)
        except (ValueError, TypeError, KeyError, AttributeError) as fault:
            raise self._fault(number, message("fault.backup-no-row")) from fault
        return name, row

    def _json(self, written: bytes, number: int) -> Any:
        try:
            return orjson.loads(written)
        except orjson.JSONDecodeError as fault:
            raise self._fault(number, message("fault.backup-not-json")) from fault

    def _fault(self, number: int, problem: Message) -> BadInput:
        return BadInput(
            pointer="FILE",
            value=f"{self.path}, line {number}",
            problem=problem,
        )
