"""One row a finding: targets and special rules, then allergens, then forms and holding, lunch by lunch."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt
import pandas as pd
import pyarrow as pa

from service.domain.lunch.judging_arrays import MET, NOT_APPLICABLE, STATUSES, rounded
from service.domain.lunch.standards import Target
from service.domain.tables.codes import Place
from service.domain.tables.judging import JudgedTable
from service.domain.tables.screening import OUTCOMES
from service.jobs.tables.columns import data_frame, texts_of

FINDING_COLUMNS = (
    "lunch",
    "kind",
    "id",
    "status",
    "counts",
    "food",
    "amount",
    "amount_low",
    "amount_high",
    "at_least",
    "at_most",
    "exclusive",
    "unit",
    "basis",
    "avoided_by",
    "threshold",
    "source",
    "source_status",
)
"""Columns of a table of findings.

``kind``: target, product_rule, allergen or handling. ``counts``: it keeps the lunch from being one to pack as it is.
``food``: the item it speaks of; empty for the lunch as a whole. The others as in the single check.
"""
WORDS = (*STATUSES, *OUTCOMES, "in_order", "fix", "do_not_pack")


class Said(NamedTuple):
    """What a finding says whatever the lunch."""

    kind: str
    id: str
    at_least: float | None = None
    at_most: float | None = None
    exclusive: bool = False
    unit: str | None = None
    basis: str | None = None
    avoided_by: str | None = None
    threshold: str | None = None
    source: str | None = None
    source_status: str | None = None


class Gathered:
    """Findings piece by piece, as arrays of the same length; ``said`` once for each different one."""

    def __init__(self) -> None:
        self.said: list[Said] = []
        self.pieces: list[tuple[Any, ...]] = []

    def add(
        self,
        said: Sequence[Said],
        which: Place,
        lunch: Place,
        status: Place,
        counts: npt.NDArray[np.bool_],
        row: Place | None = None,
        amounts: tuple[Any, Any, Any] | None = None,
    ) -> None:
        """Add a piece. ``which``: places in ``said``; ``row``: the item each finding is about, -1 for none."""
        none = np.full(len(lunch), np.nan)
        rows = np.full(len(lunch), -1, np.intp) if row is None else row
        self.pieces.append((lunch, which + len(self.said), status, counts, rows, *(amounts or (none, none, none))))
        self.said += said


@lru_cache(maxsize=1)
def no_findings() -> pd.DataFrame:
    """The findings of a table without lunches; not to be changed."""
    flags, numbers = ("counts", "exclusive"), ("amount", "amount_low", "amount_high", "at_least", "at_most")
    kinds = {name: "bool" if name in flags else "float64" if name in numbers else "str" for name in FINDING_COLUMNS}
    return pd.DataFrame({name: pd.Series([], dtype=kind) for name, kind in kinds.items()})


def findings_frame(judged: JudgedTable, names: pa.Array) -> pd.DataFrame:
    """The findings as a data frame of ``FINDING_COLUMNS``."""
    if not len(judged.sizes):
        return no_findings().copy()
    gathered = Gathered()
    _targets(judged, gathered)
    _left_out(judged, gathered)
    _rules(judged, gathered)
    _allergens(judged, gathered)
    _handling(judged, gathered)
    whole = [np.concatenate(part) for part in zip(*gathered.pieces, strict=True)]
    order = np.argsort(whole[0], kind="stable")
    lunch, said, status, counts, row, amount, low, high = (part[order] for part in whole)
    ids = [food.id for food in judged.items.foods]
    food = np.where(row >= 0, judged.items.food[row], -1)
    fixed = {name: [getattr(one, name) for one in gathered.said] for name in Said._fields}
    columns: dict[str, Any] = {
        "lunch": names.take(pa.array(lunch)),
        "status": texts_of(status, WORDS),
        "counts": counts,
        "food": texts_of(food, ids),
        "amount": amount,
        "amount_low": low,
        "amount_high": high,
        "exclusive": np.array(fixed["exclusive"], np.bool_)[said],
        **{name: np.array(fixed[name], np.float64)[said] for name in ("at_least", "at_most")},
        **{
            name: texts_of(said, fixed[name])
            for name in ("kind", "id", "unit", "basis", "avoided_by", "threshold", "source", "source_status")
        },
    }
    return data_frame({name: columns[name] for name in FINDING_COLUMNS})


def _left_out(judged: JudgedTable, gathered: Gathered) -> None:
    """Targets that do not apply to a child who must not have what they ask for."""
    for group in judged.groups:
        size, lunches = len(group.table.left_out), len(group.lunch)
        nil = np.zeros(size * lunches)
        gathered.add(
            [
                _said_of(target)._replace(source=rule.source, source_status=rule.status)
                for target, rule in group.table.left_out
            ],
            np.tile(np.arange(size), lunches),
            np.repeat(group.lunch, size),
            np.full(size * lunches, NOT_APPLICABLE, np.intp),
            np.zeros(size * lunches, np.bool_),
            None,
            (nil, nil, nil),
        )


def _targets(judged: JudgedTable, gathered: Gathered) -> None:
    """Each group's targets side by side, lunch by lunch."""
    for group in judged.groups:
        if not group.targets:
            continue
        size = len(group.targets)
        status = np.stack([one.status for one in group.targets], axis=1).ravel().astype(np.intp)
        counts = np.stack([one.counts for one in group.targets], axis=1).ravel()
        amount, low, high = (
            np.stack(part, axis=1).ravel() for part in zip(*(one.amounts() for one in group.targets), strict=True)
        )
        exact = rounded(amount, 3)
        same = low == high
        ends = np.where(same, exact, rounded(low, 3)), np.where(same, exact, rounded(np.where(same, 0.0, high), 3))
        gathered.add(
            [_said_of(one.target) for one in group.targets],
            np.tile(np.arange(size), len(group.lunch)),
            np.repeat(group.lunch, size),
            status,
            counts,
            None,
            (exact, ends[0], np.where(np.isinf(ends[1]), np.nan, ends[1])),
        )


