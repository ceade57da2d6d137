"""A dish is its ingredients: nothing appears, nothing is lost, and the order of the list does not matter."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.errors import BadAmount
from service.domain.foods.amounts import add_up, item_vector
from service.domain.foods.crediting import credited
from service.domain.foods.food import Food
from service.domain.foods.recipes import Ingredient, compose
from service.domain.measures import MEASURE_INDEX, NUTRIENT_COUNT
from tests.builders import food, milligrams, us_scheme
from tests.strategies import LAW, Item, lunches, vector_of

pytestmark = pytest.mark.property

WATER = MEASURE_INDEX["water_g"]


def dish_of(parts: list[Item], change: Fraction = Fraction(0)) -> Food:
    ingredients = [
        Ingredient(one, amount_mg, one.credit_options[0] if one.credit_options else None) for one, amount_mg in parts
    ]
    return compose(recipe_id="dish", name="dish", ingredients=ingredients, weight_change_percent=change)


@LAW
@given(st.data(), lunches())
def test_the_order_of_ingredients_does_not_matter(data: st.DataObject, parts: list[Item]) -> None:
    one, other = dish_of(parts), dish_of(data.draw(st.permutations(parts)))
    assert (one.nutrients, one.ranges, one.basis_mg) == (other.nutrients, other.ranges, other.basis_mg)
    assert [o.credits for o in one.credit_options] == [o.credits for o in other.credit_options]


@LAW
@given(lunches())
def test_the_whole_dish_is_the_sum_of_its_parts(parts: list[Item]) -> None:
    """Within the roundings: half a thousandth for each part and for the dish. What is unknown stays unknown."""
    dish = dish_of(parts)
    whole = item_vector(dish, dish.basis_mg, None, None)
    totals = add_up([vector_of(item) for item in parts])
    unknown = {m for m in range(NUTRIENT_COUNT) if any(one.nutrients[m] is None for one, _mg in parts)}
    for measure in range(NUTRIENT_COUNT):
        if measure in unknown:
            assert dish.nutrients[measure] is None
        else:
            assert abs(whole.nominal[measure] - totals.nominal[measure]) <= Fraction(len(parts) + 1, 2)


@LAW
@given(lunches())
def test_the_interval_of_a_dish_holds_what_its_parts_may_be(parts: list[Item]) -> None:
    dish = dish_of(parts)
    for measure in range(NUTRIENT_COUNT):
        if dish.nutrients[measure] is None:
            continue
        ends = [one.ranges.get(measure, (one.nutrients[measure], one.nutrients[measure])) for one, _mg in parts]
        low = sum(Fraction(end[0] or 0) * mg / one.basis_mg for end, (one, mg) in zip(ends, parts, strict=True))
        high = sum(Fraction(end[1] or 0) * mg / one.basis_mg for end, (one, mg) in zip(ends, parts, strict=True))
        value = dish.nutrients[measure] or 0
        told_low, told_high = dish.ranges.get(measure, (value, value))
        slack = 0 if measure in dish.ranges else Fraction(1, 2)
        assert told_low - slack <= low
        assert told_high + slack >= high


@LAW
@given(lunches(whole=True), st.integers(-60, 60))
def test_cooking_moves_water_and_weight_and_nothing_else(parts: list[Item], change: int) -> None:
    raw = dish_of(parts)
    gained = Fraction(raw.basis_mg * change, 100)
    if (raw.nutrients[WATER] or 0) + gained < 0 or raw.basis_mg + gained <= Fraction(1, 2):
        with pytest.raises(BadAmount):
            dish_of(parts, Fraction(change))
        return
    cooked = dish_of(parts, Fraction(change))
    assert cooked.basis_mg == round(raw.basis_mg + gained)
    for measure in range(NUTRIENT_COUNT):
        if measure != WATER:
            assert cooked.nutrients[measure] == raw.nutrients[measure]
    assert abs((cooked.nutrients[WATER] or 0) - (raw.nutrients[WATER] or 0) - gained) <= 1


@LAW
@given(lunches())
def test_a_dish_credits_at_least_what_its_parts_credit_one_by_one(parts: list[Item]) -> None:
    """Summed first and rounded down once (USDA Food Buying Guide, appendix A)."""
    dish = dish_of(parts)
    together = (
        dict(credited(dish.credit_options[0], dish.basis_mg, dish.basis_mg, us_scheme())) if dish.credit_options else {}
    )
    alone: dict[int, int] = {}
    for one, amount_mg in parts:
        for option in one.credit_options:
            for measure, value in credited(option, amount_mg, one.basis_mg, us_scheme()):
                alone[measure] = alone.get(measure, 0) + value
    assert all(together.get(measure, 0) >= value for measure, value in alone.items())


@LAW
@given(lunches(most=3), lunches(most=3), st.integers(1, 300_000))
def test_a_dish_in_a_dish_is_the_dish_of_all_parts(inner: list[Item], outer: list[Item], amount_mg: int) -> None:
    """Nesting loses at most the rounding of the inner dish."""
    nested_in = dish_of(inner)
    share = Fraction(amount_mg, nested_in.basis_mg)
    nested = dish_of([(nested_in, amount_mg), *outer])
    for measure in range(NUTRIENT_COUNT):
        values = [one.nutrients[measure] for one, _mg in [*inner, *outer]]
        if None in values:
            assert nested.nutrients[measure] is None
            continue
        flat = share * sum(Fraction(one.nutrients[measure] or 0) * mg / one.basis_mg for one, mg in inner)
        flat += sum(Fraction(one.nutrients[measure] or 0) * mg / one.basis_mg for one, mg in outer)
        assert abs((nested.nutrients[measure] or 0) - flat) <= Fraction(1, 2) + share / 2


def test_a_sandwich_by_hand() -> None:
    """Two slices of 32 g with 10 g of protein in 100 g and 28 g of cheese with 25 g: 6.4 + 7 = 13.4 g (by hand)."""
    bread, cheese = food("bread", {"protein_g": 10}), food("cheese", {"protein_g": 25})
    sandwich = dish_of([(bread, milligrams(64)), (cheese, milligrams(28))])
    assert sandwich.basis_mg == milligrams(92)
    assert sandwich.nutrients[MEASURE_INDEX["protein_g"]] == 13_400
