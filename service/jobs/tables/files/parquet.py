"""Reads Parquet: columns of text or numbers, a batch of rows at a time."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.parquet as pq

from service.domain.errors import BadInput
from service.domain.messages import message
from service.jobs.tables.columns import ITEM_NUMBERS, LINE, LUNCH_NUMBERS, REFUSED, check_columns
from service.jobs.tables.faults import Fault
from service.jobs.tables.files.blocks import LISTED, cell, text_by_code
from service.jobs.tables.files.lines import Progress, unreadable
from service.jobs.tables.rows import refusal

BATCH_ROWS = 1 << 16
INDEX = "__index_level_0__"
"""What pandas calls the row numbers of a frame when it writes them too."""
NUMBERS = (*LUNCH_NUMBERS, *ITEM_NUMBERS)


def parquet_blocks(path: Path, progress: Progress, batch_rows: int | None = None) -> Iterator[pa.Table]:
    """The rows of a Parquet file in blocks; a row's line is its number from 1.

    A list, struct or map is read as in NDJSON. Raises ``LunchError`` for columns that are not known or missing, or of a
    type that cannot be written as text.
    """
    try:
        schema = pq.read_schema(path)
        texts = [
            field.name for field in schema if pa.types.is_string(field.type) or pa.types.is_large_string(field.type)
        ]
        file = pq.ParquetFile(path, read_dictionary=texts)
    except OSError as fault:
        if not fault.strerror:  # of the library's own, not the system's
            raise unreadable(path, message("fault.table-not-parquet")) from fault
        raise unreadable(path, message("fault.table-unreadable", reason=fault.strerror)) from fault
    except pa.ArrowInvalid as fault:
        raise unreadable(path, message("fault.table-not-parquet")) from fault
    with file:
        names = [name for name in schema.names if name != INDEX]
        check_columns(names, "FILE")
        size, done = path.stat().st_size, 0
        try:
            for batch in file.iter_batches(batch_rows or BATCH_ROWS, columns=names):
                wrong: dict[int, list[Fault]] = {}
                columns = {name: plain(name, batch.column(name), wrong) for name in names}
                columns[LINE] = pa.array(np.arange(done + 1, done + 1 + batch.num_rows))
                if wrong:
                    told = [refusal(wrong[row]) if row in wrong else None for row in range(batch.num_rows)]
                    columns[REFUSED] = pa.array(told, pa.string())
                done += batch.num_rows
                progress(size * done // file.metadata.num_rows)
                if batch.num_rows:
                    yield pa.table(columns)
        except (OSError, pa.ArrowInvalid) as fault:
            raise unreadable(path, message("fault.table-damaged")) from fault


def plain(name: str, column: pa.Array, wrong: dict[int, list[Fault]]) -> pa.Array:
    """A column as text by code, or as numbers where numbers belong. ``wrong``: gets what is wrong with a row."""
    kind = column.type
    if pa.types.is_dictionary(kind):
        return _texts(column)
    if pa.types.is_nested(kind):
        return _cells(name, column, wrong)
    if name in NUMBERS and (pa.types.is_integer(kind) or pa.types.is_floating(kind) or pa.types.is_decimal(kind)):
        return column.cast(pa.float64())
    if pa.types.is_timestamp(kind):
        column = column.cast(pa.date32())
    try:
        return _texts(column.cast(pa.string()).dictionary_encode())
    except (pa.ArrowInvalid, pa.ArrowNotImplementedError) as fault:
        problem = message("fault.table-column-kind", kind=str(kind))
        raise BadInput(pointer="FILE", value=name, problem=problem) from fault


def _cells(name: str, column: pa.Array, wrong: dict[int, list[Fault]]) -> pa.Array:
    """Lists, structs and maps, as in a row of NDJSON: a list of text where lists belong, else a fault of the row."""
    texts = _whole_lists(column) if name in LISTED else None
    if texts is not None:
        return _texts(texts.dictionary_encode())
    found: list[object] = []
    for row, value in enumerate(column.to_pylist()):
        given, odd = cell(name, dict(value) if pa.types.is_map(column.type) and value is not None else value)
        found.append(given)
        if odd is not None:
            wrong.setdefault(row, []).append(odd)
    return text_by_code(np.arange(len(found), dtype=np.int32), found)


def _whole_lists(column: pa.Array) -> pa.Array | None:
    """Lists of text, each joined by semicolons; None where an entry is anything else, so that each row is looked at.

    What an entry of null was meant to say is not known: the entries beside it must not be read as if they were all.
    """
    kind = column.type
    if not (pa.types.is_list(kind) or pa.types.is_large_list(kind)):
        return None
    if not (pa.types.is_string(kind.value_type) or pa.types.is_large_string(kind.value_type)):
        return None
    if pc.list_flatten(column).null_count:
        return None
    return pc.binary_join(column.cast(pa.list_(pa.string())), ";")


def _texts(column: pa.DictionaryArray) -> pa.Array:
    return text_by_code(column.indices.fill_null(-1).to_numpy(), column.dictionary.to_pylist())
