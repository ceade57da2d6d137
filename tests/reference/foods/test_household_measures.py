"""Promise: every household measure of the lunch foods and dishes has its words, one and several, in each language, and an
amount reads as a person says it."""

import pytest

from service.reference.foods.catalogue import find_food
from service.reference.foods.household_measures import food_amount, of_the_food
from service.reference.foods.lunch_foods import lunch_foods
from service.reference.foods.recipes import recipes
from service.reference.messages import catalogue, say

WEIGHTS = {"g", "kg", "ml"}


def units() -> set[str]:
    foods = [find_food(food_id) for food_id in (*lunch_foods().rows(), *recipes())]
    return {unit.name for food in foods if food is not None for unit in food.units}


@pytest.mark.parametrize("language", ["en", "es"])
def test_every_measure_has_its_words(language: str) -> None:
    known = catalogue(language).texts
    assert [unit for unit in sorted(units() - WEIGHTS) if f"measure.{unit}" not in known] == []


def test_what_is_said_of_measures_is_of_measures_that_there_are() -> None:
    known = catalogue().texts
    assert [unit for unit in sorted(of_the_food() - WEIGHTS) if f"measure.{unit}" not in known] == []
    halves = [code.removeprefix("half.") for code in known if code.startswith("half.")]
    assert [unit for unit in halves if f"measure.{unit}" not in known] == []


@pytest.mark.parametrize(
    ("food", "quantity", "unit", "english", "spanish"),
    [
        ("clementine", 1, "clementine", "1 clementine", "1 clementina"),
        ("clementine", 2, "clementine", "2 clementines", "2 clementinas"),
        ("egg, hard boiled", 2, "large egg", "egg, hard boiled (2 large eggs)", "egg, hard boiled (2 huevos grandes)"),
        ("whole wheat bread", 2, "slice", "2 slices of whole wheat bread", "2 rebanadas de whole wheat bread"),
        ("whole wheat bread", 0.5, "slice", "half a slice of whole wheat bread", "media rebanada de whole wheat bread"),
        ("white rice, cooked", 1, "half cup", "half a cup of white rice, cooked", "media taza de white rice, cooked"),
        ("white rice, cooked", 1, "quarter cup", "¼ cup of white rice, cooked", "¼ taza de white rice, cooked"),
        ("white rice, cooked", 3, "half cup", "1½ cups of white rice, cooked", "1½ tazas de white rice, cooked"),
        ("rolled oats", 2, "third cup", "⅔ cup of rolled oats", "⅔ taza de rolled oats"),
        ("cheese sandwich", 1.5, "sandwich", "1½ cheese sandwiches", "1½ sándwiches (cheese)"),
        ("apple", 0.5, "apple", "half an apple", "media manzana"),
        ("banana", 1, "small banana", "1 small banana", "1 banana (plátano) pequeña"),
        ("avocado", 1, "half avocado", "half an avocado", "medio aguacate (palta)"),
        ("brownie", 2, "small square", "brownie (2 small squares)", "brownie (2 cuadrados pequeños)"),
        ("almonds", 30, "g", "30 g of almonds", "30 g de almonds"),
        # What a family calls the measures of its own foods stays as it wrote it.
        ("oat bites", 2, "bite", "oat bites (2 bite)", "oat bites (2 bite)"),
    ],
)  # fmt: skip
def test_an_amount_of_a_food_as_a_person_says_it(
    food: str, quantity: float, unit: str, english: str, spanish: str
) -> None:
    said = food_amount(food, quantity, unit)
    assert say(said) == english
    assert say(said, "es") == spanish


# food, unit, grams: FNDDS 2021-2023, food_portion.csv, with the survey food's number in FoodData Central
SURVEY_PORTIONS = [
    ("pasta-cooked", "cup", 140),  # 2708357, 1 cup, cooked
    ("pasta-cooked-salted", "cup", 140),
    ("pasta-whole-wheat-cooked", "cup", 140),  # 2708358
    ("brownie", "square", 50),  # 2707904, 1 medium
    ("brownie", "small square", 30),  # 1 small or bite size
    ("brownie", "large square", 90),
    ("cookie-chocolate-chip", "small cookie", 20),  # 2707909
    ("cookie-chocolate-chip", "cookie", 30),  # 1 medium cookie
    ("cookie-chocolate-chip", "large cookie", 45),
    ("cookie-oatmeal", "cookie", 30),  # 2707946
    ("cookie-peanut-butter", "cookie", 30),  # 2707952
    ("cookie-sugar", "cookie", 30),  # 2707970
    ("cookie-vanilla-wafer", "wafer", 4),  # 2707981
    ("fig-bar", "fig bar", 16),  # 2707929
    ("sausage-pork", "link", 20),  # 2706191, 1 breakfast size link
    ("sausage-pork", "patty", 35),
    ("sausage-pork", "large link", 75),  # 1 bun-size or griller link
    ("bagel-chips", "chip", 5),  # 2708292
    ("bagel-chips", "portion", 18),  # quantity not specified
    ("figs-dried", "fig", 8),  # 2709204
    ("figs-dried", "portion", 40),  # quantity not specified
    ("macaroni-and-cheese", "cup", 243),
]


@pytest.mark.parametrize(("food_id", "name", "grams"), SURVEY_PORTIONS)
def test_a_usual_portion_weighs_what_the_survey_says(food_id: str, name: str, grams: int) -> None:
    food = find_food(food_id)
    assert food is not None
    [weight] = [unit.grams_mg / 1000 for unit in food.units if unit.name == name]
    assert weight == pytest.approx(grams, rel=0.1)
