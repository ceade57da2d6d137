"""How loudly a label is asked for comes from counts of published labels and from what a food is; neither clears anything."""

import runpy
from collections import Counter

import pytest

from service.domain.allergens.evidence import most_percent
from service.domain.allergens.screening import Avoidance, screen_food
from service.domain.foods.food import Food
from service.reference.allergens.evidence import count_of, evidence_file
from service.reference.allergens.vocabulary import vocabulary
from service.reference.files import data_path
from service.reference.foods.catalogue import find_food
from service.reference.foods.lunch_foods import lunch_foods
from service.reference.health import faults

EU_14 = [
    "milk",
    "egg",
    "fish",
    "crustacean",
    "mollusc",
    "tree_nut",
    "peanut",
    "gluten_cereal",
    "soy",
    "sesame",
    "celery",
    "mustard",
    "lupin",
    "sulphite",
]
"""Source: Regulation (EU) 1169/2011, Annex II."""


def outcome(food: str | Food, allergen: str) -> str:
    found = find_food(food) if isinstance(food, str) else food
    assert found is not None
    return screen_food(vocabulary(), found, Avoidance(allergen, "contains")).outcome


@pytest.mark.parametrize(
    ("named", "labels", "percent"), [(0, 30, 9.50), (0, 59, 4.95), (1, 100, 4.66), (5, 405, 2.58), (10, 10, 100)]
)
def test_the_upper_end_of_a_count(named: int, labels: int, percent: float) -> None:
    """Source: 0 of n: 1 - 0.05 ** (1/n); "rule of three". The others: the binomial sum at the result is 0.05."""
    assert most_percent(named, labels) == pytest.approx(percent, abs=0.01)


def test_a_count_is_of_all_categories_of_a_group() -> None:
    """Source: the data's own note: 405 statements of cheese, peanut in none, tree nuts in 5."""
    assert count_of("cheese", "peanut") == (0, 405)
    assert count_of("cheese", "tree_nut") == (5, 405)


def test_most_labels_are_asked_for_once_and_not_first() -> None:
    """At most a fifth of all cells; of every other one that was not read or single, a label is still to be read."""
    cells = Counter(outcome(food, allergen) for food in lunch_foods() for allergen in EU_14)
    assert cells["check_label"] <= 0.2 * cells.total()
    assert cells["label_not_seen"] > cells["check_label"]


def test_only_a_single_food_is_not_declared() -> None:
    for food in lunch_foods():
        for allergen in EU_14:
            if outcome(food, allergen) == "not_declared":
                row = lunch_foods().rows()[food.id]
                assert row["others"] == "free" or allergen in row.words("free_of")


@pytest.mark.parametrize(
    ("food", "allergen", "expected"),
    [
        ("cheese-cheddar", "peanut", "label_not_seen"),
        ("cheese-cheddar", "almond", "label_not_seen"),
        ("bread-white", "tree_nut", "label_not_seen"),
        ("bread-white", "peanut", "label_not_seen"),
        ("bread-white", "milk", "check_label"),
        ("beans-black-cooked", "soy", "label_not_seen"),
        ("maple-syrup", "fish", "label_not_seen"),
        ("milk-chocolate", "hazelnut", "check_label"),
        ("almonds", "walnut", "check_label"),
        ("salmon-canned", "tuna", "check_label"),
        ("raisins", "sulphite", "check_label"),
        ("soup-tomato", "celery", "check_label"),
        ("ham-sliced", "milk", "check_label"),
        ("apple", "milk", "not_declared"),
    ],
)
def test_what_somebody_who_knows_such_foods_would_say(food: str, allergen: str, expected: str) -> None:
    """Judged by reading; no source."""
    assert outcome(food, allergen) == expected


def test_generic_foods_are_graded_by_their_group_and_their_name_still_raises() -> None:
    """SR28 16145 is kidney beans in a can, 12036 dried sunflower seeds, 12061 almonds; none comes with ingredients."""
    assert outcome("sr28-16145", "peanut") == "label_not_seen"
    assert outcome("sr28-12036", "peanut") == "check_label"
    assert outcome("sr28-12061", "tree_nut") == "avoid"
    assert outcome("sr28-12061", "cashew") == "check_label"


def test_a_group_with_a_member_that_is_there_stays_open() -> None:
    """A food named for one nut says nothing of the others, however few labels of its group name nuts."""
    assert outcome("almond-butter", "cashew") == "check_label"


def test_the_evidence_names_its_count() -> None:
    food = find_food("bread-white")
    assert food is not None
    evidence = food.allergens.of("peanut").evidence
    assert evidence is not None
    assert evidence.params == {"named": 2, "labels": 330, "most_percent": "1.9"}


def test_every_name_in_the_evidence_is_there() -> None:
    assert not [fault for fault in faults() if "evidence" in fault]
    assert evidence_file().counts.source == "usda-branded-2020"


@pytest.mark.parametrize(("food_id", "others"), [
    ("sr28-01123", "free"),  # Egg, whole, raw, fresh
    ("sr28-11282", "free"),  # Onions, raw
    ("fndds-3feb92ef", "free"),  # Egg, whole, raw
    ("sr28-05062", "free"),  # Chicken, breast, meat only, raw
    ("sr28-11693", "unknown"),  # Tomatoes, crushed, canned: what else is in the can is on its label
    ("sr28-23572", "unknown"),  # Beef, ground, raw: a filler may be in it
    ("sr28-11445", "unknown"),  # Seaweed, kelp, raw: seafood gets into it
    ("sr28-16069", "unknown"),  # Lentils, raw: cereals get into them
    ("sr28-12061", "unknown"),  # Nuts, almonds: packed where others are
])  # fmt: skip
def test_a_raw_food_of_the_generic_tables_is_a_single_food(food_id: str, others: str) -> None:
    """As an apple or an egg of the lunch foods is; what is packed, minced or mixed is still to be read."""
    food = find_food(food_id)
    assert food is not None
    assert food.allergens.others.level == others


def test_the_report_of_the_grades_is_up_to_date() -> None:
    """The table that shows how often an unread label is asked for is written anew with the data."""
    folder = data_path("allergens/build")
    written = runpy.run_path(str(folder / "write_evidence_report.py"))
    assert written["report"]() == (folder.parent / "evidence_report.md").read_text(encoding="utf-8")


def test_a_label_to_be_read_first_says_why() -> None:
    """Nearly always a count of labels or what the food is; else somebody who wrote down the food noted it."""
    codes: Counter[str] = Counter()
    for food in lunch_foods():
        for allergen in EU_14:
            found = screen_food(vocabulary(), food, Avoidance(allergen, "contains"))
            if found.outcome == "check_label":
                assert found.evidence.evidence is not None
                codes[found.evidence.evidence.code] += 1
    assert codes["evidence.recipes-vary"] <= 0.25 * codes.total()


@pytest.mark.parametrize(
    ("food", "allergen"),
    [
        ("soup-tomato", "sesame"),
        ("pickle-sweet", "fish"),
        ("jelly-beans", "egg"),
        ("guacamole", "celery"),
        ("bacon-baked", "egg"),
        ("milk-chocolate-whole", "tree_nut"),
        ("potato-chips", "mustard"),
        ("yogurt-fruit-low-fat", "egg"),
    ],
)
def test_nobody_is_sent_to_read_a_label_first_for_what_is_not_usual(food: str, allergen: str) -> None:
    """Judged by reading; no source. It is still to be read, once."""
    assert outcome(food, allergen) == "label_not_seen"
