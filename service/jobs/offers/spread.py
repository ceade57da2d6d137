"""How measures spread over an offer's lunches, and the chance that the mean of a week keeps a target."""

from math import prod
from typing import Any

import numpy as np

from service.domain.counting import days as combinations_days
from service.domain.counting.days import week_chance
from service.domain.counting.spread import merged, spread
from service.domain.counting.survey import Values
from service.domain.errors import LunchError, UnknownName, raise_all
from service.domain.foods.amounts import near_names
from service.domain.lunch.standards import TargetTable
from service.domain.measures import MEASURE_INDEX, MEASURES, SCALE
from service.domain.offers.offer import Branch, Offer
from service.domain.offers.rows import OfferItems, Whole, rows_of, split
from service.jobs.lunch.reply import measures_used
from service.jobs.offers.layout import ChildOffer
from service.jobs.offers.requests import OfferAuditRequest

BARS = 10
PLACES = 6
MOST_SUMS = 20_000
"""Different sums that a week's mean is counted on exactly; beyond it the chance has two ends (a limit of ours)."""
BINS = 1 << 14
"""How finely sums are told apart beyond that."""


KnownSpreads = dict[tuple[int, str, Offer], dict[str, Any]]
"""Rows made already: by measure, crediting and offer, which children share."""


def measure_rows(
    asked: OfferAuditRequest, laid: ChildOffer, parts: list[Branch], known: KnownSpreads
) -> dict[str, dict[str, Any]]:
    """Smallest, median, largest and a histogram of each measure asked for; unknown parts counted as nothing."""
    rows: dict[str, dict[str, Any]] = {}
    if not parts:
        return rows
    figures: list[tuple[Branch, Whole, Whole]] = []
    for measure in _measures(asked, laid.table):
        key = (measure, laid.table.standard.crediting, laid.offer)
        if key not in known:
            figures = figures or [(branch, *laid.of.measures(branch)) for branch in parts]
            known[key] = _spread_row(measure, figures)
        rows[MEASURES[measure].id] = known[key]
    return rows


def _spread_row(measure: int, figures: list[tuple[Branch, Whole, Whole]]) -> dict[str, Any]:
    spreads, incomplete = [], 0
    for branch, amounts, missing in figures:
        sizes = [len(options) for options in branch.lists]
        spreads.append(spread(split(amounts[measure], sizes)))
        if missing[measure].any():
            complete = [len(part) - int(np.count_nonzero(part)) for part in split(missing[measure], sizes)]
            incomplete += branch.size - prod(complete)
    over = merged(spreads)
    bars = over.histogram(bins=BARS)
    return {
        "unit": MEASURES[measure].unit,
        "smallest": over.smallest / SCALE,
        "median": float(over.median) / SCALE,
        "largest": over.largest / SCALE,
        "incomplete": incomplete,
        "histogram": {"edges": [edge / SCALE for edge in bars.edges], "lunches": list(bars.counts)},
    }


def check_measures(asked: OfferAuditRequest) -> None:
    """Refuse a measure that is not known; ``UnknownName``."""
    if asked.measures is not None:
        _known_measures(asked.measures)


def _measures(asked: OfferAuditRequest, table: TargetTable) -> list[int]:
    if asked.measures is None:
        return sorted(measures_used(table))
    return _known_measures(asked.measures)


def _known_measures(names: list[str]) -> list[int]:
    faults: list[LunchError] = [
        UnknownName(
            pointer=f"/measures/{place}",
            value=name,
            kind="measure",
            near=near_names(name, MEASURE_INDEX),
            known="Known: " + ", ".join(MEASURE_INDEX) + ".",
        )
        for place, name in enumerate(names)
        if name not in MEASURE_INDEX
    ]
    raise_all(faults)
    return [MEASURE_INDEX[name] for name in dict.fromkeys(names)]


def _ends(values: Values, row: int) -> tuple[list[Whole], list[Whole]]:
    low = split(values.low[row], values.sizes)
    return low, low if values.high is values.low else split(values.high[row], values.sizes)


def week_chances(
    table: TargetTable, parts: list[Branch], of: OfferItems, days: int = 5, *, exact: bool = False
) -> dict[str, dict[str, float]]:
    """For each week's mean: how likely the mean of five lunches taken at random keeps it.

    Two ends: they part where figures are unknown or rounded, or where there are too many different sums.
    """
    chances: dict[str, dict[str, float]] = {}
    values = [of.values(table, branch) for branch in parts]
    rows = rows_of(table).terms
    for target in table.targets:
        if target.firm or not parts:
            continue
        chance = week_chance(
            [_ends(one, rows.index(target.terms)) for one in values],
            days,
            target.low,
            target.high,
            above=target.above,
            below=target.below,
            most_sums=combinations_days.MOST_SUMS if exact else MOST_SUMS,
            bins=BINS,
        )
        chances[target.id] = {"least": round(float(chance.least), PLACES), "most": round(float(chance.most), PLACES)}
    return chances
