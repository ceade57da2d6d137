"""The scores of the lunches of a table: without their sweets and snacks, less what is taken off them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from service.domain.lunch.judging_arrays import (
    SHORT,
    ManyJudgements,
    ManyScores,
    ManyTaken,
    TakenBetween,
    judge_many,
    scores,
)
from service.domain.lunch.special_rules import RuleFinding, sweets_finding
from service.domain.lunch.standards import PointsOff, TargetTable
from service.domain.measures import ENERGY, PARTS_IN_A_THOUSANDTH, THOUSANDTHS
from service.domain.tables.codes import Place
from service.domain.tables.fields import ItemFields
from service.domain.tables.items import ItemArrays, Whole
from service.domain.tables.totals import ManyTotals, add_up_many

Flags = npt.NDArray[np.bool_]


class MeasuredRows(NamedTuple):
    """The different items of a table as arrays of measures, and which of them each row is, and of which lunch.

    ``sweet``: (rows,) whether the item is a sweet or a snack.
    """

    arrays: ItemArrays
    item: Place
    lunch: Place
    sweet: Flags


def is_sweet(items: ItemFields) -> Flags:
    """(rows,) whether the item of each row is a sweet or a snack."""
    found: Flags = np.array([food.discretionary for food in items.foods], np.bool_)[items.food]
    return found


class Core(NamedTuple):
    """The lunches that hold sweets or snacks, and their totals without these."""

    lunch: Place
    totals: ManyTotals


def core_of(rows: MeasuredRows) -> Core | None:
    """The lunches whose score is judged on other totals than they have; None where there is none."""
    if not rows.sweet.any():
        return None
    lunch = np.unique(rows.lunch[rows.sweet])
    theirs = np.flatnonzero(np.isin(rows.lunch, lunch))
    nothing = len(rows.arrays.nominal)
    item = np.where(rows.sweet[theirs], nothing, rows.item[theirs])
    starts = np.flatnonzero(np.diff(rows.lunch[theirs], prepend=-1))
    return Core(lunch, add_up_many(_with_nothing(rows.arrays), item, starts))


def _with_nothing(arrays: ItemArrays) -> ItemArrays:
    """The items and, after them, one that adds nothing."""
    return replace(
        arrays,
        nominal=np.concatenate([arrays.nominal, np.zeros_like(arrays.nominal[:1])]),
        intervals=np.append(arrays.intervals, np.uint64(0)),
        unbounded=np.append(arrays.unbounded, np.uint64(0)),
    )


class Wrong(NamedTuple):
    """What takes points off for certain, or may: the lunch of each such product, and (lunches,) whether anything is kept or cut so."""

    products: Place
    handling: Flags


def taken_off(points: PointsOff, rows: MeasuredRows, wrong: Wrong, perhaps: Wrong) -> TakenBetween:
    """What sweets and snacks, products over their limits and wrong handling take off the score of each lunch."""
    lunches = len(wrong.handling)
    known, least, most = np.zeros((3, lunches), np.int64)
    no_end = np.zeros(lunches, np.bool_)
    if points.discretionary_kcal_per_point and rows.sweet.any():
        per = points.discretionary_kcal_per_point * PARTS_IN_A_THOUSANDTH
        item, lunch = rows.item[rows.sweet], rows.lunch[rows.sweet]
        low, high = _ends_of_energy(rows.arrays)
        np.add.at(known, lunch, rows.arrays.nominal[item, ENERGY] // per)
        np.add.at(least, lunch, low[item] // per)
        np.add.at(most, lunch, -(-high[item] // per))
        no_end[lunch[(rows.arrays.unbounded[item] & np.uint64(1 << ENERGY)) != 0]] = True
    each = round(points.for_a_product * THOUSANDTHS)
    for amounts in (known, least, most):
        np.add.at(amounts, wrong.products, each)
    np.add.at(most, perhaps.products, each)
    certain, at_most = wrong.handling, wrong.handling | perhaps.handling
    return TakenBetween(ManyTaken(known, certain), ManyTaken(least, certain), ManyTaken(most, at_most), no_end)


def _ends_of_energy(arrays: ItemArrays) -> tuple[Whole, Whole]:
    """The least and the most energy of each item; where there is no end, the most means nothing."""
    low, high = arrays.nominal[:, ENERGY].copy(), arrays.nominal[:, ENERGY].copy()
    if ENERGY in arrays.ends:
        below, above = arrays.ends[ENERGY]
        low[arrays.spread_at] += below
        high[arrays.spread_at] += above
    return low, high


class JudgedCore(NamedTuple):
    """Those of some lunches that hold sweets or snacks, judged without them: places among the lunches, each target."""

    lunch: Place
    targets: list[ManyJudgements]


def judge_core(table: TargetTable, chosen: Place, core: Core | None) -> JudgedCore | None:
    """The lunches ``chosen`` of a table without their sweets and snacks; None where there are none."""
    of_core = np.zeros(0, np.intp) if core is None else np.flatnonzero(np.isin(core.lunch, chosen))
    if core is None or not len(of_core):
        return None
    totals = core.totals.subset(of_core)
    return JudgedCore(core.lunch[of_core], [judge_many(target, totals) for target in table.targets])


def scores_of(
    table: TargetTable, chosen: Place, targets: Sequence[ManyJudgements], taken: TakenBetween, core: JudgedCore | None
) -> ManyScores:
    """The scores of the lunches ``chosen`` of a table, from their targets; those with sweets from their core."""
    points = table.standard.points_off
    found = scores(targets, points, taken.of(chosen))
    if core is not None:
        with_sweets = np.isin(chosen, core.lunch)
        for whole, of_core in zip(found, scores(core.targets, points, taken.of(core.lunch)), strict=True):
            whole[with_sweets] = of_core
    return found


class SweetsFound(NamedTuple):
    """Findings on lunches that keep a minimum of energy only with their sweets: the lunch, the row, the finding."""

    lunch: Place
    row: Place
    findings: list[RuleFinding]


def find_sweets(
    table: TargetTable,
    chosen: Place,
    targets: Sequence[ManyJudgements],
    core: JudgedCore | None,
    items: ItemFields,
    rows: MeasuredRows,
) -> SweetsFound:
    """`special_rules.sweets_findings` of the lunches ``chosen`` of a table."""
    rule = table.standard.points_off.energy_rule
    lunches: list[int] = []
    of_rows: list[int] = []
    findings: list[RuleFinding] = []
    sweets = np.flatnonzero(rows.sweet)
    lunch_of = rows.lunch[sweets]  # in order, as the rows are
    for whole, one in zip(targets, () if core is None else core.targets, strict=False):
        if core is None or rule is None or not one.target.is_energy_minimum:
            continue
        of_whole = np.flatnonzero(np.isin(chosen, core.lunch))
        missed = whole.counts[of_whole] & (whole.status[of_whole] == SHORT)
        amounts, _low, _high = one.amounts()
        for place in np.flatnonzero(one.counts & (one.status == SHORT) & ~missed).tolist():
            first, end = np.searchsorted(lunch_of, [core.lunch[place], core.lunch[place] + 1])
            sweet = sweets[first:end]
            row = int(sweet[rows.arrays.nominal[rows.item[sweet], ENERGY].argmax()])
            lunches.append(int(core.lunch[place]))
            of_rows.append(row)
            name = items.foods[items.food[row]].name
            findings.append(sweets_finding(rule, one.target, float(amounts[place]), name, 0))
    return SweetsFound(np.array(lunches, np.intp), np.array(of_rows, np.intp), findings)
