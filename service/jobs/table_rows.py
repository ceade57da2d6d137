"""Reads the rows of a table: which of them make up a lunch, and whether they agree with each other."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import orjson

from service.jobs.requests import MOST_ITEMS, Asked, Name
from service.jobs.table_columns import (
    ITEM_NUMBERS,
    ITEM_TEXTS,
    LINE,
    LUNCH_NUMBERS,
    LUNCH_TEXTS,
    REFUSED,
    NumberColumn,
    TextColumn,
    number_column,
    same_as_before,
    text_column,
)
from service.jobs.table_faults import Fault, RowFaults, attempt

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt
    import pandas as pd

    from service.jobs.table_columns import Place

NOWHERE = Fault("lunch", "nothing", "is missing", "Add it, so that it is known which lunch the item belongs to.")
SIDE_BY_SIDE = "Sort the table by lunch, so that the rows of each stand side by side."


class NamedLunch(Asked):
    """The id of a lunch, held to the same form as other names."""

    lunch: Name


@dataclass(frozen=True, slots=True, eq=False)
class TableRows:
    """The rows of a table by lunch.

    ``starts``: (n,) first row of each lunch; ``sizes``: (n,) its rows. Rows whose lunch cannot be told belong to
    none. ``lines``: (rows,) the line each row stands in.
    """

    lines: npt.NDArray[np.int64]
    lunch: TextColumn
    texts: dict[str, TextColumn]
    numbers: dict[str, NumberColumn]
    starts: Place
    sizes: Place
    faults: RowFaults

    def name_of(self, row: int) -> str | None:
        """The lunch of a row."""
        code = int(self.lunch.codes[row])
        return self.lunch.values[code] if code >= 0 else None

    def whole(self) -> Place:
        """The lunches of which no row has a fault."""
        import numpy as np

        count = np.concatenate([[0], np.cumsum(self.faults.any)])
        return np.flatnonzero(count[self.starts + self.sizes] == count[self.starts])

    def rows_of(self, lunches: Place) -> Place:
        """The rows of some of the lunches."""
        import numpy as np

        sizes = self.sizes[lunches]
        ahead = np.cumsum(sizes) - sizes
        return np.repeat(self.starts[lunches] - ahead, sizes) + np.arange(int(sizes.sum()))


def read_rows(frame: pd.DataFrame) -> TableRows:
    """Read a frame and note what is wrong with its rows as such."""
    import numpy as np

    rows = len(frame)
    lines = frame[LINE].to_numpy(np.int64) if LINE in frame else np.arange(1, rows + 1, dtype=np.int64)
    faults = RowFaults(rows)
    lunch = text_column(frame, "lunch")
    if REFUSED in frame:
        _refused(frame, faults)
    faults.add(np.flatnonzero((lunch.codes < 0) & ~faults.any), [NOWHERE])
    _names(lunch, faults)
    first = np.flatnonzero(np.diff(lunch.codes, prepend=-2))
    sizes = np.diff(first, append=rows)
    known = lunch.codes[first] >= 0
    _beside_lost_rows(lunch, first, sizes, known, faults)
    starts, sizes = first[known], sizes[known]
    _in_one_place(lunch, starts, faults)
    for start, size in zip(starts[sizes > MOST_ITEMS].tolist(), sizes[sizes > MOST_ITEMS].tolist(), strict=True):
        told = Fault("lunch", lunch.values[lunch.codes[start]], f"has {size} items", f"Give {MOST_ITEMS} at most.")
        faults.add([start], [told])
    texts = {name: text_column(frame, name) for name in (*LUNCH_TEXTS, *ITEM_TEXTS)}
    numbers = {name: number_column(frame, name) for name in (*LUNCH_NUMBERS, *ITEM_NUMBERS)}
    _agreement(texts, numbers, lunch, faults)
    return TableRows(lines, lunch, texts, numbers, starts, sizes, faults)


def refusal(faults: list[Fault]) -> str:
    """What is wrong with a row, as the readers of files hand it on."""
    return orjson.dumps([list(one) for one in faults]).decode()


def _refused(frame: pd.DataFrame, faults: RowFaults) -> None:
    """Faults that were found in reading; nothing more is said of those rows."""
    column = frame[REFUSED]
    for row, told in enumerate(column.to_list() if column.notna().any() else []):
        if isinstance(told, str):
            faults.add([row], [Fault(*one) for one in orjson.loads(told)])
            faults.closed[row] = True


def _names(lunch: TextColumn, faults: RowFaults) -> None:
    """Ids that are too long or hold control characters."""
    import numpy as np

    for code, value in enumerate(lunch.values):
        if len(value) <= 100 and value.isprintable():
            continue
        _made, wrong = attempt("lunch", NamedLunch, lunch=value)
        faults.add(np.flatnonzero(lunch.codes == code)[:1], wrong)


def _beside_lost_rows(
    lunch: TextColumn, first: Place, sizes: Place, known: npt.NDArray[np.bool_], faults: RowFaults
) -> None:
    """A row whose lunch cannot be told may belong to the one above or below: both are rejected."""
    import numpy as np

    for run in np.flatnonzero(~known).tolist():
        for row in (first[run] - 1, first[run] + sizes[run]):
            if 0 <= row < len(lunch.codes):
                name = lunch.values[lunch.codes[row]]
                reason = "stands beside a row whose lunch cannot be told and which may belong to it"
                faults.add([row], [Fault("lunch", name, reason, "Mend or take out that row.")])


def _in_one_place(lunch: TextColumn, starts: Place, faults: RowFaults) -> None:
    """A lunch whose rows stand apart would be judged in parts."""
    import numpy as np

    times = np.bincount(lunch.codes[starts], minlength=1)
    for start in starts[times[lunch.codes[starts]] > 1].tolist():
        name = lunch.values[lunch.codes[start]]
        faults.add([start], [Fault("lunch", name, "stands in more than one place of the table", SIDE_BY_SIDE)])


def _agreement(
    texts: dict[str, TextColumn], numbers: dict[str, NumberColumn], lunch: TextColumn, faults: RowFaults
) -> None:
    """What is said of a lunch or its child is the same in each of its rows."""
    import numpy as np

    same_lunch = (lunch.codes[1:] == lunch.codes[:-1]) & (lunch.codes[1:] >= 0)
    same = {name: texts[name].codes[1:] == texts[name].codes[:-1] for name in LUNCH_TEXTS if texts[name].values}
    for name in LUNCH_NUMBERS:
        column = numbers[name]
        for value, rows in column.wrong:
            faults.add(rows, [Fault(name, value, "is no number", "Write it with digits and a point, e.g. 7.5.")])
        same[name] = same_as_before(column.values)
    for name, unchanged in same.items():
        for row in np.flatnonzero(same_lunch & ~unchanged).tolist():
            value = _cell(texts, numbers, name, row + 1)
            reason = "differs from the row of the same lunch before it"
            faults.add([row + 1], [Fault(name, value, reason, "Give the same in each row of a lunch.")])


def _cell(texts: dict[str, TextColumn], numbers: dict[str, NumberColumn], name: str, row: int) -> str:
    if name in numbers:
        return f"{numbers[name].values[row]:g}"
    code = texts[name].codes[row]
    return texts[name].values[code] if code >= 0 else "nothing"
