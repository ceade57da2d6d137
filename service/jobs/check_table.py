"""Check a table of lunches: a data frame in, data frames out, the same answers as one by one.

``check_table`` is a pure function of its frame, so it serves a file in chunks, a request, and the partitions of
a data frame on many machines alike. A lunch with any fault is rejected whole, since an item left out could be
the one that matters; all others are kept.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import orjson

from service.jobs.requests import MOST_ITEMS
from service.jobs.table_columns import (
    COLUMNS,
    ITEM_TEXTS,
    LINE,
    LUNCH_NUMBERS,
    LUNCH_TEXTS,
    REFUSED,
    NumberColumn,
    TextColumn,
    check_columns,
    codes_of,
    number_column,
    text_column,
)
from service.jobs.table_faults import Fault, RowFaults

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt
    import pandas as pd

    from service.jobs.table_columns import Place

    Flags = npt.NDArray[np.bool_]

LONGEST_ID = 120


class CheckedTable(NamedTuple):
    """What came of a table: one row a lunch, one a finding, one a fault of a rejected lunch."""

    lunches: pd.DataFrame
    findings: pd.DataFrame
    rejects: pd.DataFrame


def check_table(frame: pd.DataFrame, with_findings: bool = True) -> CheckedTable:
    """Check every lunch of a table in long form, one row an item, rows of a lunch side by side.

    Parameters
    ----------
    frame: columns as in ``table_columns.COLUMNS``; ``line`` may say which line of a file each row stands in.
    with_findings: False leaves the findings empty, which is quicker.

    Raises ``LunchError`` for a frame with columns that are not known, or without one that is needed.
    """
    from service.jobs.table_items import item_fields
    from service.jobs.table_lunches import lunch_fields
    from service.jobs.table_results import results

    check_columns([str(name) for name in frame.columns if name not in (LINE, REFUSED)])
    rows = read_rows(frame)
    lunches = lunch_fields(rows.texts, rows.numbers, rows.starts, rows.faults)
    items = item_fields(rows.texts, rows.numbers["quantity"], rows.faults)
    kept = rows.kept()
    rejects = rows.faults.frame(rows.lines, [rows.name_of(code) for code in rows.lunch.codes.tolist()])
    return CheckedTable(*results(rows, kept, lunches, items, with_findings), rejects)
