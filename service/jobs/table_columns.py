"""The columns of a table of lunches in long form (one row an item), and how a data frame's columns are read.

Every column is text or numbers; an empty cell is not given. Text that is the same throughout a table is
looked up once, whatever the number of rows. pandas and numpy are imported with the first table.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import TYPE_CHECKING, Any

from service.domain.amounts import near_names
from service.domain.errors import BadInput, LunchError, UnknownName, raise_all

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt
    import pandas as pd
    import pyarrow as pa

    Place = npt.NDArray[np.intp]
    Floats = npt.NDArray[np.float64]

NEEDED = ("lunch", "standard", "on", "food")
LUNCH_TEXTS = ("standard", "on", "age_group", "avoids", "bans", "ban_threshold", "insulated", "flask_preheated")
LUNCH_NUMBERS = ("age_months", "age_years", "cold_sources", "minutes_until_eaten", "ambient_c", "flask_filled_at_c")
ITEM_TEXTS = ("food", "unit", "form", "credit_as", "held")
ITEM_NUMBERS = ("quantity",)
COLUMNS = ("lunch", *LUNCH_TEXTS, *LUNCH_NUMBERS, "food", "quantity", "unit", "form", "credit_as", "held")
"""Columns of a lunch say the same in every row of it; the others are the item's own."""

LINE, REFUSED = "line", "refused"
"""Two columns that the readers of files add: the line a row stands in, and what is wrong with the row itself."""

NUMBER = re.compile(r"[+-]?([0-9]+(\.[0-9]*)?|\.[0-9]+)([eE][+-]?[0-9]+)?")
DENSE = 1 << 22
"""Up to so many possible pairs of codes, a table of all of them is quicker than hashing."""


def check_columns(names: Sequence[str], place: str = "columns") -> None:
    """Refuse a table with a column that is not known, stands twice, or is missing.

    A misspelt ``avoids`` passed over without a word would drop every allergen.
    """
    faults: list[LunchError] = [
        UnknownName(pointer=place, value=name, kind="column", near=near_names(name, COLUMNS), known=known_columns())
        for name in names
        if name not in COLUMNS
    ]
    faults += [
        BadInput(pointer=place, value=name, problem="stands twice", remedy="Give each column once.")
        for name in dict.fromkeys(names)
        if list(names).count(name) > 1
    ]
    faults += [
        BadInput(pointer=place, value=name, problem="is a column that is missing", remedy="Add it.")
        for name in NEEDED
        if name not in names
    ]
    raise_all(faults)


def known_columns() -> str:
    """All columns, for a remedy."""
    return "Known: " + ", ".join(COLUMNS) + "."


@dataclass(frozen=True, slots=True, eq=False)
class TextColumn:
    """Text by code: ``values[codes[row]]``; -1 is not given. ``values`` may hold some that no row has."""

    codes: Place
    values: list[str]

    def used(self) -> list[int]:
        """The codes that some row has, in order."""
        import numpy as np

        marks = np.zeros(len(self.values) + 1, np.bool_)
        marks[self.codes] = True
        used: list[int] = np.flatnonzero(marks[:-1]).tolist()
        return used

    def of(self, rows: Place) -> TextColumn:
        """Some of the rows."""
        return TextColumn(self.codes[rows], self.values)


@dataclass(frozen=True, slots=True, eq=False)
class NumberColumn:
    """Numbers; not a number is not given. ``wrong``: what is no number, with its rows."""

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
    import numpy as np

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


def coded(column: pd.Series[Any]) -> tuple[Place, list[Any]]:
    """A column's codes, -1 for not given, and its different values."""
    import numpy as np
    import pandas as pd
    import pyarrow as pa

    if isinstance(column.dtype, pd.CategoricalDtype):
        return column.cat.codes.to_numpy().astype(np.intp), column.cat.categories.tolist()
    if isinstance(column.dtype, pd.StringDtype):
        runs = run_starts(pa.array(column, from_pandas=True))
        if len(runs) < len(column) / 2:
            codes, found = pd.factorize(column.iloc[runs])
            return np.repeat(codes, np.diff(runs, append=len(column))), found.tolist()
    codes, found = pd.factorize(column)
    return codes, found.tolist()


