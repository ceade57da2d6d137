"""How measures spread over an offer's lunches, and the chance that the mean of a week keeps a target."""

from collections.abc import Sequence
from math import prod
from typing import NamedTuple

import numpy as np

from service.domain.counting.days import week_chance
from service.domain.counting.spread import merged, spread
from service.domain.counting.survey import Values
from service.domain.foods.amounts import ItemVector
from service.domain.lunch.standards import TargetTable
from service.domain.measures import PARTS_IN_A_THOUSANDTH, SCALE
from service.domain.offers.branches import Branch
from service.domain.offers.offer import Offer
from service.domain.offers.rows import OfferItems, Whole, rows_of, split

BARS = 10
BINS = 1 << 14
"""How finely sums are told apart where there are too many different ones to count exactly."""


class MeasureSpread(NamedTuple):
    """The spread of a measure over the lunches of an offer, in its unit; unknown parts are counted as nothing.

    ``incomplete``: lunches with an unknown part. ``edges``, ``lunches``: a histogram.
    """

    smallest: float
    median: float
    largest: float
    incomplete: int
    edges: list[float]
    lunches: list[int]


class WeekChance(NamedTuple):
    """How likely the mean of five lunches keeps a target.

    Two ends: they differ where figures are unknown or rounded, or where there are too many different sums.
    """

    least: float
    most: float


KnownSpreads = dict[tuple[int, str, Offer, tuple[ItemVector, ...]], MeasureSpread]
"""Spreads found already, which children share: by measure, crediting, offer, and the items in their amounts."""


def measure_spreads(
    measures: Sequence[int],
    crediting: str,
    offer: Offer,
    branches: Sequence[Branch],
    items: OfferItems,
    known: KnownSpreads,
) -> dict[int, MeasureSpread]:
    """The spread of each measure; none where there is no lunch. Spreads found are added to ``known``."""
    if not branches:
        return {}
    figures: list[tuple[Branch, Whole, Whole]] = []
    vectors = tuple(items.vectors.values())
    found = {}
    for measure in measures:
        key = (measure, crediting, offer, vectors)
        if key not in known:
            figures = figures or [(branch, *items.measures(branch)) for branch in branches]
            known[key] = _spread_of(measure, figures)
        found[measure] = known[key]
    return found


def _spread_of(measure: int, figures: Sequence[tuple[Branch, Whole, Whole]]) -> MeasureSpread:
    spreads, incomplete = [], 0
    for branch, amounts, missing in figures:
        sizes = [len(options) for options in branch.lists]
        spreads.append(spread(split(amounts[measure], sizes)))
        if missing[measure].any():
            complete = [len(part) - int(np.count_nonzero(part)) for part in split(missing[measure], sizes)]
            incomplete += branch.size - prod(complete)
    over = merged(spreads)
    bars = over.histogram(bins=BARS, finest=PARTS_IN_A_THOUSANDTH)
    return MeasureSpread(
        round(over.smallest / SCALE, 3),
        round(float(over.median) / SCALE, 3),
        round(over.largest / SCALE, 3),
        incomplete,
        [edge / SCALE for edge in bars.edges],
        list(bars.counts),
    )


def _ends(values: Values, row: int) -> tuple[list[Whole], list[Whole]]:
    low = split(values.low[row], values.sizes)
    return low, low if values.high is values.low else split(values.high[row], values.sizes)


def week_chances(
    table: TargetTable, branches: Sequence[Branch], items: OfferItems, most_sums: int, days: int = 5
) -> dict[str, WeekChance]:
    """For each week's mean: how likely the mean of so many lunches taken at random keeps it.

    ``most_sums``: different sums that are counted on exactly.

    ``days``: lunches of a week, each drawn alike and by itself. Source: ours.
    """
    chances: dict[str, WeekChance] = {}
    values = [items.values(table, branch) for branch in branches]
    rows = rows_of(table).terms
    for target in table.targets:
        if target.firm or not branches:
            continue
        chance = week_chance(
            [_ends(one, rows.index(target.terms)) for one in values],
            days,
            target.low,
            target.high,
            above=target.above,
            below=target.below,
            most_sums=most_sums,
            bins=BINS,
        )
        chances[target.id] = WeekChance(float(chance.least), float(chance.most))
    return chances
