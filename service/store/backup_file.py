"""The file of a backup: what its lines hold, and how it is read and found whole. Its form is told in ``backup.py``."""

import hashlib
from base64 import b64decode, b64encode
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any, BinaryIO, NamedTuple
from uuid import UUID

import orjson
from sqlalchemy import JSON, Column, Date, Integer, LargeBinary, String, Uuid

from service.domain.errors import BadInput
from service.domain.messages import Message, message
from service.store.files.plain_file import open_plain
from service.store.household.records import now
from service.store.migrate import HEAD
from service.store.tables import METADATA, KeptBody, Moment

SHAPE = 1
"""The number of the shape of a backup; another shape gets another number."""
FIRST_YEAR, LAST_YEAR = 1900, 9899
"""Of moments that a store keeps."""
LONGEST_LINE = 50_000_000
"""Bytes of a line; the largest that is written is a photograph, a few megabytes at most."""
Line = tuple[str, list[Any]]


class _Type(NamedTuple):
    """What the values of a column are: the database's type, and the way to JSON and back."""

    column: type[Any]
    out: Callable[[Any], Any]
    back: Callable[[Any], Any]


def _same(value: Any) -> Any:
    return value


def _text(value: Any) -> str:
    if not isinstance(value, str) or "\x00" in value:
        raise ValueError(value)
    return value


def _whole(value: Any) -> int:
    if type(value) is not int or not -(2**31) <= value < 2**31:
        raise ValueError(value)
    return value


def _moment(value: Any) -> datetime:
    moment = datetime.fromisoformat(value)
    if moment.tzinfo is None or not FIRST_YEAR <= moment.year <= LAST_YEAR:
        raise ValueError(value)
    return moment.astimezone(UTC)


def _bytes(value: Any) -> bytes:
    return b64decode(value, validate=True)


TYPES = {
    "uuid": _Type(Uuid, str, UUID),
    "moment": _Type(Moment, datetime.isoformat, _moment),
    "day": _Type(Date, date.isoformat, date.fromisoformat),
    "json": _Type(JSON, _same, _same),
    "bytes": _Type(LargeBinary, lambda value: b64encode(value).decode(), _bytes),
    "whole": _Type(Integer, _same, _whole),
    "text": _Type(String, _same, _text),
}


class Backup(NamedTuple):
    """What a backup says of itself."""

    revision: str
    made_at: datetime
    rows: int
    tables: dict[str, dict[str, str]]


def shape_of_now() -> dict[str, dict[str, str]]:
    """The tables of this version: their columns and what the values are."""
    return {
        str(table.name): {str(column.name): type_of(column) for column in table.columns}
        for table in METADATA.sorted_tables
    }


def type_of(column: Column[Any]) -> str:
    """The name of the kind of value that a column holds."""
    held = column.type.impl if isinstance(column.type, KeptBody) else column.type
    return next(name for name, one in TYPES.items() if isinstance(held, one.column))


def values_of(columns: dict[str, str], row: list[Any]) -> dict[str, Any]:
    """A row by its columns, as the database takes it; ``ValueError`` or the like where it does not fit them."""
    if not isinstance(row, list):
        raise TypeError(row)
    return {
        column: None if value is None else TYPES[kind].back(value)
        for (column, kind), value in zip(columns.items(), row, strict=True)
    }


def see_nulls(table: str, values: dict[str, Any]) -> None:
    """``ValueError`` where there is nothing in a column that may not be empty."""
    columns = METADATA.tables[table].columns
    if any(value is None and not columns[name].nullable for name, value in values.items()):
        raise ValueError(table)


class BackupReader:
    """Reads a backup line by line; ``backup`` is what it says of itself, known once all lines were read."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.backup = Backup("", now(), 0, {})

    def lines(self) -> Iterator[Line]:
        """The rows; ``BadInput`` where the file is not what its last line says."""
        digest, rows = hashlib.sha256(), 0
        try:
            with open_plain(self.path) as file:
                head = self._line(file, 1)
                revision, made_at, tables = self._head(head)
                digest.update(head)
                number = 1
                while written := self._line(file, number + 1):
                    number += 1
                    line = self._json(written, number)
                    if isinstance(line, dict):
                        if line != {"end": True, "rows": rows, "sha256": digest.hexdigest()} or file.readline():
                            raise self._fault(number, message("fault.backup-changed"))
                        self.backup = Backup(revision, made_at, rows, tables)
                        return
                    digest.update(written)
                    rows += 1
                    yield self._row(line, tables, number, of_now=revision == HEAD)
        except OSError as fault:
            raise BadInput(
                pointer="FILE",
                value=str(self.path),
                problem=message("fault.backup-unreadable", reason=fault.strerror),
            ) from fault
        raise self._fault(rows + 2, message("fault.backup-breaks-off"))

    def _line(self, file: BinaryIO, number: int) -> bytes:
        written = file.readline(LONGEST_LINE + 1)
        if len(written) > LONGEST_LINE:
            raise self._fault(number, message("fault.backup-line-too-long"))
        return written

    def _head(self, written: bytes) -> tuple[str, datetime, dict[str, dict[str, str]]]:
        head = self._json(written, 1)
        shape = head.get("packed_lunch_backup") if isinstance(head, dict) else None
        if type(shape) is int and shape != SHAPE:
            raise self._fault(1, message("fault.backup-other-shape"))
        if type(shape) is not int:
            raise self._fault(1, message("fault.backup-no-head"))
        tables, revision = head.get("tables"), head.get("revision")
        if not isinstance(tables, dict) or not isinstance(revision, str):
            raise self._fault(1, message("fault.backup-without-tables"))
        known = all(
            isinstance(columns, dict) and all(isinstance(one, str) and one in TYPES for one in columns.values())
            for columns in tables.values()
        )
        names = [*tables, *(column for columns in tables.values() for column in columns)] if known else []
        if not known or not all(name.isidentifier() and name.isascii() for name in names):
            raise self._fault(1, message("fault.backup-no-tables"))
        if revision == HEAD and tables != shape_of_now():
            raise self._fault(1, message("fault.backup-other-tables"))
        try:
            return revision, datetime.fromisoformat(str(head.get("made_at"))), tables
        except ValueError as fault:
            raise self._fault(1, message("fault.backup-without-moment")) from fault

    def _row(self, line: Any, tables: dict[str, dict[str, str]], number: int, *, of_now: bool) -> Line:
        try:
            name, row = line
            values = values_of(tables[name], row)
            if of_now:
                see_nulls(name, values)
        except (ValueError, TypeError, KeyError, AttributeError, OverflowError) as fault:
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
