"""Which foods are sweets, desserts, sweet drinks or savoury snacks: our judgement (foods/discretionary.toml), food by food."""

from typing import Any

import pytest

from service.jobs.foods.resolve import food_of
from service.jobs.requests.foods import LabelFood, Recipe
from service.reference.foods.catalogue import find_food
from service.reference.foods.generic_foods import generic_foods


@pytest.mark.parametrize(
    "food", ["gum-drops", "brownie", "potato-chips", "lemonade", "pudding-vanilla", "jam", "fruit-punch-drink", "honey"]
)
def test_sweets_and_snacks_are_discretionary(food: str) -> None:
    known = find_food(food)
    assert known is not None
    assert known.discretionary


@pytest.mark.parametrize(
    "food",
    ["apple", "almonds", "popcorn-air-popped", "raisins", "yogurt-fruit-low-fat", "orange-juice", "sandwich-ham"],
)
def test_other_foods_are_not(food: str) -> None:
    known = find_food(food)
    assert known is not None
    assert not known.discretionary


@pytest.mark.parametrize(
    ("starts", "wanted"),
    [
        ("Candies, milk chocolate", True),
        ("Cookies, oatmeal", True),
        ("Snacks, potato chips, plain", True),
        ("Bread, white", False),
        ("Snacks, popcorn, air-popped", False),
        ("Milk, lowfat", False),
        ("Pie crust", False),
    ],
)
def test_generic_foods_by_their_group_and_name(starts: str, wanted: bool) -> None:
    ids = list(generic_foods().ids())
    some = [one.id for one in map(generic_foods().get, ids) if one is not None and one.name.startswith(starts)]
    assert some
    assert {find_food(one).discretionary for one in some} == {wanted}  # type: ignore[union-attr]


def recipe(sweet_grams: float) -> Any:
    return Recipe.model_validate(
        {
            "name": "a dish",
            "portions": 1,
            "ingredients": [{"food": "gum-drops", "grams": sweet_grams}, {"food": "banana", "grams": 100}],
        }
    )


def test_a_dish_is_one_by_where_its_energy_comes_from() -> None:
    """A banana of 100 g has 89 kcal (USDA SR28 09040), gum drops 396 kcal in 100 g (SR28 19106): 22.5 g have as much."""
    assert food_of(recipe(24)).discretionary
    assert not food_of(recipe(21)).discretionary
    sandwich = find_food("sandwich-peanut-butter-jam")
    assert sandwich is None or not sandwich.discretionary


@pytest.mark.parametrize(("counts_as", "wanted"), [("gum-drops", True), ("cookies", True), ("bread", False)])
def test_a_label_is_one_by_what_it_counts_as(counts_as: str, wanted: bool) -> None:
    label = LabelFood.model_validate({"name": "from a shop", "serving": {"grams": 30}, "counts_as": counts_as})
    assert food_of(label).discretionary == wanted
