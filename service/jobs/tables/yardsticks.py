"""The yardsticks that rows of a table name: looked up for each child and day, and said in one column."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from datetime import date
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from service.domain.errors import Faults, OutsideAgeGroups, OutsideDates
from service.domain.lunch.compiling import check_date
from service.domain.lunch.judging_arrays import STATUSES
from service.domain.lunch.yardsticks import Yardstick
from service.domain.tables.codes import Place, joint_codes
from service.jobs.tables.columns import TextColumn, texts_of
from service.jobs.tables.faults import RowFaults
from service.jobs.tables.looked_up import looked_up
from service.jobs.tables.spans import compiled, span_of
from service.reference.lunch.standards import yardstick

if TYPE_CHECKING:
    import pyarrow as pa

    from service.domain.lunch.standards import Standard, TargetTable
    from service.domain.tables.judging import JudgedTable

COLUMN = "yardsticks"
NO_ROWS = "no_rows"
"""Said of a yardstick without rows for the child's age or the day."""


def with_yardsticks(frame: pd.DataFrame, ids: Sequence[str]) -> pd.DataFrame:
    """The rows of a table, beside these yardsticks where they name none."""
    if not ids:
        return frame
    said: Any = ";".join(ids)
    if COLUMN in frame:
        own = frame[COLUMN].astype("object")
        none = own.isna() | (own.astype("str").str.strip() == "")
        said = own.mask(none, said)
    return frame.assign(**{COLUMN: said})


def yardsticks_of(
    column: TextColumn, on: Place, days: list[date], months: Place, rows: Place, faults: RowFaults
) -> tuple[Place, list[tuple[Yardstick, ...]]]:
    """The yardsticks of each lunch, with their rows for its child on its day: places in what was found.

    ``column``: ids separated by semicolons. ``on``: places in ``days``; ``months``: the child's age; below 0 for a fault.
    """
    named = column.codes >= 0

    def find_them(lunch: int) -> tuple[Yardstick, ...] | None:
        ids = [one.strip() for one in (column.at(lunch) or "").split(";") if one.strip()]
        found: dict[str, Standard] = {}
        misspelt = Faults()
        for one in ids:
            with misspelt.at():
                found[one] = yardstick(one)
        misspelt.raise_all()
        if found and (on[lunch] < 0 or months[lunch] < 0):
            return None
        return tuple(Yardstick(known, _table(known, int(months[lunch]), days[on[lunch]])) for known in found.values())

    # What no yardstick hangs on is left out, so that most tables have a single case.
    place, several = looked_up(
        COLUMN, find_them, faults, column.codes, np.where(named, on, 0), np.where(named, months, 0), rows=rows
    )
    different = list(dict.fromkeys(several))
    return np.array([*map(different.index, several), -1], np.intp)[place], different


def _table(known: Standard, months: int, on: date) -> TargetTable | None:
    with suppress(OutsideAgeGroups, OutsideDates):
        check_date(known, on)
        return compiled(known, known.group_of_age(months).id, span_of(known, on))
    return None


def yardsticks_column(judged: JudgedTable) -> pa.Array:
    """``yardstick/target:status`` for each row of each yardstick, with semicolons between; empty where none is named."""
    words: list[str | None] = [None]
    place = np.zeros(len(judged.sizes), np.intp)
    for group in judged.beside:
        names = [
            f"{one.standard.id}/{target.id}"
            for one in group.yardsticks
            for target in (() if one.table is None else one.table.targets)
        ]
        without = [f"{one.standard.id}:{NO_ROWS}" for one in group.yardsticks if one.table is None]
        codes = [one.status.astype(np.intp) for one in group.targets]
        pattern, example = joint_codes(np.zeros(len(group.lunch), np.intp), *codes)
        place[group.lunch] = pattern + len(words)
        for lunch in example.tolist():
            told = [f"{name}:{STATUSES[found[lunch]]}" for name, found in zip(names, codes, strict=True)]
            words.append(";".join([*told, *without]))
    return texts_of(place, words)
