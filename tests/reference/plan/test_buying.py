"""What is bought for what is eaten, against figures of USDA SR28 (FOOD_DES, refuse) and by hand."""

import pytest

from service.reference.foods.catalogue import find_food
from service.reference.foods.lunch_foods import lunch_foods
from service.reference.plan.buying import as_bought, buying_yields, keeps_from_shopping


@pytest.mark.parametrize(
    ("food", "percent"), [("banana", 36), ("orange", 27), ("pineapple", 49), ("carrots-raw", 11), ("avocado", 26)]
)
def test_peel_and_stones_are_bought_too(food: str, percent: int) -> None:
    """SR28, FOOD_DES: refuse of 09040 bananas, 09200 oranges, 09266 pineapple, 11124 carrots, 09037 avocados."""
    assert float(100 - 100 / as_bought(food).per_gram) == pytest.approx(percent)


def test_an_egg_is_bought_raw_with_its_shell() -> None:
    """SR28 01123: 12 % shell. An egg loses and gains nothing in its shell; its energy in the two rows is 143 and 155 kcal."""
    bought = as_bought("egg-hard-boiled")
    assert bought.food == "sr28-01123"
    assert float(bought.per_gram) == pytest.approx(155 / 143 / 0.88)


def test_the_form_that_has_a_price_is_bought() -> None:
    assert as_bought("rice-white-cooked", frozenset({"rice-white-cooked"})).per_gram == 1
    assert as_bought("pasta-cooked").food == "sr28-20120"


def test_every_food_of_the_yields_is_there() -> None:
    assert all(find_food(food) for row in buying_yields().values() for food in row.foods)


def test_no_food_is_bought_in_less_than_nothing_or_absurdly_much() -> None:
    for food in lunch_foods():
        assert 0.1 < as_bought(food.id).per_gram < 4, food.id


def test_the_stricter_region_and_the_lower_end_of_a_range_count() -> None:
    """FSIS storage data 85: cooked ham slices 3 to 4 days; 451: muffins 3 to 7 days."""
    for storage, days in (("ham-sliced", 3), ("muffin", 3)):
        keeps = keeps_from_shopping(storage, ("US", "GB"))
        assert keeps is not None
        assert keeps.days == days
    assert keeps_from_shopping("dry-goods", ("US",)) is None
    assert keeps_from_shopping("fruit-cut", ("US",)) is None
