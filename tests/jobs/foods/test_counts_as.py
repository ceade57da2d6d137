"""A packet that is like a lunch food, or of a kind, counts as that does: weight for weight."""

from typing import Any

import pytest

from service.domain.errors import LunchError
from service.domain.foods.amounts import item_vector
from service.domain.measures import MEASURE_INDEX
from service.jobs.foods.resolve import food_by_id, food_of
from service.jobs.requests import LabelFood
from tests.builders import us_scheme


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
    assert credits(packet(counts_as="crackers"), 44)[MEASURE_INDEX["grain_oz_eq"]] == 2_000


def test_nothing_is_known_to_count_as_nothing() -> None:
    sweets = food_of(packet(counts_as="nothing"))
    assert sweets.credits_known
    assert sweets.credit_options == ()
    assert not food_of(packet()).credits_known


def test_what_is_not_known_is_refused_with_near_names() -> None:
    with pytest.raises(LunchError, match="crackers"):
        food_of(packet(counts_as="crakers"))
