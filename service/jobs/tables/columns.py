"""The columns of a table of lunches in long form (one row an item), and how a data frame's columns are read.

Every column is text or numbers; an empty cell is not given. Text that is the same throughout a table is
looked up once, whatever the number of rows.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd
import pyarrow as pa
import pyarrow.compute as pc

from service.domain.errors import BadInput, LunchError, UnknownName, raise_all
from service.domain.foods.amounts import near_names
from service.domain.messages import Message, message
from service.domain.tables.codes import Floats, Place
from service.domain.tables.totals import MANY_ROWS, THREADS

NEEDED = ("lunch", "standard", "on", "food")
LUNCH_TEXTS = (
    "standard",
    "on",
    "age_group",
    "avoids",
    "bans",
    "ban_threshold",
    "yardsticks",
    "insulated",
    "flask_preheated",
)
LUNCH_NUMBERS = ("age_months", "age_years", "cold_sources", "minutes_until_eaten", "ambient_c", "flask_filled_at_c")
ITEM_TEXTS = ("food", "unit", "form", "credit_as", "held")
ITEM_NUMBERS = ("quantity",)
COLUMNS = ("lunch", *LUNCH_TEXTS, *LUNCH_NUMBERS, "food", "quantity", "unit", "form", "credit_as", "held")
"""Columns of a lunch say the same in every row of it; the others are the item's own."""

LINE, REFUSED = "line", "refused"
"""Two columns that the readers of files add: the line a row stands in, and what is wrong with the row itself."""

MOST_NAMED = 20
"""Unknown columns that are named one by one; a table with more of them is some other table, and they are counted."""
NUMBER = re.compile(r"[+-]?([0-9]+(\.[0-9]*)?|\.[0-9]+)([eE][+-]?[0-9]+)?")
SAMPLE = 1000
"""Rows that show whether a column mostly says the same as the row before."""


def check_columns(names: Sequence[str], place: str = "columns") -> None:
    """Refuse a table with a column that is not known, appears twice, or is missing.

    A misspelt ``avoids`` passed over without a word would drop every allergen.
    """
    times = Counter(names)
    unknown = [name for name in times if name not in COLUMNS]
    faults: list[LunchError] = [
        UnknownName(
            pointer=place,
            value=name,
            kind=message("kind.column"),
            near=near_names(name, COLUMNS),
            known=known_columns(),
        )
        for name in unknown[:MOST_NAMED]
    ]
    if more := unknown[MOST_NAMED:]:
        problem = message("fault.more-unknown-columns", columns=len(more))
        faults.append(BadInput(pointer=place, value=more[0], problem=problem))
    faults += [
        BadInput(pointer=place, value=name, problem=message("fault.column-twice"))
        for name in COLUMNS
        if times[name] > 1
    ]
    faults += [
        BadInput(pointer=place, value=name, problem=message("fault.column-missing"))
        for name in NEEDED
        if name not in names
    ]
    raise_all(faults)


def known_columns() -> Message:
    """All columns, for a remedy."""
    return message("help.known", names=list(COLUMNS))


@dataclass(frozen=True, slots=True, eq=False)
class TextColumn:
    """Text by code: ``values[codes[row]]``; -1 is not given. ``values`` may hold some that no row has."""

    codes: Place
    values: list[str]

    def at(self, row: int) -> str | None:
        """The text of one row."""
        code = self.codes[row]
        return self.values[code] if code >= 0 else None

    def of(self, rows: Place) -> TextColumn:
        """Some of the rows."""
        return TextColumn(self.codes[rows], self.values)


class RowsByCode:
    """The rows that have each code, found together when first asked for: most tables have no fault."""

    def __init__(self, codes: npt.NDArray[np.intp]) -> None:
        self._codes = codes
        self._order: npt.NDArray[np.intp] | None = None

    def __getitem__(self, code: int) -> npt.NDArray[np.intp]:
        if self._order is None:
            self._order = np.argsort(self._codes, kind="stable")
            self._codes = self._codes[self._order]
        first, last = np.searchsorted(self._codes, [code, code + 1])
        return self._order[first:last]


@dataclass(frozen=True, slots=True, eq=False)
class NumberColumn:
    """Numbers; not a number is not given. ``wrong``: what is not a number, with its rows."""

    values: Floats
    wrong: list[tuple[str, Place]]


def text_of(value: object) -> str:
    """A cell as text: a day as YYYY-MM-DD, a whole number without a point."""
    if isinstance(value, str):
        return value.strip()
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, datetime) and value.time() == time():
        return value.date().isoformat()
    if isinstance(value, date):
        return value.isoformat()
    number: Any = value
    try:
        return str(int(number)) if number == int(number) else str(float(number))
    except (TypeError, ValueError, OverflowError):
        return str(value).strip()


