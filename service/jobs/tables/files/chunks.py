"""Cuts the rows of a table into frames between two lunches, and notices lunches that come up again.

Memory stays bounded: a frame holds about as many rows as a block read, and of the lunches gone by only a mark of
16 bytes each is kept.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import numpy as np
import numpy.typing as npt
import pandas as pd
import pyarrow as pa
from pandas.util import hash_array

from service.domain.errors import BadInput
from service.domain.messages import message
from service.jobs.tables.columns import LINE, NEEDED, REFUSED
from service.jobs.tables.faults import row_fault
from service.jobs.tables.rows import refuse

Marks = npt.NDArray[np.uint64]

MOST_CARRIED = 200_000
"""Rows in which no lunch ends: no table of lunches looks like this."""
KEYS = ("lunches gone by1", "lunches gone by2")


class LunchesGoneBy:
    """Remembers each lunch by a mark of 128 bits; ``again`` are those that came up a second time."""

    def __init__(self) -> None:
        self.again: set[str] = set()
        self._runs: list[Marks] = []

    def seen_before(self, names: list[str]) -> npt.NDArray[np.bool_]:
        """Which of the lunches came up in an earlier call; all of them are remembered from now on."""
        words = np.array(names, dtype=object)
        marks = np.stack([hash_array(words, hash_key=key, categorize=False) for key in KEYS], axis=1)
        before = np.zeros(len(names), np.bool_)
        for run in self._runs:
            at = np.minimum(np.searchsorted(run[:, 0], marks[:, 0]), len(run) - 1)
            before |= (run[at] == marks).all(axis=1)
        self._keep(marks)
        self.again.update(words[before])
        return before

    def _keep(self, marks: Marks) -> None:
        """Runs of marks, each sorted and at least twice as long as the next."""
        while self._runs and len(self._runs[-1]) < 2 * len(marks):
            marks = np.concatenate([self._runs.pop(), marks])
        self._runs.append(marks[np.argsort(marks[:, 0], kind="stable")])


def frames(blocks: Iterable[pa.Table], gone_by: LunchesGoneBy) -> Iterator[pd.DataFrame]:
    """Frames of whole lunches, in the order of the rows."""
    carried: pa.Table | None = None
    for block in blocks:
        table = block
        if carried is not None:
            parts = [carried, block]
            table = pa.concat_tables(parts, promote_options="default").unify_dictionaries().combine_chunks()
        border = last_border(table)
        if border:
            yield _frame(table.slice(0, border), gone_by)
        carried = _compact(table.slice(border))
        if carried.num_rows > MOST_CARRIED:
            raise BadInput(
                pointer="FILE",
                value=f"line {carried[LINE][0].as_py()}",
                problem=message("fault.lunch-without-end", rows=MOST_CARRIED),
            )
    if carried is not None and carried.num_rows:
        yield _frame(carried, gone_by)


def last_border(table: pa.Table) -> int:
    """The last row at which a table may be cut: between two lunches, or between two rows whose lunch is lost.

    Not between a lunch and a lost row, since the one may belong to the other.
    """
    if "lunch" not in table.column_names:
        return max(int(table.num_rows) - 1, 0)
    column = table["lunch"].combine_chunks()
    codes = column.indices.fill_null(-1).to_numpy()
    before, after = codes[:-1], codes[1:]
    free = ((before != after) & (before >= 0) & (after >= 0)) | ((before < 0) & (after < 0))
    borders = np.flatnonzero(free)
    return int(borders[-1]) + 1 if len(borders) else 0


def _compact(table: pa.Table) -> pa.Table:
    """A few rows without the texts of all the others."""
    columns = {}
    for name in table.column_names:
        column = table[name].combine_chunks()
        columns[name] = column.cast(pa.string()).dictionary_encode() if pa.types.is_dictionary(column.type) else column
    return pa.table(columns)


def _frame(table: pa.Table, gone_by: LunchesGoneBy) -> pd.DataFrame:
    """A data frame of the rows, lunches that came up before refused."""
    if REFUSED in table.column_names and table[REFUSED].null_count == table.num_rows:
        table = table.drop_columns([REFUSED])
    frame: pd.DataFrame = table.to_pandas()
    for name in NEEDED:
        if name not in frame:
            frame[name] = None
    if not isinstance(frame["lunch"].dtype, pd.CategoricalDtype):
        return frame
    codes = frame["lunch"].cat.codes.to_numpy()
    starts = np.flatnonzero((np.diff(codes, prepend=-2) != 0) & (codes >= 0))
    names = frame["lunch"].cat.categories.to_numpy(dtype=object)[codes[starts]]
    first = dict(zip(names[::-1].tolist(), starts[::-1].tolist(), strict=True))
    lunches = list(first)
    for place in np.flatnonzero(gone_by.seen_before(lunches)).tolist():
        name = lunches[place]
        refuse(frame, first[name], row_fault("lunch", name, message("fault.lunch-apart")))
    return frame
