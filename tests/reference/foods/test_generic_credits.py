"""What generic foods count as: each against the Food Buying Guide's or the rule's own amount."""

from fractions import Fraction

import pytest

from service.domain.foods.amounts import amount_mg_of, item_vector
from service.domain.foods.food import Food
from service.domain.measures import MEASURE_INDEX, SCALE
from service.reference.foods.catalogue import find_food
from service.reference.foods.generic_foods import generic_foods
from tests.builders import us_scheme


def food_named(name: str) -> Food:
    table = generic_foods()
    places = [place for place, known in enumerate(table.names()) if known == name]
    found = find_food(max(table.ids()[place] for place in places))  # of two tables, the one with household measures
    assert found is not None
    return found


def credit(food: Food, grams: float, measure: str) -> Fraction:
    item = item_vector(food, round(grams * 1000), us_scheme(), food.credit_options[0])
    return Fraction(item.nominal[MEASURE_INDEX[measure]], SCALE)


@pytest.mark.parametrize(
    ("name", "grams", "measure", "expected"),
    [
        # 1 oz of natural cheese, half a cup of yogurt (4 oz), half a large egg: 1 oz eq each (CT-MMA; 7 CFR 210.10(c)).
        ("Cheese, cheddar", 28.35, "meat_alternate_oz_eq", "1"),
        ("Yogurt, plain, low fat, 12 grams protein per 8 ounce", 113.4, "meat_alternate_oz_eq", "1"),
        ("Egg, whole, cooked, hard-boiled", 50, "meat_alternate_oz_eq", "2"),
        # Exhibit A, groups A and B.
        ("Crackers, saltines (includes oyster, soda, soup)", 22, "grain_oz_eq", "1"),
        ("Bread, whole-wheat, commercially prepared", 56, "grain_oz_eq", "2"),
        # 16 g of creditable grain make 1 oz eq (Exhibit A, footnote 1).
        ("Wheat flour, white, all-purpose, enriched, bleached", 32, "grain_oz_eq", "2"),
        # Exhibit A, groups H: 28 g dry. Raw meat without bone or skin, 70 % of it left after cooking (common practice, no source).
        ("Quinoa, uncooked", 28, "grain_oz_eq", "1"),
        ("Chicken, broiler or fryers, breast, skinless, boneless, meat only, raw", 81, "meat_alternate_oz_eq", "2"),
        # A cup of the fluid, and half a cup of a vegetable, by the table's own cup (244 g; 240 g of tomatoes).
        ("Milk, lowfat, fluid, 1% milkfat, with added vitamin A and vitamin D", 244, "fluid_milk_cup", "1"),
        ("Tomatoes, red, ripe, canned, packed in tomato juice", 120, "vegetable_red_orange_cup", "0.5"),
    ],
)
def test_a_generic_food_counts_by_its_group(name: str, grams: float, measure: str, expected: str) -> None:
    food = food_named(name)
    assert credit(food, grams, measure) == Fraction(expected)
    assert food.credits_known
    assert "estimated" in food.note


def test_raw_leaves_count_half_a_cup() -> None:
    """7 CFR 210.10(c)(2)(iii): a cup of raw leafy greens counts as half a cup."""
    spinach = food_named("Spinach, raw")
    assert credit(spinach, amount_mg_of(spinach, 1000, "cup") / 1000, "vegetable_dark_green_cup") == Fraction("0.5")


@pytest.mark.parametrize(
    "name", ["Sugars, granulated", "Oil, olive, salad or cooking", "Salt, table", "Leavening agents, baking soda"]
)
def test_fats_sweets_and_spices_count_as_nothing(name: str) -> None:
    assert food_named(name).credit_options == ()
    assert food_named(name).credits_known


@pytest.mark.parametrize("name", ["Macaroni and Cheese, canned entree", "Soup, chicken gumbo, canned, condensed"])
def test_a_mixed_dish_of_the_tables_stays_unknown(name: str) -> None:
    assert not food_named(name).credits_known
