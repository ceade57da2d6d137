"""One row a lunch: verdict, score, what to change, and the totals."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd
import pyarrow as pa
import pyarrow.compute as pc

from service.domain.lunch.judging_arrays import MET, STATUSES, VERDICTS, rounded
from service.domain.lunch.standards import TargetTable
from service.domain.measures import MEASURES, NUTRIENT_COUNT, SCALE
from service.domain.tables.codes import Place, joint_codes
from service.domain.tables.judging import JudgedTable
from service.domain.tables.screening import OUTCOMES
from service.jobs.tables.columns import data_frame, texts_of
from service.jobs.tables.yardsticks import yardsticks_column

MEASURE_IDS = tuple(measure.id for measure in MEASURES)
LUNCH_COLUMNS = (
    "lunch",
    "line",
    "verdict",
    "score",
    "score_low",
    "score_high",
    "standard",
    "on",
    "age_group",
    "items",
    "grams",
    *STATUSES,
    "off_the_mean",
    "to_change",
    "allergen_outcome",
    "allergens",
    "handling",
    "yardsticks",
    *MEASURE_IDS,
    "incomplete",
)
"""Columns of a table of checked lunches.

``score_low``, ``score_high``: what the score can be, whatever is not known; the score itself where all is known.
``to_change``: what makes it one to adjust, ``target:status`` separated by semicolons. ``allergens``: what the child or
the setting avoids and the outcome, but for ``not_declared``. ``handling``: findings on form and holding, but for those
in order. ``yardsticks``: ``yardstick/target:status`` for each row of those named. Measures: totals, empty where one is not known exactly; ``incomplete`` then gives ``measure:low..high``.
"""


def lunches_frame(judged: JudgedTable, names: pa.Array, lines: npt.NDArray[np.int64]) -> pd.DataFrame:
    """The lunches as a data frame of ``LUNCH_COLUMNS``."""
    lunches, items = judged.lunches, judged.items
    grams = np.add.reduceat(items.amount_mg, judged.starts) if len(lines) else np.zeros(0, np.int64)
    tables = lunches.tables
    columns: dict[str, Any] = {
        "lunch": names,
        "line": lines,
        "verdict": texts_of(judged.verdict, VERDICTS),
        "score": judged.score,
        "score_low": judged.score_low,
        "score_high": judged.score_high,
        "standard": texts_of(lunches.table, [table.standard.id for table in tables]),
        "on": texts_of(lunches.days, lunches.day_texts),
        "age_group": texts_of(lunches.table, [table.age_group.id for table in tables]),
        "items": judged.sizes,
        "grams": grams / 1000,
        **dict(zip(STATUSES, judged.statuses, strict=True)),
        "off_the_mean": judged.off_the_mean,
        "to_change": _to_change(judged),
        **_allergens(judged),
        "handling": _handling(judged),
        "yardsticks": yardsticks_column(judged),
        **_totals(judged),
        "incomplete": _incomplete(judged),
    }
    return data_frame({name: columns[name] for name in LUNCH_COLUMNS})


def _to_change(judged: JudgedTable) -> pa.Array:
    """Targets and special rules that make a lunch one to adjust; each different set of them is put in words once."""
    rules = judged.rules
    broken = [None if one.status == "met" else f"{one.id}:{one.status}" for one in rules.findings]
    mask, names = _marks(broken, rules.finding, rules.lunch, len(judged.sizes))
    words: list[str | None] = [None]
    place = np.zeros(len(judged.sizes), np.intp)
    for group in judged.groups:
        off = [np.where(one.counts, one.status, MET).astype(np.intp) for one in group.targets]
        off += list(mask[:, group.lunch])
        pattern, example = joint_codes(np.zeros(len(group.lunch), np.intp), *off)
        place[group.lunch] = pattern + len(words)
        of_rules = tuple(names)
        words += [_words(group.table, of_rules, tuple(codes)) for codes in np.array(off)[:, example].T.tolist()]
    return texts_of(place, words)


@lru_cache(maxsize=1 << 16)
def _words(table: TargetTable, rules: tuple[str, ...], codes: tuple[int, ...]) -> str | None:
    """``target:status`` for the statuses of a table's targets, then the special rules whose code is not 0."""
    told = [f"{one.id}:{STATUSES[code]}" for one, code in zip(table.targets, codes, strict=False) if code != MET]
    told += [name for name, code in zip(rules, codes[len(table.targets) :], strict=True) if code]
    return ";".join(told) or None


