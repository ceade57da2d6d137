"""No rounding of an item flips a target: many small items against the exact sum, for every row of every standard."""

from collections.abc import Iterator
from fractions import Fraction
from random import Random

import numpy as np
import pytest

from service.domain.foods.amounts import ItemVector, add_up, item_vector
from service.domain.foods.food import Food
from service.domain.lunch.compiling import compile_targets
from service.domain.lunch.findings import judge
from service.domain.lunch.judging_arrays import STATUSES, judge_many
from service.domain.lunch.standards import ENERGY, Target
from service.domain.lunch.totals_arrays import bounds_of
from service.domain.measures import MEASURES, NUTRIENT_COUNT, PARTS_IN_A_THOUSANDTH, SCALE
from service.domain.tables.items import credit_arrays, food_arrays, item_arrays
from service.reference.foods.lunch_foods import lunch_foods
from service.reference.foods.recipes import recipes
from service.reference.lunch.standards import crediting_scheme, standard, standard_ids
from tests.builders import food
from tests.strategies import first_days

ITEMS = 60
"""So many items, each smaller than a crumb, stand in for a lunch in which every rounding goes the same way."""

Item = tuple[Food, int]


def nutrient_rows() -> Iterator[object]:
    """Every row of every standard over nutrients, as it stands on the last day that something changes."""
    for standard_id in standard_ids():
        known = standard(standard_id)
        for group in known.age_groups:
            table = compile_targets(known, group, first_days(known)[-1])
            for target in (*table.targets, *table.week_targets):
                if all(measure < NUTRIENT_COUNT for measure, _weight in target.terms):
                    yield pytest.param(target, id=f"{standard_id} {group.id} {target.id}")


def exactly(target: Target, items: list[Item]) -> Fraction:
    """The row's value, by fractions alone: what the engine's whole numbers are held against."""
    total = Fraction(0)
    for measure, weight in target.terms:
        for one, amount_mg in items:
            total += weight * Fraction(one.nutrients[measure] or 0) * Fraction(amount_mg, one.basis_mg)
    return total * PARTS_IN_A_THOUSANDTH


def status_of(target: Target, row: Fraction) -> str:
    if target.low is not None and (row < target.low or (target.above and row == target.low)):
        return "short"
    if target.high is not None and (row > target.high or (target.below and row == target.high)):
        return "over"
    return "met"


def up_to(target: Target, bound: int, crumbs: list[Item], gap: int) -> list[Item]:
    """The crumbs, and as much of one measure as brings the row to its bound, ``gap`` of the least amounts beyond it."""
    left = bound - exactly(target, crumbs)
    measure, weight = next(
        (measure, weight)
        for measure, weight in sorted(target.terms, key=lambda term: term[0] == ENERGY)
        if (weight > 0) == (left > 0)
    )
    parts = int(left / weight) + (gap if weight > 0 else -gap)
    name = MEASURES[measure].id
    coarse, fine = food("coarse", {name: 100}), food("fine", {name: "0.001"})
    amounts = divmod(parts, 100_000)
    return [*crumbs, *((one, amount) for one, amount in zip((coarse, fine), amounts, strict=True) if amount)]


def vectors(items: list[Item]) -> list[ItemVector]:
    return [item_vector(one, amount_mg, None) for one, amount_mg in items]


@pytest.mark.property
@pytest.mark.parametrize("target", list(nutrient_rows()))
def test_a_lunch_of_crumbs_is_judged_as_its_exact_sum(target: Target) -> None:
    chance = Random(target.id)  # noqa: S311 - seeded, no secret
    known = [one for one in lunch_foods() if all(one.nutrients[measure] is not None for measure, _ in target.terms)]
    whole = [one for one in known if all(isinstance(one.nutrients[measure], int) for measure, _ in target.terms)]
    seen = set()
    for bound in (target.low, target.high):
        if bound is None:
            continue
        for gap in (-1, 0, 1, 2):
            crumbs = [(chance.choice(whole), chance.randint(1, 400)) for _ in range(ITEMS)]
            items = up_to(target, bound, crumbs, gap)
            expected = status_of(target, exactly(target, items))
            assert judge(target, add_up(vectors(items))).status == expected
            (code,) = judge_many(target, bounds_of([_together(vectors(items))])).status
            assert STATUSES[code] == expected
            seen.add(expected)
    assert len(seen) > 1, "on both sides of a bound"


def _together(some: list[ItemVector]) -> ItemVector:
    return ItemVector(tuple(map(sum, zip(*(one.nominal for one in some), strict=True))), ())


def test_the_amounts_of_every_food_of_the_tables_are_exact() -> None:
    """A table prints three places for 100 g, and an item weighs whole milligrams."""
    chance = Random(11)  # noqa: S311 - seeded, no secret
    for one in lunch_foods():
        amount_mg = chance.randint(1, 400_000)
        item = item_vector(one, amount_mg, None)
        for measure, value in enumerate(one.nutrients):
            if isinstance(value, int):
                assert item.nominal[measure] == Fraction(value * amount_mg, one.basis_mg) * PARTS_IN_A_THOUSANDTH


def test_a_dish_or_a_serving_is_off_by_half_a_part_at_most() -> None:
    """Half a hundred-millionth of a unit: 0.000005 µg of thiamin an item."""
    chance = Random(12)  # noqa: S311 - seeded, no secret
    bar = food("bar", {measure.id: "0.333" for measure in MEASURES[:NUTRIENT_COUNT]}, basis_g=30)
    assert Fraction(1, 2) / SCALE == Fraction(5, 10**9)
    for one in (*recipes().values(), bar):
        amount_mg = chance.randint(1, 400_000)
        item = item_vector(one, amount_mg, None)
        for measure, value in enumerate(one.nutrients):
            if value is not None:
                true = Fraction(value) * amount_mg / one.basis_mg * PARTS_IN_A_THOUSANDTH
                assert abs(item.nominal[measure] - true) <= Fraction(1, 2)


def test_tables_hold_the_same_amounts_of_crumbs() -> None:
    chance = Random(13)  # noqa: S311 - seeded, no secret
    foods = (*lunch_foods(), *recipes().values())
    amounts = [chance.randint(1, 400_000) for _ in foods]
    place = np.arange(len(foods))
    arrays = item_arrays(
        food_arrays(foods), place, np.array(amounts), credit_arrays([(foods[0], None, None)]), 0 * place
    )
    for row, (one, amount_mg) in enumerate(zip(foods, amounts, strict=True)):
        expected = item_vector(one, amount_mg, None).nominal
        assert arrays.nominal[row].tolist()[:NUTRIENT_COUNT] == list(expected)[:NUTRIENT_COUNT]


def test_a_step_of_a_credit_is_a_whole_number_of_parts() -> None:
    """So credits, which are rounded down by food, add up exactly too."""
    scheme = crediting_scheme("us-school-meals")
    assert scheme is not None
    for rule in scheme.rounding.values():
        assert rule.step > 0
        assert (rule.step * 1000) % SCALE == 0