def _said_of(target: Target) -> Said:
    return Said(
        "target",
        target.id,
        target.at_least,
        target.at_most,
        exclusive=target.above or target.below,
        unit=target.unit,
        basis=target.basis,
        source=target.source,
        source_status=target.status,
    )


def _rules(judged: JudgedTable, gathered: Gathered) -> None:
    rules, of = judged.rules, judged.rules.finding
    said = [
        Said(
            "product_rule",
            one.id,
            at_least=one.at_least,
            at_most=one.at_most,
            unit=one.unit or None,
            basis="product",
            source=one.source,
            source_status=one.source_status,
        )
        for one in rules.findings
    ]
    status = np.array([STATUSES.index(one.status) for one in rules.findings], np.intp)[of]
    amounts = np.array([np.nan if one.amount is None else round(one.amount, 3) for one in rules.findings], np.float64)
    gathered.add(said, of, rules.lunch, status, status != MET, rules.row, (amounts[of],) * 3)


def _allergens(judged: JudgedTable, gathered: Gathered) -> None:
    screened = judged.screened
    said = [Said("allergen", one.allergen, avoided_by=one.by, threshold=one.threshold) for one in screened.avoidances]
    lunch = np.searchsorted(judged.starts, screened.rows, side="right") - 1
    listed = screened.listed[judged.lunches.avoided[lunch]]
    has = listed >= 0
    times = has.sum(axis=1)
    avoidance, row = listed[has], np.repeat(screened.rows, times)
    food = judged.items.food[row]
    outcome = screened.rank[avoidance, food].astype(np.intp)
    counts = screened.counts(avoidance, food)
    gathered.add(said, avoidance, np.repeat(lunch, times), outcome + len(STATUSES), counts, row)


def _handling(judged: JudgedTable, gathered: Gathered) -> None:
    handled, of = judged.handled, judged.handled.finding
    said = [Said("handling", one.id, source=one.source, source_status=one.source_status) for one in handled.findings]
    status = np.array([WORDS.index(one.status) for one in handled.findings], np.intp)[of]
    gathered.add(said, of, handled.lunch, status, status != WORDS.index("in_order"), handled.row)
