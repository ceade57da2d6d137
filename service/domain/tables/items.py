"""Many foods in their amounts as arrays of measures: ``amounts.item_vector`` for a whole table at once.

The same whole-number formulas on columns of int64: nutrients rounded to the nearest part (``SCALE``), ends of
intervals rounded outwards, credits rounded down by the scheme, per item. A law in
``tests/domain/tables/test_items.py`` holds every entry against ``item_vector``. numpy is imported with the
first call, since one lunch by itself does not need it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from math import lcm
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from service.domain.errors import ReferenceFault
from service.domain.foods.amounts import HEAVIEST_ITEM_MG, LIMITED_CREDITS, figure_of
from service.domain.foods.crediting import CreditingScheme
from service.domain.foods.food import CreditOption, Food
from service.domain.measures import MEASURE_COUNT, NUTRIENT_COUNT, PARTS_IN_A_THOUSANDTH, SCALE, THOUSANDTHS

Whole = npt.NDArray[np.int64]
Bits = npt.NDArray[np.uint64]
Place = npt.NDArray[np.intp]

LARGEST = 2**62
"""What a product of whole numbers must stay under, so that int64 holds it and the sum of two."""


@dataclass(frozen=True, slots=True, eq=False)
class FoodArrays:
    """Foods side by side, ``F`` of them.

    ``basis``: (F,). ``values``: (F, nutrients); times milligrams, divided by the basis, these are parts (``SCALE``); unknown as 0.
    ``intervals``, ``unbounded``: (F,) one bit a measure that is an interval, and one without an upper end.
    ``spread``: (F, nutrients) whether the measure is an interval with an end of its own, ``low`` and ``high`` its ends.
    """

    basis: Whole
    values: Whole
    intervals: Bits
    unbounded: Bits
    spread: npt.NDArray[np.bool_]
    low: Whole
    high: Whole


@lru_cache(maxsize=8)
def food_arrays(foods: tuple[Food, ...]) -> FoodArrays:
    """Lay foods out as arrays, remembered; ``ReferenceFault`` for a figure too large to be one of a food."""
    shape = (len(foods), NUTRIENT_COUNT)
    values, low, high = (np.zeros(shape, np.int64) for _ in range(3))
    spread = np.zeros(shape, np.bool_)
    intervals, unbounded = np.zeros(len(foods), np.uint64), np.zeros(len(foods), np.uint64)
    basis = np.zeros(len(foods), np.int64)
    for place, food in enumerate(foods):
        figures = [figure_of(food, measure) for measure in range(NUTRIENT_COUNT)]
        each = Fraction(PARTS_IN_A_THOUSANDTH, food.basis_mg)
        exact = [[None if end is None else end * each for end in figure] for figure in figures]
        # A milligram may hold a fraction of a part: as many milligrams as make every figure a whole number.
        times = lcm(*(end.denominator for figure in exact for end in figure if end is not None))
        ends = [[None if end is None else int(end * times) for end in figure] for figure in exact]
        largest = max(end or 0 for figure in ends for end in figure)
        if 2 * largest * HEAVIEST_ITEM_MG >= LARGEST:
            raise ReferenceFault(
                pointer=food.id,
                value=largest,
                problem="is too large to be a figure of a food",
                remedy="Correct the food's row.",
            )
        basis[place] = times
        for measure, (known, least, most) in enumerate(ends):
            assert known is not None and least is not None  # noqa: S101, PT018 - only the upper end may be missing
            values[place, measure] = known
            bit = np.uint64(1 << measure)
            if food.nutrients[measure] is None or measure in food.ranges:
                intervals[place] |= bit
            else:
                continue
            if most is None:
                unbounded[place] |= bit
            # Its ends are rounded outwards, what is known to the nearest: carried wherever the two can differ.
            if most is not None or least or known:
                spread[place, measure] = True
                low[place, measure], high[place, measure] = least, known if most is None else most
    return FoodArrays(basis, values, intervals, unbounded, spread, low, high)


class CreditArrays(NamedTuple):
    """Ways of crediting side by side, ``C`` of them with up to ``K`` credits each.

    For credit k of way c: ``steps = numerator * amount_mg // denominator``, worth ``step`` parts each
    from ``minimum`` on, of ``measure``. A numerator of 0 is not a credit. ``open_ended``: (C,) the bits of the
    credits of which what is known is only the least.
    """

    numerator: Whole
    denominator: Whole
    step: Whole
    minimum: Whole
    measure: Whole
    open_ended: Bits


OPEN_CREDITS = sum(1 << measure for measure in LIMITED_CREDITS)
"""The bits of the credits that are unknown where nobody said what a food credits as."""


def credit_arrays(ways: Sequence[tuple[Food, CreditOption | None, CreditingScheme | None]]) -> CreditArrays:
    """Lay out how each food credits in one way under one scheme; (C, K) arrays."""
    rows = [_credit_row(food, option, scheme) for food, option, scheme in ways]
    most = max((len(row) for row in rows), default=0)
    filled = [row + ((0, 1, 1, 0, 0),) * (most - len(row)) for row in rows]
    columns = np.array(filled, np.int64).reshape(len(rows), most, 5)
    numerator, denominator, step, minimum, measure = np.ascontiguousarray(columns.transpose(2, 0, 1))
    least = [0 if scheme is None or food.credits_known else OPEN_CREDITS for food, _option, scheme in ways]
    return CreditArrays(numerator, denominator, step, minimum, measure, np.array(least, np.uint64))


@lru_cache(maxsize=1 << 15)
def _credit_row(
    food: Food, option: CreditOption | None, scheme: CreditingScheme | None
) -> tuple[tuple[int, int, int, int, int], ...]:
    """Numerator, denominator, step, minimum and measure of each credit of a food in one way."""
    if option is None or scheme is None:
        return ()
    row: list[tuple[int, int, int, int, int]] = []
    for credit in option.credits:
        rounding = scheme.rounding.get(credit.measure)
        if rounding is None:
            continue
        steps = credit.per_basis * Fraction(SCALE, food.basis_mg * rounding.step)
        numerator, denominator = steps.numerator, steps.denominator
        if numerator * HEAVIEST_ITEM_MG >= LARGEST or denominator >= LARGEST:
            raise ReferenceFault(
                pointer=food.id,
                value=str(credit.per_basis),
                problem="is too long a fraction for a credit",
                remedy="Correct the grams that make one unit.",
            )
        row.append((numerator, denominator, rounding.step, rounding.minimum, credit.measure))
    return tuple(row)


@dataclass(frozen=True, slots=True, eq=False)
class ItemArrays:
    """Items side by side, ``U`` of them, ready to be summed.

    ``nominal``: (U, measures). ``intervals``, ``unbounded``: (U,) bits. ``spread_at``: the items with an interval
    that has an end; ``ends``: by measure, (those,) how far its lower and its upper end lie from the nominal value.
    """

    nominal: Whole
    intervals: Bits
    unbounded: Bits
    spread_at: Place
    ends: dict[int, tuple[Whole, Whole]]


def item_arrays(
    foods: FoodArrays, food: Place, amount_mg: Whole, credits: CreditArrays, way: Place, beside_mg: Whole | None = None
) -> ItemArrays:
    """The measures of item u: ``amount_mg[u]`` of ``food[u]``, credited by ``way[u]`` beside ``beside_mg[u]`` of the same."""
    nominal = np.zeros((len(food), MEASURE_COUNT), np.int64)
    alike = len(foods.basis) > 0 and bool((foods.basis == foods.basis[0]).all())
    basis = foods.basis[:1] if alike else foods.basis[food][:, None]  # dividing by one number is four times faster
    twice = np.take(2 * foods.values, food, axis=0)
    twice *= amount_mg[:, None]
    twice += basis
    np.floor_divide(twice, 2 * int(basis[0]) if alike else 2 * basis, out=nominal[:, :NUTRIENT_COUNT])
    each = np.arange(len(food))
    before = np.zeros_like(amount_mg) if beside_mg is None else beside_mg
    for k in range(credits.numerator.shape[1]):
        worth = _worth(credits, way, k, amount_mg + before)
        if before.any():
            worth -= _worth(credits, way, k, before)
        counts = worth > 0
        nominal[each[counts], credits.measure[way, k][counts]] = worth[counts]
    spread_at = np.flatnonzero(np.any(foods.spread, axis=1, keepdims=True)[food, 0])
    some, weight, base = food[spread_at], amount_mg[spread_at], foods.basis[food[spread_at]]
    ends: dict[int, tuple[Whole, Whole]] = {}
    for measure in np.flatnonzero(foods.spread.any(axis=0)).tolist():
        spread, known = foods.spread[some, measure], nominal[spread_at, measure]
        low = foods.low[some, measure] * weight // base
        high = -(-foods.high[some, measure] * weight // base)
        ends[measure] = (np.where(spread, low - known, 0), np.where(spread, high - known, 0))
    unknown = credits.open_ended[way]
    return ItemArrays(nominal, foods.intervals[food] | unknown, foods.unbounded[food] | unknown, spread_at, ends)


def _worth(credits: CreditArrays, way: Place, k: int, amount_mg: Whole) -> Whole:
    """What the k-th credit of each way is worth, in parts; 0 below its minimum."""
    worth = credits.numerator[way, k] * amount_mg // credits.denominator[way, k] * credits.step[way, k]
    return np.where(worth >= credits.minimum[way, k], worth, 0)


def weights_mg(per_unit_mg: Whole, quantity_thousandths: Whole) -> Whole:
    """Milligrams of so many units: the rounding of ``amounts.amount_mg_of``."""
    product: Whole = (2 * quantity_thousandths * per_unit_mg + THOUSANDTHS) // (2 * THOUSANDTHS)
    return product
