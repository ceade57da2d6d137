"""Rows as the readers of files give them: text by code, the line of each row, and what is wrong with a row."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.csv as pa_csv

from service.domain.messages import message
from service.jobs.tables.columns import COLUMNS, LINE, REFUSED, known_columns, text_of
from service.jobs.tables.faults import Fault, row_fault
from service.jobs.tables.files.lines import LineBlock, too_long
from service.jobs.tables.rows import refusal

LISTED = ("avoids", "bans", "yardsticks")
"""Columns whose cells may be lists of text."""


def text_by_code(codes: npt.NDArray[Any], values: Sequence[object]) -> pa.Array:
    """A column of text; -1, an empty value and None are not given. ``codes``: (rows,) places in ``values``."""
    texts = [value.strip() if type(value) is str else None if value is None else text_of(value) for value in values]
    found = list(dict.fromkeys(text for text in texts if text))
    if len(found) < len(texts):
        place = {text: code for code, text in enumerate(found)}
        codes = np.array([*(place.get(text or "", -1) for text in texts), -1], np.int32)[codes]
    return pa.DictionaryArray.from_arrays(pa.array(codes, pa.int32(), mask=codes < 0), pa.array(found, pa.string()))


def split_at_commas(block: LineBlock, names: list[str], *, quoted: bool) -> list[pa.DictionaryArray] | None:
    """The cells of a block by column, as text by code; None where some line needs to be looked at by itself."""
    if not block.is_even():
        return None
    text = pa.dictionary(pa.int32(), pa.string())
    try:
        read = pa_csv.read_csv(
            pa.BufferReader(block.content),
            read_options=pa_csv.ReadOptions(column_names=names, use_threads=False, block_size=len(block.content) + 1),
            parse_options=pa_csv.ParseOptions(quote_char='"' if quoted else False),
            convert_options=pa_csv.ConvertOptions(
                column_types=dict.fromkeys(names, text), strings_can_be_null=False, check_utf8=True
            ),
        ).combine_chunks()
    except pa.ArrowInvalid:
        return None
    if read.num_rows != block.lines:  # blank lines, or a quote that swallowed one
        return None
    return [read[name].chunk(0) for name in names]


def table_of(block: LineBlock, columns: dict[str, pa.Array]) -> pa.Table:
    """The rows of a block, each with the line it stands in."""
    lines = np.arange(block.first_line, block.first_line + block.lines)
    return pa.table({**columns, LINE: pa.array(lines)})


def with_something_said(rows: pa.Table) -> pa.Table:
    """The rows without those that say nothing in any cell: what a spreadsheet writes for an empty line."""
    told = [name for name in rows.column_names if name != LINE]
    if any(rows[name].null_count == 0 for name in told):
        return rows
    said = np.zeros(rows.num_rows, np.bool_)
    for name in told:
        said |= rows[name].is_valid().to_numpy()
    return rows.filter(pa.array(said))


def rows_one_by_one(block: LineBlock, row_of: Callable[[bytes], tuple[dict[str, object], list[Fault]]]) -> pa.Table:
    """A block line by line. ``row_of``: a line's cells by column, and what is wrong with it."""
    rows: list[dict[str, object]] = []
    lines: list[int] = []
    refused: list[str | None] = []
    for number, line in enumerate(block.content.split(b"\n")[:-1], block.first_line):
        if not line.strip():
            continue
        row, wrong = row_of(line)
        if number in block.too_long:
            text = shortened(line.decode(errors="replace"))
            row, wrong = {}, [row_fault("lunch", text, too_long(number))]
        rows.append(row)
        lines.append(number)
        refused.append(refusal(wrong) if wrong else None)
    names = [name for name in COLUMNS if any(name in row for row in rows)]
    places = np.arange(len(rows), dtype=np.int32)
    columns = {name: text_by_code(places, [row.get(name) for row in rows]) for name in names}
    columns[LINE] = pa.array(lines, pa.int64())
    if any(refused):
        columns[REFUSED] = pa.array(refused, pa.string())
    return pa.table(columns)


def cell(name: str, value: object) -> tuple[object, Fault | None]:
    """One cell of a row that says names and types itself: the text it stands for, or what is wrong with it."""
    if name not in COLUMNS:
        return None, row_fault(name, shortened(value), message("fault.cell-without-column", known=known_columns()))
    if isinstance(value, list) and name in LISTED and all(one is None or isinstance(one, str) for one in value):
        if None in value:
            return None, row_fault(name, shortened(value), message("fault.entry-without-text"))
        return ";".join(value), None
    if isinstance(value, list | dict):
        problem = message("fault.no-list-of-text") if name in LISTED else message("fault.no-plain-cell")
        return None, row_fault(name, shortened(value), problem)
    return value, None


def shortened(value: object) -> str:
    """A value as text of a readable length; a list or an object as JSON."""
    text = json.dumps(value, ensure_ascii=False, default=str) if isinstance(value, list | dict) else str(value)
    return text if len(text) <= 120 else text[:117] + "..."
