"""Check a table of lunches: a data frame in, data frames out, the same answers as one by one.

``check_table`` is a pure function of its frame, so it serves a file in chunks, a request, and the partitions of
a data frame on many machines alike. A lunch with any fault is rejected whole, since an item left out could be
the one that matters; all others are kept.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import pandas as pd

from service.domain.foods.packets import NOTHING_KNOWN_OF_FOODS, KnownOfFoods
from service.domain.messages import Message
from service.domain.tables.fields import ItemFields
from service.domain.tables.judging import TableToJudge, judge_table
from service.jobs.allergens.reply import not_read_cautions
from service.jobs.foods.salted_water import salted_water_cautions
from service.jobs.requests.fields import every_region
from service.jobs.tables.cautions import cautions_frame
from service.jobs.tables.columns import LINE, REFUSED, check_columns
from service.jobs.tables.findings import findings_frame, no_findings
from service.jobs.tables.items import item_fields
from service.jobs.tables.lunches import lunch_fields
from service.jobs.tables.results import lunches_frame
from service.jobs.tables.rows import read_rows
from service.jobs.tables.yardsticks import with_yardsticks
from service.reference.allergens.vocabulary import vocabulary
from service.reference.lunch.handling import handling_rules
from service.reference.lunch.standards import crediting_scheme


class CheckedTable(NamedTuple):
    """The result of a table: one row a lunch, one a finding, one a fault of a rejected lunch.

    ``cautions``: what is to be said of the foods of all lunches, one row each.
    """

    lunches: pd.DataFrame
    findings: pd.DataFrame
    rejects: pd.DataFrame
    cautions: pd.DataFrame


def check_table(
    frame: pd.DataFrame,
    with_findings: bool = True,
    known: KnownOfFoods = NOTHING_KNOWN_OF_FOODS,
    yardsticks: Sequence[str] = (),
) -> CheckedTable:
    """Check every lunch of a table in long form, one row an item, rows of a lunch side by side.

    Parameters
    ----------
    frame: columns as in ``table_columns.COLUMNS``; ``line`` may say which line of a file each row stands in.
    with_findings: False leaves the findings empty, which is quicker.
    known: packets that were read, each used on the days on which it holds, and whether cooking water is salted.
    yardsticks: ids of those that lunches are shown beside whose rows name none.

    Raises ``LunchError`` for a frame with columns that are not known, or without one that is needed.
    """
    check_columns([str(name) for name in frame.columns if name not in (LINE, REFUSED)])
    rows = read_rows(with_yardsticks(frame, yardsticks))
    lunches = lunch_fields(rows.texts, rows.numbers, rows.starts, rows.faults)
    items = item_fields(rows.texts, rows.numbers["quantity"], rows.faults, known)
    whole = rows.whole()
    if len(whole) < len(rows.starts) or rows.faults.any.any():
        lunches, items = lunches.of(whole), items.of(rows.rows_of(whole))
    schemes = [crediting_scheme(table.standard.crediting) for table in lunches.tables]
    judged = judge_table(
        TableToJudge(lunches, items, rows.sizes[whole], schemes, vocabulary(), handling_rules(), every_region())
    )
    names = rows.names.take(whole)
    lines = rows.lines[rows.starts[whole]]
    return CheckedTable(
        lunches_frame(judged, names, lines),
        findings_frame(judged, names) if with_findings else no_findings().copy(),
        rows.faults.frame(rows.lines, rows.name_of),
        cautions_frame(_cautions(items, known)),
    )


def _cautions(items: ItemFields, known: KnownOfFoods) -> list[Message]:
    """What to say of the foods of the lunches that were judged, each once."""
    foods = [items.foods[place] for place in np.unique(items.food).tolist()]
    return [*not_read_cautions(foods), *salted_water_cautions(foods, known.salted_water)]
