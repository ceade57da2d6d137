"""Advice for lunch boxes: a lunch with something from each group keeps it, and one without a group misses that group alone.

Victoria, Healthy lunchboxes: fruit; vegetables, legumes and beans; milk, yoghurt, cheese and alternatives; meat, fish, eggs,
tofu, nuts, seeds and legumes; grain foods; water. Newfoundland and Labrador, Canada's Food Guide: vegetables or fruit, whole
grain foods and protein foods, which hold cheese.
"""

from typing import Any

import pytest

from tests.week_days import Item, item, packed_week, statuses, summed

VICTORIA, CANADA = "au-vic-healthy-lunchbox", "ca-nl-school-lunch"
BOX = [item("apple"), item("carrots-raw"), item("cheese-cheddar"), item("egg-hard-boiled"), item("bread-white")]
MISSES = {
    "apple": "fruit-daily",
    "carrots-raw": "vegetable-daily",
    "cheese-cheddar": "dairy-daily",
    "egg-hard-boiled": "protein-daily",
    "bread-white": "grain-daily",
}


def off(standard: str, box: list[Item], **more: Any) -> set[str]:
    reply = summed(packed_week([box] * 5), standard, **more)
    return {name for name, status in statuses(reply).items() if status not in ("met", "not_applicable")}


def without(food: str) -> list[Item]:
    return [one for one in BOX if one["food"] != food]


def test_something_of_each_group_is_enough_in_victoria() -> None:
    assert off(VICTORIA, BOX) == set()


@pytest.mark.parametrize("food", list(MISSES))
def test_a_group_that_is_left_out_is_missed_in_victoria(food: str) -> None:
    assert off(VICTORIA, without(food)) == {MISSES[food]}


def test_potatoes_are_no_grain_food() -> None:
    assert off(VICTORIA, [*without("bread-white"), item("potato-boiled")]) == {"grain-daily"}


def test_legumes_are_vegetables_and_stand_for_meat_in_victoria() -> None:
    box = [item("apple"), item("milk-skim"), item("bread-white"), item("chickpeas-canned")]
    assert off(VICTORIA, box) == set()


@pytest.mark.parametrize(
    ("foods", "missed"),
    [
        (["apple", "bread-whole-wheat", "cheese-cheddar"], set()),
        (["carrots-raw", "bread-whole-wheat", "hummus"], set()),
        (["apple", "bread-white", "cheese-cheddar"], {"whole-grain-daily"}),
        (["apple", "bread-whole-wheat"], {"protein-food-daily"}),
        (["bread-whole-wheat", "cheese-cheddar"], {"vegetable-or-fruit-daily"}),
    ],
)
def test_the_groupings_of_canadas_food_guide(foods: list[str], missed: set[str]) -> None:
    assert off(CANADA, [item(food) for food in foods]) == missed


def test_what_a_person_says_of_an_own_food_counts_in_the_wider_group_too() -> None:
    own = {"name": "own stew", "serving": {"grams": 200}}
    stew = {"food": own, "groups": ["vegetable", "protein_non_dairy"]}
    assert off(CANADA, [stew, item("bread-whole-wheat")]) == set()


def test_it_is_said_that_this_is_advice_and_no_rule_for_schools() -> None:
    notes = summed(packed_week([BOX]), VICTORIA)["notes"]
    assert notes[0] == "This is advice for lunches from home; nobody has to follow it."
    assert not any("portion sizes" in one for one in summed(packed_week([BOX]), VICTORIA)["cautions"])
