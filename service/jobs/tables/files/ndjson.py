"""Reads NDJSON: one JSON object a line, its keys the columns.

Lines whose values hold no comma and whose keys stand in the same order are read by columns: cut at the commas,
every column holds few different pieces (``"food":"apple"``), and each different piece is read once as JSON. Cut
pieces that are each one whole member make up exactly the line they were cut from; whatever does not fit this
(a comma in a value, a nested value, other keys) sends its block to be read line by line.
"""

from __future__ import annotations

import codecs
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import orjson
import pyarrow as pa

from service.domain.messages import message
from service.jobs.tables.columns import COLUMNS
from service.jobs.tables.faults import Fault, row_fault
from service.jobs.tables.files.blocks import cell, rows_one_by_one, shortened, split_at_commas, table_of, text_by_code
from service.jobs.tables.files.lines import LineBlock, Progress, line_blocks, unreadable


def ndjson_blocks(path: Path, progress: Progress, block_bytes: int | None = None) -> Iterator[pa.Table]:
    """The rows of an NDJSON file in blocks; ``LunchError`` for a file without any."""
    empty = True
    for block in line_blocks(path, progress, block_bytes):
        rows = block
        if block.first_line == 1:
            rows = block._replace(content=block.content.removeprefix(codecs.BOM_UTF8))
        if rows.content.strip():
            empty = False
            yield _by_columns(rows) or _one_by_one(rows)
    if empty:
        raise unreadable(path, message("fault.ndjson-empty"))


def _by_columns(block: LineBlock) -> pa.Table | None:
    """The whole block at once; None where some line needs to be looked at by itself."""
    width = block.content[: block.content.index(b"\n")].count(b",") + 1
    cells = split_at_commas(block, [str(place) for place in range(width)], quoted=False)
    columns: dict[str, pa.Array] = {}
    for place, pieces in enumerate(cells or ()):
        name, values = _members(pieces.dictionary.to_pylist(), place == 0, place == width - 1)
        if name is None or name in columns:
            return None
        columns[name] = text_by_code(pieces.indices.to_numpy(), values)
    return table_of(block, columns) if columns else None


def _members(pieces: list[str], first: bool, last: bool) -> tuple[str | None, list[Any]]:
    """The one key of all pieces of a column, and the value of each; None where they do not fit."""
    before, after = "" if first else "{", "" if last else "}"
    try:
        members = orjson.loads("[" + ",".join([before + piece + after for piece in pieces]) + "]")
    except orjson.JSONDecodeError:
        return None, []
    if len(members) != len(pieces) or set(map(type, members)) != {dict}:
        return None, []
    keys = set(map(tuple, members))
    name = next(iter(keys))[0] if all(len(key) == 1 for key in keys) else None
    if len(keys) != 1 or name not in COLUMNS:
        return None, []
    values = [member[name] for member in members]
    return (None, []) if {list, dict} & set(map(type, values)) else (name, values)


def _one_by_one(block: LineBlock) -> pa.Table:
    """Line by line; a line that cannot be read is reported."""
    return rows_one_by_one(block, row_of)


def row_of(line: bytes) -> tuple[dict[str, object], list[Fault]]:
    """One line as a row, and what is wrong with it; no cells at all where it is not a JSON object."""
    told = shortened(line.decode(errors="replace"))
    try:
        found = orjson.loads(line)
    except orjson.JSONDecodeError as fault:
        return {}, [row_fault("lunch", told, message("fault.row-not-json", reason=fault.msg))]
    if not isinstance(found, dict):
        return {}, [row_fault("lunch", told, message("fault.row-no-object"))]
    wrong = []
    if line.count(b":") != len(found):
        names = [name for name, _value in json.loads(line, object_pairs_hook=list)]
        doubled = message("fault.key-twice-in-row")
        wrong = [row_fault(name, name, doubled) for name in found if names.count(name) > 1]
    row: dict[str, object] = {}
    for name, value in found.items():
        row[name], odd = cell(name, value)
        if odd is not None:
            wrong.append(odd)
    return {name: value for name, value in row.items() if name in COLUMNS}, wrong
