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
import time
from collections.abc import Callable, Iterable, Iterator, Mapping
from itertools import groupby, islice
from pathlib import Path
from typing import Any, NamedTuple

import orjson
from sqlalchemy import Column, Connection, MetaData, Table, delete, insert, inspect, select, text
from sqlalchemy.exc import IntegrityError, OperationalError

from service.domain.errors import BadInput, LunchError, StoreFault, raise_all
from service.domain.messages import Message, message
from service.store.backup_file import SHAPE, TYPES, Backup, BackupReader, Line, shape_of_now, type_of, values_of
from service.store.database import Store, connect
from service.store.files.whole_file import whole_file
from service.store.files.working_folder import working_folder
from service.store.household.records import now
from service.store.migrate import HEAD, known_revisions, upgrade
from service.store.tables import METADATA
from service.store.wiping import note_removal

TRIES, BETWEEN_TRIES_S = 200, 0.05
FIRST_ROW = 2
"""The line of the first row."""
AT_ONCE = 500
"""Rows put in with one statement."""

MOST_TOLD = 20
"""Rows that are told of a backup that is refused."""


class Row(NamedTuple):
    """A row that is to be restored: its number (in a backup of this version, the line), its table, and its values by column."""

    number: int
    table: str
    values: dict[str, Any]


class Restored(NamedTuple):
    """What was restored: how many rows, of which backup; and what was left out, each with what is wrong with it."""

    rows: int
    backup: Backup
    left_out: list[LunchError]


LookOver = Callable[[Iterable[Row]], Mapping[int, LunchError]]
"""Says which rows cannot be used, by their numbers, and what is wrong with each; the pointer of a fault is the field."""


def write_backup(store: Store, path: Path) -> Backup:
    """Write all that the store holds; ``BadInput`` where the file cannot be written, ``StoreFault`` of the store."""
    made_at, tables = now(), shape_of_now()
    digest, rows = hashlib.sha256(), 0
    with whole_file(path) as file, store.reading() as connection:

        def write(line: Any) -> None:
            written = orjson.dumps(line) + b"\n"
            digest.update(written)
            file.write(written)

        write({"packed_lunch_backup": SHAPE, "revision": HEAD, "made_at": made_at.isoformat(), "tables": tables})
        try:
            for line in _lines_of(connection):
                write(line)
                rows += 1
        except ValueError as fault:  # a day, a moment or an id that is none
            raise StoreFault(pointer="", value="the store", problem=message("fault.store-damaged")) from fault
        write({"end": True, "rows": rows, "sha256": digest.hexdigest()})
    return Backup(HEAD, made_at, rows, tables)


def read_backup(path: Path) -> Backup:
    """Read a backup to its end and see that it is whole; ``BadInput`` names the line that is not right."""
    reader = BackupReader(path)
    for _ in reader.lines():
        pass
    return reader.backup


def restore_backup(store: Store, path: Path, look_over: LookOver | None = None, *, leave_out: bool = False) -> Restored:
    """Put a backup in the place of all that the store holds, in one transaction, while others use the store.

    The file is read to its end before anything is touched; one of an older version is migrated next to the store first.
    ``look_over``: is given all rows; those that it refuses are left out with ``leave_out``, and refuse the backup otherwise.
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
        left_out = _put(store, path, backup, look_over or _nothing_refused, leave_out=leave_out)
    except IntegrityError as fault:
        raise BadInput(
            pointer="FILE",
            value=str(path),
            problem=message("fault.backup-rows-apart"),
        ) from fault
    return Restored(backup.rows - len(left_out), backup, left_out)


def _nothing_refused(_rows: Iterable[Row]) -> Mapping[int, LunchError]:
    return {}


def _put(store: Store, path: Path, backup: Backup, look_over: LookOver, *, leave_out: bool) -> list[LunchError]:
    if backup.revision == HEAD:
        put = _Put(store, path, backup.tables, by_line=True)
        return put.put(BackupReader(path).lines, look_over, leave_out=leave_out)
    with working_folder() as folder:
        older_store = connect(f"sqlite:///{folder / 'older.sqlite3'}")
        try:
            upgrade(older_store, backup.revision)
            _see_tables(older_store, path, backup)
            _replace(older_store, BackupReader(path).lines(), backup.tables)
            upgrade(older_store)
            with older_store.reading() as connection:
                put = _Put(store, path, shape_of_now(), by_line=False)
                return put.put(lambda: _lines_of(connection), look_over, leave_out=leave_out)
        finally:
            older_store.close()


def _see_tables(older_store: Store, path: Path, backup: Backup) -> None:
    """See that a backup of an older version names tables and columns that this version had."""
    with older_store.reading() as connection:
        seen = inspect(connection)
        there = {name: {one["name"] for one in seen.get_columns(name)} for name in seen.get_table_names()}
    there.pop("alembic_version", None)
    if any(set(columns) != there.get(name) for name, columns in backup.tables.items()):
        raise BadInput(pointer="FILE", value=f"{path}, line 1", problem=message("fault.backup-other-tables"))


class _Put(NamedTuple):
    """Rows of a file that are to be put into a store. ``by_line``: a row's number is its line."""

    store: Store
    path: Path
    shape: dict[str, dict[str, str]]
    by_line: bool

    def put(self, read: Callable[[], Iterator[Line]], look_over: LookOver, *, leave_out: bool) -> list[LunchError]:
        """Look over the rows that ``read`` gives each time, and put in those that are not refused; gives what was left out."""
        names: dict[int, str] = {}
        refused = look_over(self._rows(read()))
        if refused:
            names = {row.number: self._name(row) for row in self._rows(read()) if row.number in refused}
        told = [self._told(names[number], fault) for number, fault in sorted(refused.items())]
        if not leave_out:
            raise_all(told[:MOST_TOLD])
        lines = (line for number, line in enumerate(read(), FIRST_ROW) if number not in refused)
        _replace(self.store, lines, self.shape)
        return told

    def _rows(self, lines: Iterable[Line]) -> Iterator[Row]:
        for number, (table, values) in enumerate(lines, FIRST_ROW):
            yield Row(number, table, values_of(self.shape[table], values))

    def _name(self, row: Row) -> str:
        line = f", line {row.number}" if self.by_line else ""
        record = f" {row.values['id']}" if "id" in row.values else ""
        return f"{self.path}{line}, {row.table}{record}"

    def _told(self, name: str, fault: LunchError) -> LunchError:
        remedy = Message(f"remedy.{fault.code}", fault.problem.params)
        problem = message(
            "fault.backup-row-wrong",
            field=fault.pointer or "/",
            value=str(fault.value),
            problem=fault.problem,
            remedy=remedy,
        )
        return BadInput(pointer="FILE", value=name, problem=problem)


def _lines_of(connection: Connection) -> Iterator[Line]:
    """Every row of every table, in an order that does not change."""
    for table in METADATA.sorted_tables:
        out = [TYPES[type_of(column)].out for column in table.columns]
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
        name: Table(name, MetaData(), *(Column(column, TYPES[kind].column) for column, kind in columns.items()))
        for name, columns in shape.items()
    }
    with store.writing() as connection:
        if connection.dialect.name == "postgresql":
            _keep_writers_out(connection, list(tables))
        for table in reversed(tables.values()):
            connection.execute(delete(table))
        note_removal(connection)
        for name, rows in groupby(lines, lambda line: line[0]):
            while some := [values_of(shape[name], row) for _, row in islice(rows, AT_ONCE)]:
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