def _marks(told: Sequence[str | None], which: Place, lunch: Place, lunches: int) -> tuple[Place, list[str]]:
    """(names, n): whether a lunch has a finding of that name, and the names in order.

    ``told``: the name ``id:status`` of each different finding, None for those in order; ``which``: places in it.
    """
    names = sorted({name for name in told if name is not None})
    number = np.array([-1 if name is None else names.index(name) for name in told], np.intp)[which]
    mask = np.zeros((len(names), lunches), np.intp)
    mask[number[number >= 0], lunch[number >= 0]] = 1
    return mask, names


def _allergens(judged: JudgedTable) -> dict[str, pa.Array]:
    """The worst outcome, and each outcome that is not ``not_declared``."""
    screened, lunches = judged.screened, judged.lunches
    worst = np.full(len(judged.sizes), -1, np.intp)
    place = np.zeros(len(judged.sizes), np.intp)
    words: list[str | None] = [None]
    if len(screened.lunch):
        worst[screened.lunch] = screened.worst.max(axis=1)
        asked = lunches.avoided[screened.lunch]
        pattern, example = joint_codes(asked, *screened.worst.T.astype(np.intp))
        place[screened.lunch] = pattern + 1
        for at in example.tolist():
            outcomes: dict[str, int] = {}
            for avoidance, rank in zip(lunches.avoidances[asked[at]], screened.worst[at].tolist(), strict=False):
                outcomes[avoidance.allergen] = max(rank, outcomes.get(avoidance.allergen, 0))
            words.append(";".join(f"{name}:{OUTCOMES[rank]}" for name, rank in outcomes.items() if rank) or None)
    return {"allergen_outcome": texts_of(worst, OUTCOMES), "allergens": texts_of(place, words)}


def _handling(judged: JudgedTable) -> pa.Array:
    """Findings on form and holding that are not in order."""
    handled = judged.handled
    told = [None if one.status == "in_order" else f"{one.id}:{one.status}" for one in handled.findings]
    mask, names = _marks(told, handled.finding, handled.lunch, len(judged.sizes))
    pattern, example = joint_codes(np.zeros(len(judged.sizes), np.intp), *mask)
    words = [";".join(name for name, bit in zip(names, mask[:, at], strict=True) if bit) or None for at in example]
    return texts_of(pattern, words)


def _totals(judged: JudgedTable) -> dict[str, Any]:
    """Totals by measure in its unit; not a number where not known exactly, or where no food groups are credited."""
    credited = np.array([bool(table.standard.crediting) for table in judged.lunches.tables], np.bool_)
    has_credits = credited[judged.lunches.table]
    widened = judged.totals.measures_with_intervals()
    found = {}
    for measure, name in enumerate(MEASURE_IDS):
        amount = rounded(judged.totals.nominal[measure] / SCALE, 3)
        if measure in widened:
            amount[judged.totals.is_interval(frozenset({measure}))] = np.nan
        if measure >= NUTRIENT_COUNT:
            amount[~has_credits] = np.nan
        found[name] = amount
    return found


def _incomplete(judged: JudgedTable) -> pa.Array:
    """``measure:low..high`` for each total that is not known exactly; no end: ``measure:low..``."""
    totals = judged.totals
    lunch, measure, low, high = ([np.zeros(0, np.int64)] for _ in range(4))
    for index in totals.measures_with_intervals():
        some = np.flatnonzero(totals.is_interval(frozenset({index})))
        lunch.append(some)
        measure.append(np.full(len(some), index))
        those = totals.subset(some)
        low.append(those.least(index))
        high.append(np.where(those.is_unbounded(index), -1, those.most(index)))
    lunches = np.concatenate(lunch)
    order = np.argsort(lunches, kind="stable")
    ends = np.concatenate(high)[order]
    entries = pc.binary_join_element_wise(
        texts_of(np.concatenate(measure)[order], [f"{name}:" for name in MEASURE_IDS]),
        pc.cast(pa.array(rounded(np.concatenate(low)[order] / SCALE, 3)), pa.string()),
        "..",
        pc.fill_null(pc.cast(pa.array(rounded(ends / SCALE, 3), mask=ends < 0), pa.string()), ""),
        "",
    )
    offsets = np.searchsorted(lunches[order], np.arange(len(totals) + 1))
    lists = pa.ListArray.from_arrays(pa.array(offsets, pa.int32()), entries)
    return pc.if_else(pa.array(np.diff(offsets) > 0), pc.binary_join(lists, ";"), pa.scalar(None, pa.string()))
