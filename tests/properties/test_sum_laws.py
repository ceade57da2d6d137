"""Sums are exact: order does not matter, parts add up to the whole, nothing drifts from the true figure."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.foods.amounts import ItemVector, add_up, item_vector
from service.domain.foods.food import Food
from service.domain.lunch.findings import judge
from service.domain.lunch.special_rules import milk_findings, product_findings
from service.domain.lunch.standards import TargetTable
from service.domain.lunch.verdict import score_of, verdict_of
from service.domain.measures import MEASURE_COUNT, MEASURE_INDEX, NUTRIENT_COUNT, PARTS_IN_A_THOUSANDTH, SCALE
from tests.builders import us_scheme
from tests.strategies import LAW, Item, foods, items, lunches, tables, vector_of

pytestmark = pytest.mark.property

MEASURES = range(MEASURE_COUNT)


@LAW
@given(st.data(), lunches(), tables())
def test_the_order_of_items_does_not_matter(data: st.DataObject, lunch: list[Item], table: TargetTable) -> None:
    shuffled = data.draw(st.permutations(lunch))
    told = []
    for order in (lunch, shuffled):
        totals = add_up([vector_of(item) for item in order])
        judgements = [judge(target, totals) for target in table.targets + table.week_targets]
        rules = product_findings(table.product_rules, [food for food, _mg in order])
        rules += milk_findings(table.milk_rules, [food for food, _mg in order])
        told.append(
            (
                [(totals.nominal[m], totals.lowest(m), totals.highest(m)) for m in MEASURES],
                judgements,
                sorted(map(str, rules)),
                score_of(judgements),
                verdict_of(judgements, rules, [], []),
            )
        )
    assert told[0] == told[1]


@LAW
@given(foods(), st.integers(1, 200_000), st.integers(1, 200_000))
def test_two_parts_of_an_item_add_up_to_the_whole(food: Food, first_mg: int, second_mg: int) -> None:
    """Each nutrient within one part: three roundings of at most half a part make a whole number.

    A value known as an interval: the parts' interval holds the whole's and is at most a part wider
    each way.
    """
    whole = add_up([vector_of((food, first_mg + second_mg))])
    parts = add_up([vector_of((food, first_mg)), vector_of((food, second_mg))])
    for measure in range(NUTRIENT_COUNT):
        assert abs(whole.nominal[measure] - parts.nominal[measure]) <= 1
        if food.nutrients[measure] is None or measure in food.ranges:
            most, most_of_parts = whole.highest(measure), parts.highest(measure)
            assert 0 <= whole.lowest(measure) - parts.lowest(measure) <= 1
            assert (most is None) == (most_of_parts is None)
            assert 0 <= (most_of_parts or 0) - (most or 0) <= 1


@LAW
@given(lunches(whole=True, most=4))
def test_two_halves_of_a_lunch_add_up_to_the_whole_within_a_part_an_item(lunch: list[Item]) -> None:
    even = [(food, 2 * amount_mg) for food, amount_mg in lunch]
    whole = add_up([vector_of(item) for item in even])
    halves = add_up([vector_of(item) for item in lunch] * 2)
    for measure in range(NUTRIENT_COUNT):
        assert abs(whole.nominal[measure] - halves.nominal[measure]) <= len(lunch)


@LAW
@given(lunches(whole=True))
def test_a_total_is_the_true_sum_within_half_a_part_an_item(lunch: list[Item]) -> None:
    totals = add_up([vector_of(item) for item in lunch])
    for measure in range(NUTRIENT_COUNT):
        exact = [Fraction(food.nutrients[measure] or 0) * amount_mg / food.basis_mg for food, amount_mg in lunch]
        true = sum(exact) * PARTS_IN_A_THOUSANDTH
        assert abs(totals.nominal[measure] - true) <= Fraction(len(lunch), 2)


@LAW
@given(lunches(), items())
def test_an_item_more_never_lowers_a_total(lunch: list[Item], more: Item) -> None:
    before = add_up([vector_of(item) for item in lunch])
    after = add_up([vector_of(item) for item in [*lunch, more]])
    for measure in MEASURES:
        assert after.nominal[measure] >= before.nominal[measure]
        assert after.lowest(measure) >= before.lowest(measure)
        highest = after.highest(measure)
        if highest is not None:
            assert highest >= (before.highest(measure) or 0)


@LAW
@given(lunches())
def test_the_nominal_total_lies_in_its_interval(lunch: list[Item]) -> None:
    totals = add_up([vector_of(item) for item in lunch])
    for measure in MEASURES:
        highest = totals.highest(measure)
        assert totals.lowest(measure) <= totals.nominal[measure]
        assert highest is None or totals.nominal[measure] <= highest


@LAW
@given(foods(), st.integers(1, 400_000))
def test_remembered_items_are_the_same_as_worked_out_ones(food: Food, amount_mg: int) -> None:
    """Foods of the tables are remembered, label foods are not: the measures must not differ."""
    from dataclasses import replace

    option = food.credit_options[0] if food.credit_options else None
    table_food = replace(food, kind="lunch_food")
    vectors: list[ItemVector] = [
        item_vector(one, amount_mg, us_scheme(), option) for one in (food, table_food, table_food)
    ]
    assert len({(v.nominal, v.interval_entries) for v in vectors}) == 1


def test_a_slice_in_tenths_adds_up_exactly_where_the_parts_allow() -> None:
    """32 g of a food of 12.5 g protein in 100 g hold 4 g; ten tenths of it as well (worked out by hand)."""
    from tests.builders import food as make

    bread = make("bread", {"protein_g": "12.5"})
    protein = MEASURE_INDEX["protein_g"]
    whole = add_up([vector_of((bread, 32_000))]).nominal[protein]
    tenths = add_up([vector_of((bread, 3_200))] * 10).nominal[protein]
    assert whole == tenths == 4 * SCALE
