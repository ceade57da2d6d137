"""Looks up what the cells of a table stand for, each different combination once, and notes what is wrong by row."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

import numpy as np

from service.domain.messages import message
from service.domain.tables.codes import Place, joint_codes
from service.jobs.request_faults import NOTHING
from service.jobs.tables.columns import RowsByCode, TextColumn
from service.jobs.tables.faults import RowFaults, attempt, row_fault

Found = TypeVar("Found")


def looked_up(
    field: str, make: Callable[[int], Found | None], faults: RowFaults, *codes: Place, rows: Place | None = None
) -> tuple[Place, list[Found]]:
    """What each different combination of codes stands for: (entries,) places in what was found, -1 for nothing.

    Parameters
    ----------
    field: the column to name where a fault names none.
    make: looks up what an entry with that combination stands for; None where it hangs on something with a fault.
    rows: (entries,) the row of the table that each entry's faults are noted for; left out: the entry itself.
    """
    which, example = joint_codes(*codes)
    entries = RowsByCode(which)
    place = np.full(len(example), -1, np.intp)
    found: list[Found] = []
    for number, entry in enumerate(example.tolist()):
        made, wrong = attempt(field, make, entry)
        if made is not None:
            place[number] = len(found)
            found.append(made)
        elif wrong:
            faults.add(entries[number] if rows is None else rows[entries[number]], wrong)
    return place[which], found


def looked_up_text(
    field: str,
    column: TextColumn,
    look_up: Callable[[str], Found],
    faults: RowFaults,
    *,
    rows: Place | None = None,
    needed: bool = False,
) -> tuple[Place, list[Found]]:
    """``looked_up`` for one column of text; a fault for an empty cell where it is ``needed``."""

    def make(entry: int) -> Found | None:
        text = column.at(entry)
        return None if text is None else look_up(text)

    if needed:
        empty = np.flatnonzero(column.codes < 0)
        faults.add(empty if rows is None else rows[empty], [row_fault(field, NOTHING, message("fault.missing"))])
    return looked_up(field, make, faults, column.codes, rows=rows)
