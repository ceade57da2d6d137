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
from service.jobs.tables.faults import Fault, row_fault
from service.jobs.tables.files.blocks import LISTED, shortened, text_by_code
from service.jobs.tables.files.lines import Progress, unreadable
from service.jobs.tables.rows import refusal

BATCH_ROWS = 1 << 16
INDEX = "__index_level_0__"
"""What pandas calls the row numbers of a frame when it writes them too."""
NUMBERS = (*LUNCH_NUMBERS, *ITEM_NUMBERS)


def parquet_blocks(path: Path, progress: Progress, batch_rows: int | None = None) -> Iterator[pa.Table]:
    """The rows of a Parquet file in blocks; a row's line is its number from 1.

    Raises ``LunchError`` for columns that are not known, missing, or of a type that is neither text nor number.
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
                columns = {name: plain(name, batch.column(name)) for name in names}
                columns[LINE] = pa.array(np.arange(done + 1, done + 1 + batch.num_rows))
                refused = _empty_entries({name: batch.column(name) for name in names if name in LISTED})
                if refused is not None:
                    columns[REFUSED] = refused
                done += batch.num_rows
                progress(size * done // file.metadata.num_rows)
                if batch.num_rows:
                    yield pa.table(columns)
        except (OSError, pa.ArrowInvalid) as fault:
            raise unreadable(path, message("fault.table-damaged")) from fault


def plain(name: str, column: pa.Array) -> pa.Array:
    """A column as text by code, or as numbers where numbers belong."""
    kind = column.type
    if pa.types.is_dictionary(kind):
        return _texts(column)
    if name in NUMBERS and (pa.types.is_integer(kind) or pa.types.is_floating(kind) or pa.types.is_decimal(kind)):
        return column.cast(pa.float64())
    if pa.types.is_timestamp(kind):
        column = column.cast(pa.date32())
    if name in LISTED and _is_list(column):
        column = pc.binary_join(column, ";")
    try:
        return _texts(column.cast(pa.string()).dictionary_encode())
    except (pa.ArrowInvalid, pa.ArrowNotImplementedError) as fault:
        problem = message("fault.table-column-kind", kind=str(kind))
        raise BadInput(pointer="FILE", value=name, problem=problem) from fault


def _is_list(column: pa.Array) -> bool:
    kind = column.type
    if not (pa.types.is_list(kind) or pa.types.is_large_list(kind)):
        return False
    return bool(pa.types.is_string(kind.value_type) or pa.types.is_large_string(kind.value_type))


def _empty_entries(listed: dict[str, pa.Array]) -> pa.Array | None:
    """What is wrong with each row that has an entry without text in one of its lists; None where no row has.

    Such a row is refused, as in NDJSON: what the entry was meant to say is not known.
    """
    wrong: dict[int, list[Fault]] = {}
    size = 0
    for name, column in listed.items():
        size = len(column)
        if not _is_list(column):
            continue
        empty = pc.is_null(pc.list_flatten(column))
        for row in dict.fromkeys(pc.filter(pc.list_parent_indices(column), empty).to_pylist()):
            value = shortened(column[row].as_py())
            wrong.setdefault(row, []).append(row_fault(name, value, message("fault.entry-without-text")))
    if not wrong:
        return None
    return pa.array([refusal(wrong[row]) if row in wrong else None for row in range(size)], pa.string())


def _texts(column: pa.DictionaryArray) -> pa.Array:
    return text_by_code(column.indices.fill_null(-1).to_numpy(), column.dictionary.to_pylist())
