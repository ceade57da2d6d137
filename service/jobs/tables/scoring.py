"""The scores of the lunches of a table: without their sweets and snacks, less what is taken off them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from service.domain.lunch.judging_arrays import ManyJudgements, ManyTaken, judge_many, scores
from service.domain.lunch.standards import ENERGY, PointsOff, TargetTable
from service.domain.measures import SCALE
from service.domain.tables.items import ItemArrays
from service.domain.tables.totals import ManyTotals, add_up_many
from service.jobs.tables.columns import Floats, Place
from service.jobs.tables.items import ItemFields

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


def taken_off(points: PointsOff, rows: MeasuredRows, lunches: int, broken: Place, handling: Flags) -> ManyTaken:
    """What the items take off the score of each lunch; ``broken``: the lunch of each product over its limit."""
    thousandths = np.zeros(lunches, np.int64)
    if points.discretionary_kcal_per_point and rows.sweet.any():
        energy = rows.arrays.nominal[rows.item[rows.sweet], ENERGY] // points.discretionary_kcal_per_point
        np.add.at(thousandths, rows.lunch[rows.sweet], energy)
    np.add.at(thousandths, broken, round(points.for_a_product * SCALE))
    return ManyTaken(thousandths, handling)


def scores_of(
    table: TargetTable, chosen: Place, targets: Sequence[ManyJudgements], taken: ManyTaken, core: Core | None
) -> Floats:
    """The scores of the lunches ``chosen`` of a table, from their targets; those with sweets from their core."""
    points = table.standard.points_off
    found = scores(targets, points, ManyTaken(taken.thousandths[chosen], taken.handling[chosen]))
    if core is None:
        return found
    of_core, in_core = np.flatnonzero(np.isin(core.lunch, chosen)), np.flatnonzero(np.isin(chosen, core.lunch))
    if len(of_core):
        some, which = core.totals.subset(of_core), chosen[in_core]
        judged = [judge_many(target, some) for target in table.targets]
        found[in_core] = scores(judged, points, ManyTaken(taken.thousandths[which], taken.handling[which]))
    return found
