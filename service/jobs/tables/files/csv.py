"""Reads CSV: a header, then one row a line; commas, quotes where needed, UTF-8 (RFC 4180 without line breaks in cells)."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator
from pathlib import Path

import pyarrow as pa

from service.domain.errors import LunchError
from service.domain.messages import message
from service.jobs.tables.columns import check_columns
from service.jobs.tables.faults import Fault, row_fault
from service.jobs.tables.files.blocks import (
    rows_one_by_one,
    shortened,
    split_at_commas,
    table_of,
    text_by_code,
    with_something_said,
)
from service.jobs.tables.files.lines import LineBlock, Progress, line_blocks, too_long, unreadable

WELL_QUOTED = re.compile(rb'(?:(?:"(?:[^"\n]++|"")*+"|[^",\n]*+)(?:,|\r?\n))*+')
"""Lines in which every cell is either quoted whole, on its own line, or holds no quote."""


def csv_blocks(path: Path, progress: Progress, block_bytes: int | None = None) -> Iterator[pa.Table]:
    """The rows of a CSV file in blocks.

    Raises ``LunchError`` for a file without a header, or with columns that are not known or missing.
    """
    header: list[str] = []
    for block in line_blocks(path, progress, block_bytes):
        rows = block
        if not header:
            first, _newline, rest = block.content.partition(b"\n")
            if 1 in block.too_long:
                raise unreadable(path, too_long(1))
            header = header_of(path, first)
            rows = LineBlock(2, rest, block.lines - 1, block.too_long)
        if rows.content.strip():
            yield with_something_said(_quick(rows, header) or _one_by_one(rows, header))
    if not header:
        raise unreadable(path, message("fault.table-empty"))


def header_of(path: Path, line: bytes) -> list[str]:
    """The column names of the first line."""
    try:
        names = [name.strip() for name in next(csv.reader([line.decode("utf-8-sig").rstrip("\r")], strict=True), [])]
    except (UnicodeDecodeError, csv.Error) as fault:
        raise unreadable(path, message("fault.table-header-unreadable")) from fault
    try:
        check_columns(names, "FILE")
    except LunchError as fault:
        if len(names) == 1 and (";" in names[0] or "\t" in names[0]):
            raise unreadable(path, message("fault.table-header-without-commas")) from fault
        raise
    return names


def _quick(block: LineBlock, header: list[str]) -> pa.Table | None:
    """The whole block at once; None where some line needs to be looked at by itself."""
    quoted = b'"' in block.content
    if quoted and not WELL_QUOTED.fullmatch(block.content):
        return None
    cells = split_at_commas(block, header, quoted=quoted)
    if cells is None:
        return None
    texts = [text_by_code(column.indices.to_numpy(), column.dictionary.to_pylist()) for column in cells]
    return table_of(block, dict(zip(header, texts, strict=True)))


def _one_by_one(block: LineBlock, header: list[str]) -> pa.Table:
    """Line by line; a line that cannot be read is reported."""
    return rows_one_by_one(block, lambda line: row_of(line, header))


def row_of(line: bytes, header: list[str]) -> tuple[dict[str, object], list[Fault]]:
    """One line as a row; no cells at all, and what is wrong, where it cannot be read."""
    text = shortened(line.decode(errors="replace"))
    try:
        cells = next(csv.reader([line.decode().rstrip("\r")], strict=True))
    except UnicodeDecodeError:
        return {}, [row_fault("lunch", shortened(line), message("fault.row-not-utf8"))]
    except csv.Error as fault:
        return {}, [row_fault("lunch", text, message("fault.row-not-csv", reason=str(fault)))]
    if len(cells) != len(header):
        problem = message("fault.cells-unlike-header", cells=len(cells), columns=len(header))
        return {}, [row_fault("lunch", text, problem)]
    return dict(zip(header, cells, strict=True)), []
