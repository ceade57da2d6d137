"""Reads the rows of a table: which of them make up a lunch, and whether they agree with each other."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import orjson
import pandas as pd
import pyarrow as pa
import pyarrow.compute as pc

from service.domain.messages import message
from service.domain.tables.codes import Place
from service.jobs.request_faults import NOTHING
from service.jobs.requests.fields import MOST_ITEMS, Asked, Name
from service.jobs.tables.columns import (
    ITEM_NUMBERS,
    ITEM_TEXTS,
    LINE,
    LUNCH_NUMBERS,
    LUNCH_TEXTS,
    REFUSED,
    NumberColumn,
    TextColumn,
    coded,
    number_column,
    run_starts,
    same_as_before,
    text_columns,
    text_of,
    texts_of,
)
from service.jobs.tables.faults import Fault, RowFaults, attempt, not_a_number, row_fault

APART = "lunch-apart"
"""The code of the fault of a lunch whose rows stand apart."""


class NamedLunch(Asked):
    """The id of a lunch, held to the same form as other names."""

    lunch: Name


@dataclass(frozen=True, slots=True, eq=False)
class Runs:
    """Rows side by side that name the same lunch.

    ``starts``, ``sizes``: (runs,) first row and number of rows. ``names``: (runs,) the lunch, as arrow text; null for a
    row whose lunch is not known.
    """

    starts: Place
    sizes: Place
    names: pa.Array

    def known(self) -> npt.NDArray[np.bool_]:
        """(runs,) whether the lunch is known."""
        known: npt.NDArray[np.bool_] = self.names.is_valid().to_numpy(zero_copy_only=False)
        return known

    def name(self, run: int) -> str:
        """The lunch of a run."""
        return str(self.names[run].as_py())


@dataclass(frozen=True, slots=True, eq=False)
class TableRows:
    """The rows of a table by lunch.

    ``starts``: (n,) first row of each lunch; ``sizes``: (n,) its rows; ``names``: (n,) as arrow text. Rows whose lunch
    is not known belong to none. ``lines``: (rows,) the line each row stands in.
    """

    lines: npt.NDArray[np.int64]
    texts: dict[str, TextColumn]
    numbers: dict[str, NumberColumn]
    starts: Place
    sizes: Place
    names: pa.Array
    faults: RowFaults

    def name_of(self, row: int) -> str | None:
        """The lunch of a row."""
        lunch = int(np.searchsorted(self.starts, row, side="right")) - 1
        inside = lunch >= 0 and row < self.starts[lunch] + self.sizes[lunch]
        return self.names[lunch].as_py() if inside else None

    def whole(self) -> Place:
        """The lunches of which no row has a fault."""
        count = np.concatenate([[0], np.cumsum(self.faults.any)])
        return np.flatnonzero(count[self.starts + self.sizes] == count[self.starts])

    def rows_of(self, lunches: Place) -> Place:
        """The rows of some of the lunches."""
        sizes = self.sizes[lunches]
        ahead = np.cumsum(sizes) - sizes
        return np.repeat(self.starts[lunches] - ahead, sizes) + np.arange(int(sizes.sum()))


def read_rows(frame: pd.DataFrame) -> TableRows:
    """Read a frame and note what is wrong with its rows as such."""
    rows = len(frame)
    lines = frame[LINE].to_numpy(np.int64) if LINE in frame else np.arange(1, rows + 1, dtype=np.int64)
    faults = RowFaults(rows)
    if REFUSED in frame:
        _refused(frame, faults)
    runs = lunch_runs(frame["lunch"])
    known = runs.known()
    lost = runs.starts[~known]
    faults.add(lost[~faults.any[lost]], [row_fault("lunch", NOTHING, message("fault.row-without-lunch"))])
    _beside_lost_rows(runs, known, faults)
    _names(runs, faults)
    _in_one_place(runs, faults)
    for run in np.flatnonzero(known & (runs.sizes > MOST_ITEMS)).tolist():
        problem = message("fault.too-many-items", items=int(runs.sizes[run]), most=MOST_ITEMS)
        faults.add([runs.starts[run]], [row_fault("lunch", runs.name(run), problem)])
    texts = text_columns(frame, (*LUNCH_TEXTS, *ITEM_TEXTS))
    numbers = {name: number_column(frame, name) for name in (*LUNCH_NUMBERS, *ITEM_NUMBERS)}
    _agreement(texts, numbers, runs, faults)
    return TableRows(lines, texts, numbers, runs.starts[known], runs.sizes[known], runs.names.filter(known), faults)


def lunch_runs(column: pd.Series[Any]) -> Runs:
    """Find where one lunch ends and the next begins."""
    if isinstance(column.dtype, pd.StringDtype):
        cells = pa.array(column, from_pandas=True)
        starts = run_starts(cells)
        names = cells.take(pa.array(starts))
    elif isinstance(column.dtype, pd.CategoricalDtype) and isinstance(column.cat.categories.dtype, pd.StringDtype):
        codes = column.cat.codes.to_numpy().astype(np.intp)
        starts = np.flatnonzero((np.diff(codes, prepend=-2) != 0) | (codes < 0))
        names = texts_of(codes[starts], column.cat.categories)
    else:
        codes, values = coded(column)
        starts = np.flatnonzero((np.diff(codes, prepend=-2) != 0) | (codes < 0))
        names = texts_of(codes[starts], [text_of(value) for value in values])
    if isinstance(names, pa.ChunkedArray):
        names = names.combine_chunks()
    names = pc.utf8_trim_whitespace(names.cast(pa.string()))
    names = pc.if_else(pc.equal(pc.binary_length(names), 0), pa.scalar(None, pa.string()), names)
    again = run_starts(names)  # two cells that differ in spaces only name the same lunch
    starts = starts[again]
    return Runs(starts, np.diff(starts, append=len(column)), names.take(pa.array(again)))


def refusal(faults: list[Fault]) -> str:
    """What is wrong with a row, as the readers of files hand it on."""
    return orjson.dumps([list(one) for one in faults]).decode()


def refuse(frame: pd.DataFrame, row: int, fault: Fault) -> None:
    """Note a fault for a row of a frame, unless one was found in reading it."""
    if REFUSED not in frame:
        frame[REFUSED] = None
    told = frame[REFUSED].to_list()
    told[row] = told[row] if isinstance(told[row], str) else refusal([fault])
    frame[REFUSED] = told


def _refused(frame: pd.DataFrame, faults: RowFaults) -> None:
    """Faults that were found before; nothing more is said of a row that could not be read."""
    column = frame[REFUSED]
    for row, text in enumerate(column.to_list() if column.notna().any() else []):
        if isinstance(text, str):
            told = [Fault(*one) for one in orjson.loads(text)]
            faults.add([row], told)
            faults.closed[row] = any(one.code != APART for one in told)


def _beside_lost_rows(runs: Runs, known: npt.NDArray[np.bool_], faults: RowFaults) -> None:
    """A row whose lunch cannot be told may belong to the one above or below: both are rejected."""
    for run in np.flatnonzero(~known).tolist():
        first = int(runs.starts[run])
        for neighbour, row in ((run - 1, first - 1), (run + 1, first + int(runs.sizes[run]))):
            if 0 <= neighbour < len(known) and known[neighbour]:
                told = row_fault("lunch", runs.name(neighbour), message("fault.beside-lost-row"))
                faults.add([row], [told])


def _names(runs: Runs, faults: RowFaults) -> None:
    """Ids that are too long or hold control characters."""
    plain = pc.and_(pc.less(pc.binary_length(runs.names), 100), pc.ascii_is_printable(runs.names))
    for run in np.flatnonzero(~pc.fill_null(plain, True).to_numpy(zero_copy_only=False)).tolist():
        faults.add([runs.starts[run]], attempt("lunch", NamedLunch, lunch=runs.name(run))[1])


def _in_one_place(runs: Runs, faults: RowFaults) -> None:
    """A lunch whose rows stand apart would be judged in parts."""
    names = runs.names
    if pc.all(pc.less(names.slice(0, max(len(names) - 1, 0)), names.slice(1)), skip_nulls=False).as_py():
        return
    codes = names.dictionary_encode().indices.fill_null(-1).to_numpy().astype(np.intp)
    times = np.bincount(codes + 1)
    for run in np.flatnonzero((times[codes + 1] > 1) & (codes >= 0)).tolist():
        faults.add([runs.starts[run]], [row_fault("lunch", runs.name(run), message("fault.lunch-apart"))])


def _agreement(texts: dict[str, TextColumn], numbers: dict[str, NumberColumn], runs: Runs, faults: RowFaults) -> None:
    """What is said of a lunch or its child is the same in each of its rows."""
    same_lunch = np.ones(len(texts["food"].codes), np.bool_)
    same_lunch[runs.starts] = False
    same_lunch = same_lunch[1:]
    same = {name: texts[name].codes[1:] == texts[name].codes[:-1] for name in LUNCH_TEXTS if texts[name].values}
    for name in LUNCH_NUMBERS:
        column = numbers[name]
        for value, rows in column.wrong:
            faults.add(rows, [not_a_number(name, value)])
        if column.values.strides != (0,):  # a column that is not there is the same throughout
            same[name] = same_as_before(column.values)
    for name, unchanged in same.items():
        for row in np.flatnonzero(same_lunch & ~unchanged).tolist():
            value = _cell(texts, numbers, name, row + 1)
            faults.add([row + 1], [row_fault(name, value, message("fault.unlike-row-before"))])


def _cell(texts: dict[str, TextColumn], numbers: dict[str, NumberColumn], name: str, row: int) -> str:
    if name in numbers:
        return f"{numbers[name].values[row]:g}"
    return texts[name].at(row) or "nothing"
