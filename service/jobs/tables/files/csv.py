"""Reads CSV: a header, then one row a line; commas, quotes where needed, UTF-8 (RFC 4180 without line breaks in cells)."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from service.domain.errors import LunchError
from service.jobs.tables.columns import LINE, check_columns
from service.jobs.tables.faults import Fault
from service.jobs.tables.files.blocks import rows_one_by_one, shortened, text_by_code
from service.jobs.tables.files.lines import LineBlock, Progress, line_blocks, unreadable

if TYPE_CHECKING:
    import pyarrow as pa


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
            header = header_of(path, first)
            rows = LineBlock(2, rest, block.lines - 1)
        if rows.content.strip():
            yield _quick(rows, header) or _one_by_one(rows, header)
    if not header:
        raise unreadable(path, "is empty", "Give a table with a header.")


def header_of(path: Path, line: bytes) -> list[str]:
    """The column names of the first line."""
    try:
        names = [name.strip() for name in next(csv.reader([line.decode("utf-8-sig").rstrip("\r")], strict=True), [])]
    except (UnicodeDecodeError, csv.Error) as fault:
        raise unreadable(path, "has no header that can be read", "Give CSV in UTF-8 with a header.") from fault
    try:
        check_columns(names, "FILE")
    except LunchError as fault:
        if len(names) == 1 and (";" in names[0] or "\t" in names[0]):
            raise unreadable(path, "has a header without commas", "Separate the columns by commas.") from fault
        raise
    return names


def _quick(block: LineBlock, header: list[str]) -> pa.Table | None:
    """The whole block at once; None where some line needs to be looked at by itself."""
    import numpy as np
    import pyarrow as pa
    import pyarrow.csv as pc

    lines = block.lines
    quoted = b'"' in block.content
    if not block.ends_only_at_lines() or (quoted and not WELL_QUOTED.fullmatch(block.content)):
        return None
    text = pa.dictionary(pa.int32(), pa.string())
    try:
        read = pc.read_csv(
            pa.BufferReader(block.content),
            read_options=pc.ReadOptions(column_names=header, use_threads=False, block_size=len(block.content) + 1),
            parse_options=pc.ParseOptions(quote_char='"' if quoted else False),
            convert_options=pc.ConvertOptions(
                column_types=dict.fromkeys(header, text), strings_can_be_null=False, check_utf8=True
            ),
        ).combine_chunks()
    except pa.ArrowInvalid:
        return None
    if read.num_rows != lines:  # blank lines, or a quote that swallowed one
        return None
    columns = {}
    for name in header:
        column = read[name].chunk(0)
        columns[name] = text_by_code(column.indices.to_numpy(), column.dictionary.to_pylist())
    columns[LINE] = pa.array(np.arange(block.first_line, block.first_line + lines))
    return pa.table(columns)


def _one_by_one(block: LineBlock, header: list[str]) -> pa.Table:
    """Line by line; a line that cannot be read is told."""
    rows: list[dict[str, object]] = []
    lines: list[int] = []
    faults: dict[int, list[Fault]] = {}
    for number, line in enumerate(block.content.split(b"\n")[:-1], block.first_line):
        if not line.strip():
            continue
        try:
            cells = next(csv.reader([line.decode().rstrip("\r")], strict=True))
        except UnicodeDecodeError:
            cells, wrong = [], Fault("lunch", shortened(line), "is no UTF-8 text", "Save the table as UTF-8.")
        except csv.Error as fault:
            told = shortened(line.decode(errors="replace"))
            cells, wrong = [], Fault("lunch", told, f"is no CSV: {fault}", "Close each quote on its own line.")
        else:
            told = f"has {len(cells)} cells where the header has {len(header)}"
            wrong = Fault("lunch", shortened(line.decode()), told, "Give a cell for each column; quote commas.")
        if len(cells) == len(header):
            rows.append(dict(zip(header, cells, strict=True)))
        else:
            faults[len(rows)] = [wrong]
            rows.append({})
        lines.append(number)
    return rows_one_by_one(rows, lines, faults)
