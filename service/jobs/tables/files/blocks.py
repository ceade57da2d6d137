"""Rows as the readers of files give them: text by code, the line of each row, and what is wrong with a row."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from service.jobs.tables.columns import COLUMNS, LINE, REFUSED, known_columns, text_of
from service.jobs.tables.faults import Fault
from service.jobs.tables.rows import refusal

if TYPE_CHECKING:
    import numpy.typing as npt
    import pyarrow as pa


def text_by_code(codes: npt.NDArray[Any], values: Sequence[object]) -> pa.Array:
    """A column of text; -1, an empty value and None are not given. ``codes``: (rows,) places in ``values``."""
    import numpy as np
    import pyarrow as pa

    texts = [value.strip() if type(value) is str else None if value is None else text_of(value) for value in values]
    found = list(dict.fromkeys(text for text in texts if text))
    if len(found) < len(texts):
        place = {text: code for code, text in enumerate(found)}
        codes = np.array([*(place.get(text or "", -1) for text in texts), -1], np.int32)[codes]
    return pa.DictionaryArray.from_arrays(pa.array(codes, pa.int32(), mask=codes < 0), pa.array(found, pa.string()))


def text_column_of(values: Sequence[object]) -> pa.Array:
    """A column of text from its cells."""
    import pyarrow as pa

    texts = [None if value is None else text_of(value) or None for value in values]
    return pa.array(texts, pa.string()).dictionary_encode()


def rows_one_by_one(rows: list[dict[str, object]], lines: list[int], faults: dict[int, list[Fault]]) -> pa.Table:
    """A block from rows that were read one by one. ``faults``: what is wrong, by place in ``rows``."""
    import pyarrow as pa

    names = [name for name in COLUMNS if any(name in row for row in rows)]
    columns = {name: text_column_of([row.get(name) for row in rows]) for name in names}
    columns[LINE] = pa.array(lines, pa.int64())
    if faults:
        told = [refusal(faults[place]) if place in faults else None for place in range(len(rows))]
        columns[REFUSED] = pa.array(told, pa.string())
    return pa.table(columns)


def cell(name: str, value: object) -> tuple[object, Fault | None]:
    """One cell of a row that says names and types itself: the text it stands for, or what is wrong with it."""
    if name not in COLUMNS:
        return None, Fault(name, shortened(value), "is no column here", known_columns())
    if isinstance(value, list) and name in ("avoids", "bans") and all(isinstance(one, str) for one in value):
        return ";".join(value), None
    if isinstance(value, list | dict):
        return None, Fault(name, shortened(value), "is no text and no number", "Give one plain value.")
    return value, None


def shortened(value: object) -> str:
    """A value as text of a readable length."""
    text = str(value)
    return text if len(text) <= 120 else text[:117] + "..."
