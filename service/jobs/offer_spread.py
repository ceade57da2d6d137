"""How measures spread over an offer's lunches, and the chance that the mean of a week keeps a target."""

from math import prod
from typing import Any

from service.domain.amounts import near_names
from service.domain.combinations_days import week_chance
from service.domain.combinations_spread import merged, spread
from service.domain.errors import LunchError, UnknownName, raise_all
from service.domain.measures import MEASURE_INDEX, MEASURES, SCALE
from service.domain.offer_rows import OfferItems
from service.domain.offers import Branch
from service.domain.standards import LimitRow, TargetTable
from service.jobs.check_reply import measures_used
from service.jobs.offer_layout import ChildOffer
from service.jobs.offer_requests import OfferAuditRequest

BARS = 10
PLACES = 6
MOST_SUMS = 20_000
"""Different sums that a week's mean is counted on exactly; beyond it the chance has two ends (a limit of ours)."""
BINS = 1 << 14
"""How finely sums are told apart beyond that."""


def measure_rows(
    asked: OfferAuditRequest, laid: ChildOffer, parts: list[Branch], of: OfferItems
) -> dict[str, dict[str, Any]]:
    """Smallest, median, largest and a histogram of each measure asked for; unknown parts counted as nothing."""
    rows: dict[str, dict[str, Any]] = {}
    if not parts:
        return rows
    for measure in _measures(asked, laid.table):
        spreads, incomplete = [], 0
        for branch in parts:
            amounts, missing = of.measure(measure, branch)
            spreads.append(spread(amounts))
            incomplete += branch.size - prod(int((part == 0).sum()) for part in missing)
        over = merged(spreads)
        bars = over.histogram(bins=BARS)
        rows[MEASURES[measure].id] = {
            "unit": MEASURES[measure].unit,
            "smallest": over.smallest / SCALE,
            "median": float(over.median) / SCALE,
            "largest": over.largest / SCALE,
            "incomplete": incomplete,
            "histogram": {"edges": [edge / SCALE for edge in bars.edges], "lunches": list(bars.counts)},
        }
    return rows


def _measures(asked: OfferAuditRequest, table: TargetTable) -> list[int]:
    if asked.measures is None:
        return sorted(measures_used(table))
    faults: list[LunchError] = [
        UnknownName(
            pointer=f"/measures/{place}",
            value=name,
            kind="measure",
            near=near_names(name, MEASURE_INDEX),
            known="Known: " + ", ".join(MEASURE_INDEX) + ".",
        )
        for place, name in enumerate(asked.measures)
        if name not in MEASURE_INDEX
    ]
    raise_all(faults)
    return [MEASURE_INDEX[name] for name in dict.fromkeys(asked.measures)]


def week_chances(table: TargetTable, parts: list[Branch], of: OfferItems, days: int = 5) -> dict[str, dict[str, float]]:
    """For each week's mean: how likely the mean of five lunches taken at random keeps it.

    Two ends: they part where figures are unknown or rounded, or where there are too many different sums.
    """
    chances: dict[str, dict[str, float]] = {}
    for target in table.targets:
        if target.firm or not parts:
            continue
        row = LimitRow(target.terms, target.low, target.high)
        over = [of.row(row, branch) for branch in parts]
        chance = week_chance(
            [(one.low, one.high) for one in over],
            days,
            target.low,
            target.high,
            above=target.above,
            below=target.below,
            most_sums=MOST_SUMS,
            bins=BINS,
        )
        chances[target.id] = {"least": round(float(chance.least), PLACES), "most": round(float(chance.most), PLACES)}
    return chances