def text_column(frame: pd.DataFrame, name: str) -> TextColumn:
    """Read a column as text; all not given where the frame has none of that name."""
    if name not in frame:
        return TextColumn(np.broadcast_to(np.intp(-1), len(frame)), [])
    codes, found = coded(frame[name])
    texts = [value.strip() if type(value) is str else text_of(value) for value in found]
    values = list(dict.fromkeys(texts))
    if len(values) < len(texts) or "" in values:
        place = {text: code for code, text in enumerate(values)}
        place[""] = -1
        codes = np.array([*(place[text] for text in texts), -1], np.intp)[codes]
    return TextColumn(codes, values)


def text_columns(frame: pd.DataFrame, names: Sequence[str]) -> dict[str, TextColumn]:
    """Read several columns as text; those of a long frame side by side, since arrow lets go of the lock."""
    with ThreadPoolExecutor(THREADS if len(frame) >= MANY_ROWS else 1) as pool:
        return dict(zip(names, pool.map(lambda name: text_column(frame, name), names), strict=True))


def coded(column: pd.Series[Any]) -> tuple[Place, list[Any]]:
    """A column's codes, -1 for not given, and its different values."""
    if isinstance(column.dtype, pd.CategoricalDtype):
        return column.cat.codes.to_numpy().astype(np.intp), column.cat.categories.tolist()
    if isinstance(column.dtype, pd.StringDtype):
        texts = pa.array(column, from_pandas=True)
        texts = texts.combine_chunks() if isinstance(texts, pa.ChunkedArray) else texts
        if len(run_starts(texts.slice(0, SAMPLE))) > min(SAMPLE, len(texts)) / 2:
            return _codes(texts)
        runs = run_starts(texts)
        codes, found = _codes(texts.take(pa.array(runs)))
        return np.repeat(codes, np.diff(runs, append=len(column))), found
    codes, values = pd.factorize(column)
    return codes, values.tolist()


def _codes(texts: pa.Array) -> tuple[Place, list[Any]]:
    coded_texts = texts.dictionary_encode()
    indices = coded_texts.indices.fill_null(-1) if coded_texts.null_count else coded_texts.indices
    return indices.to_numpy().astype(np.intp), coded_texts.dictionary.to_pylist()


def run_starts(texts: Any) -> Place:
    """Where text differs from the one before, in an arrow array; the rows of a lunch mostly say the same."""
    if isinstance(texts, pa.ChunkedArray):
        texts = texts.combine_chunks()
    if not len(texts):
        return np.zeros(0, np.intp)
    differs = pc.fill_null(pc.not_equal(texts.slice(1), texts.slice(0, len(texts) - 1)), True)
    return np.flatnonzero(np.concatenate([[True], differs.to_numpy(zero_copy_only=False)]))


def texts_of(codes: Place, values: Any) -> pa.Array:
    """Codes as text; -1 is empty."""
    places = pa.array(codes, pa.int32(), mask=codes < 0)
    return pa.array(values, pa.string()).take(places)


def data_frame(columns: dict[str, Any]) -> pd.DataFrame:
    """A frame of arrow text and numpy numbers, nothing copied."""
    text: Any = pd.StringDtype("pyarrow", na_value=np.nan)
    made = {
        name: text.__from_arrow__(column) if isinstance(column, pa.Array) else column
        for name, column in columns.items()
    }
    return pd.DataFrame(made, copy=False)


def number_column(frame: pd.DataFrame, name: str) -> NumberColumn:
    """Read a column as numbers; text that is written as a number is one."""
    if name not in frame:
        return NumberColumn(np.broadcast_to(np.nan, len(frame)), [])
    column = frame[name]
    if pd.api.types.is_numeric_dtype(column.dtype) and not pd.api.types.is_bool_dtype(column.dtype):
        return NumberColumn(column.to_numpy(np.float64, na_value=np.nan), [])
    text = text_column(frame, name)
    numbers = np.full(len(text.values) + 1, np.nan)
    wrong = []
    rows = RowsByCode(text.codes)
    for code, value in enumerate(text.values):
        if NUMBER.fullmatch(value):
            numbers[code] = float(value)
        elif value:
            wrong.append((value, rows[code]))
    return NumberColumn(numbers[text.codes], [(value, some) for value, some in wrong if len(some)])


def same_as_before(values: Floats) -> npt.NDArray[np.bool_]:
    """(rows - 1,) whether a number is the one before it, or neither is given."""
    same: npt.NDArray[np.bool_] = (values[1:] == values[:-1]) | (np.isnan(values[1:]) & np.isnan(values[:-1]))
    return same


def codes_of(values: Floats) -> Place:
    """Numbers as codes; -1 for not given."""
    codes: Place = pd.factorize(values)[0]
    return codes
