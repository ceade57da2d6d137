"""A packet that is like a lunch food, or of a kind, counts as that does: weight for weight."""

from typing import Any

import pytest
from pydantic import ValidationError

from service.domain.errors import LunchError
from service.domain.foods.amounts import item_vector
from service.domain.foods.generic import HouseholdMeasure
from service.domain.measures import MEASURE_INDEX, SCALE
from service.jobs.foods.resolve import amount_of, food_by_id, food_of, food_of_item
from service.jobs.requests.foods import LabelFood
from service.jobs.requests.lunches import LunchItem
from service.reference.foods.generic_foods import generic_foods
from tests.builders import us_scheme
from tests.refused import refused


def packet(**more: Any) -> LabelFood:
    return LabelFood.model_validate({"name": "Packet", "serving": {"grams": 30}, **more})


def credits(asked: LabelFood, grams: int) -> tuple[int, ...]:
    food = food_of(asked)
    return item_vector(food, grams * 1000, us_scheme(), next(iter(food.credit_options), None)).nominal


def test_a_lunch_food_named_gives_its_credits() -> None:
    apple = food_by_id("apple")
    like = item_vector(apple, 125_000, us_scheme(), apple.credit_options[0]).nominal[MEASURE_INDEX["fruit_cup"]]
    assert credits(packet(counts_as="apple"), 125)[MEASURE_INDEX["fruit_cup"]] == like > 0


def test_a_kind_named_gives_the_amount_of_its_kind() -> None:
    """22 g of savoury crackers make an ounce equivalent: Exhibit A, group A."""
    assert credits(packet(counts_as="crackers"), 44)[MEASURE_INDEX["grain_oz_eq"]] == 2 * SCALE


def test_nothing_is_known_to_count_as_nothing() -> None:
    sweets = food_of(packet(counts_as="nothing"))
    assert sweets.credits_known
    assert sweets.credit_options == ()
    assert not food_of(packet()).credits_known


def test_what_is_not_known_is_refused_with_near_names() -> None:
    with refused(LunchError, match="crackers"):
        food_of(packet(counts_as="crakers"))


def test_every_household_measure_of_the_tables_may_be_used_as_a_unit() -> None:
    """The longest have more than 60 letters."""
    table = generic_foods()
    longest = max(
        ((food_id, measure.text()) for food_id in table.ids() for measure in household_measures(food_id)),
        key=lambda one: len(one[1]),
    )
    assert len(longest[1]) > 60
    item = LunchItem.model_validate({"food": longest[0], "unit": longest[1]})
    assert amount_of(food_of_item(item), item.quantity, item.unit)[1] == longest[1]


def household_measures(food_id: str) -> tuple[HouseholdMeasure, ...]:
    found = generic_foods().get(food_id)
    return () if found is None else found.household_measures


@pytest.mark.parametrize("per", ["serving", "100g"])
def test_rounded_figures_are_intervals_whatever_they_are_for(per: str) -> None:
    """200 mg of sodium printed stands for 195 to 205 mg: 21 CFR 101.9(c)(4)."""
    sodium = MEASURE_INDEX["sodium_mg"]
    food = food_of(packet(facts={"sodium_mg": 200}, facts_per=per))
    assert food.ranges[sodium] == (195_000, 205_000)
    assert not food_of(packet(facts={"sodium_mg": 200}, facts_per=per, facts_rounded=False)).ranges


def test_credits_and_what_it_counts_as_are_not_given_together() -> None:
    with pytest.raises(ValidationError, match="has both credits and counts_as"):
        packet(counts_as="bread", credits=[])