def run_starts(texts: Any) -> Place:
    """Where text differs from the one before, in an arrow array; the rows of a lunch mostly say the same."""
    import numpy as np
    import pyarrow as pa
    import pyarrow.compute as pc

    if isinstance(texts, pa.ChunkedArray):
        texts = texts.combine_chunks()
    if not len(texts):
        return np.zeros(0, np.intp)
    differs = pc.fill_null(pc.not_equal(texts.slice(1), texts.slice(0, len(texts) - 1)), True)
    return np.flatnonzero(np.concatenate([[True], differs.to_numpy(zero_copy_only=False)]))


def texts_of(codes: Place, values: Any) -> pa.Array:
    """Codes as text; -1 is empty."""
    import pyarrow as pa

    places = pa.array(codes, pa.int32(), mask=codes < 0)
    return pa.array(values, pa.string()).take(places)


def data_frame(columns: dict[str, Any]) -> pd.DataFrame:
    """A frame of arrow text and numpy numbers, the numbers not copied."""
    import pandas as pd
    import pyarrow as pa

    texts = pa.table({name: column for name, column in columns.items() if isinstance(column, pa.Array)}).to_pandas()
    return pd.DataFrame({name: texts.get(name, column) for name, column in columns.items()}, copy=False)


def number_column(frame: pd.DataFrame, name: str) -> NumberColumn:
    """Read a column as numbers; text that is written as a number is one."""
    import numpy as np
    import pandas as pd

    if name not in frame:
        return NumberColumn(np.broadcast_to(np.nan, len(frame)), [])
    column = frame[name]
    if pd.api.types.is_numeric_dtype(column.dtype) and not pd.api.types.is_bool_dtype(column.dtype):
        return NumberColumn(column.to_numpy(np.float64, na_value=np.nan), [])
    text = text_column(frame, name)
    numbers = np.full(len(text.values) + 1, np.nan)
    wrong = []
    for code, value in enumerate(text.values):
        if NUMBER.fullmatch(value):
            numbers[code] = float(value)
        elif value:
            wrong.append((value, np.flatnonzero(text.codes == code)))
    return NumberColumn(numbers[text.codes], [(value, rows) for value, rows in wrong if len(rows)])


def same_as_before(values: Floats) -> npt.NDArray[np.bool_]:
    """(rows - 1,) whether a number is the one before it, or neither is given."""
    import numpy as np

    same: npt.NDArray[np.bool_] = (values[1:] == values[:-1]) | (np.isnan(values[1:]) & np.isnan(values[:-1]))
    return same


def codes_of(values: Floats) -> Place:
    """Numbers as codes; -1 for not given."""
    import pandas as pd

    codes: Place = pd.factorize(values)[0]
    return codes


def together(*codes: Place) -> tuple[Place, Place]:
    """Number the different combinations of codes (-1 and up): the number of each row, and a row that has each."""
    import numpy as np
    import pandas as pd

    key = codes[0] + 1
    size = int(key.max(initial=0)) + 1
    for other in codes[1:]:
        if (other == other[:1]).all():
            continue
        width = int(other.max()) + 2
        if size * width >= DENSE:
            key, found = pd.factorize(key)
            size = len(found)
        key = key * width + (other + 1)
        size *= width
    if size < DENSE:
        marks = np.zeros(size, np.bool_)
        marks[key] = True
        numbers = np.cumsum(marks) - 1
        which, count = numbers[key], int(marks.sum())
    else:
        which, found = pd.factorize(key)
        count = len(found)
    row = np.zeros(count, np.intp)
    row[which[::-1]] = np.arange(len(which) - 1, -1, -1)
    return which, row
