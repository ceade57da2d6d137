"""What is known of a dish stays known where one ingredient has no figure, and nothing is rounded before the end."""

from fractions import Fraction

import pytest

from service.domain.foods.amounts import item_vector
from service.domain.foods.food import Food
from service.domain.foods.recipes import Ingredient, compose
from service.domain.measures import MEASURE_INDEX, NUTRIENT_COUNT, PARTS_IN_A_THOUSANDTH
from service.reference.foods.catalogue import find_food
from service.reference.foods.lunch_foods import lunch_foods
from tests.builders import food, milligrams, parts, vector

SODIUM = MEASURE_INDEX["sodium_mg"]


def dish(*parts: tuple[Food, int], name: str = "dish") -> Food:
    ingredients = [Ingredient(one, milligrams(grams), None) for one, grams in parts]
    return compose(recipe_id=name, name=name, ingredients=ingredients)


def ends(one: Food, measure: str, grams: int) -> tuple[int, int, int | None]:
    item, place = vector(one, grams), MEASURE_INDEX[measure]
    entries = {m: (low, high) for m, low, high in item.interval_entries}
    return (item.nominal[place], *entries.get(place, (item.nominal[place], item.nominal[place])))


def test_the_known_sodium_of_a_dish_is_its_lower_end() -> None:
    """Ham of 1000 mg in 100 g and a spread without a figure: half of each holds at least 500 mg in 100 g."""
    ham, spread = food("ham", {"sodium_mg": 1000}), food("spread", unknown=["sodium_mg"])
    made = dish((ham, 50), (spread, 50))
    assert made.nutrients[SODIUM] is None
    assert ends(made, "sodium_mg", 200) == (parts(1000), parts(1000), None)


def test_a_missing_part_of_one_ingredient_is_at_most_that_ingredients_whole() -> None:
    """20 g of fat in 100 g without its saturated fat, beside 5 g of saturated fat: 5 to 25 g in both."""
    nuts = food("nuts", {"fat_g": 20}, unknown=["saturated_fat_g"])
    cream = food("cream", {"fat_g": 30, "saturated_fat_g": 5})
    assert ends(dish((nuts, 100), (cream, 100)), "saturated_fat_g", 200) == (parts(5), parts(5), parts(25))


def test_a_dish_in_a_dish_keeps_what_is_known() -> None:
    inner = dish((food("ham", {"sodium_mg": 1000}), 50), (food("spread", unknown=["sodium_mg"]), 50))
    outer = dish((inner, 100), (food("bread", {"sodium_mg": 400}), 100))
    assert ends(outer, "sodium_mg", 200) == (parts(900), parts(900), None)


@pytest.mark.parametrize("grams", [1, 3, 77])
def test_an_apple_sent_as_a_recipe_is_the_apple(grams: int) -> None:
    """Whatever the size of the recipe: nothing is rounded before the portion is weighed out."""
    apple = find_food("apple")
    assert apple is not None
    made, amount = dish((apple, grams)), 182_000
    assert (
        item_vector(made, amount, None).nominal[:NUTRIENT_COUNT]
        == item_vector(apple, amount, None).nominal[:NUTRIENT_COUNT]
    )


def test_a_third_is_a_third() -> None:
    """A label of 30 g with 1 mg of iron; 10 g of it in a dish of 10 g holds a third, and 90 g hold 3 mg."""
    bar = food("bar", {"iron_mg": 1}, basis_g=30)
    made = dish((bar, 10))
    assert made.nutrients[MEASURE_INDEX["iron_mg"]] == Fraction(1000, 3)
    assert ends(made, "iron_mg", 90)[0] == parts(3)


def test_a_lunch_food_of_several_parts_keeps_what_is_known_of_its_parts() -> None:
    """Every figure that one part gives is a lower end, so no such food is wholly unknown where a part is known."""
    several = [one for one in lunch_foods() if one.partly]
    for one in several:
        for measure, seen in one.partly.items():
            if one.nutrients[measure] is None:
                entries = {m: low for m, low, _high in item_vector(one, one.basis_mg, None).interval_entries}
                assert entries[measure] == int(seen.least * PARTS_IN_A_THOUSANDTH)
