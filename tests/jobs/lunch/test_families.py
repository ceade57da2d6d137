"""Twelve families more, of other ages, standards and avoidances: what a parent who knows food would do first, or never.

What is sensible is our judgement.
"""

from typing import Any

import pytest

from service.jobs.weeks.requests import WeekRequest
from service.jobs.weeks.sum_up_week import sum_up_week
from service.reference.foods.catalogue import find_food
from service.reference.foods.suggesting import suggesting
from tests.jobs.lunch.test_more_situations import ENGLAND, MILK, PLANTS, swaps
from tests.jobs.lunch.test_situations import CARE, GRAIN, JAPAN, SCHOOL, SCOTLAND, Situation, brings, cuts

PROTEIN = ("meats", "fish", "eggs", "cheese", "beans-and-soy", "nut-and-seed-butters")
DAYS = ["2026-11-30", "2026-12-01", "2026-12-02", "2026-12-03", "2026-12-04"]

SITUATIONS = [
    # Plain pasta, rice or noodles need something of protein before a pear.
    Situation("plain pasta at 5", 5, ["pasta-cooked"], brings(*PROTEIN)),
    Situation("plain pasta at 5, child care", 5, ["pasta-cooked"], brings(*PROTEIN), standard=CARE),
    Situation("rice and milk at 1", 1, ["rice-white-cooked", "milk-whole"], brings(*PROTEIN), standard=CARE),
    Situation("noodle soup alone at 13", 13, ["noodle-soup-ramen"], brings(*PROTEIN, *GRAIN, *PLANTS)),
    # A yogurt is what fills; no chicken first.
    Situation("yogurt pot, granola, blueberries at 8", 8, ["yogurt-vanilla-low-fat", "granola", "blueberries"], brings("milk", "vegetables")),
    # A product over its own limit is swapped for one that is not.
    Situation("pizza and chocolate milk at 12", 12, ["pizza-cheese", "milk-chocolate-low-fat"], swaps("milk-chocolate-low-fat", "milk")),
    Situation("sausage roll, lemonade, biscuit, England", 10, ["sausage-roll", "lemonade", "cookie-chocolate-chip"], swaps("lemonade", "drink", "milk"), standard=ENGLAND),
    Situation("grilled cheese and crisps at 16, Scotland", 16, ["sandwich-grilled-cheese", "potato-chips", "water"], swaps("potato-chips", "fruit", "vegetables"), standard=SCOTLAND),
    Situation("bologna, bread and crisps at 6", 6, ["bologna-beef", "bread-white", "potato-chips", MILK], swaps("potato-chips", "fruit", "vegetables")),
    Situation("hummus at 4, avoids sesame", 4, ["hummus", "carrots-cooked", MILK], swaps("hummus", "protein", "spread"), ("sesame",), CARE),
    Situation("fruit for a three-year-old", 3, ["banana", ("strawberries", "whole"), MILK], cuts("strawberries"), standard=CARE),
    Situation("rice ball alone at 12, Japan", 12, ["onigiri"], brings(*PLANTS, "milk"), standard=JAPAN),
]  # fmt: skip


@pytest.mark.parametrize("situation", SITUATIONS, ids=lambda one: one.name)
def test_the_first_suggestion_is_what_a_parent_would_do(situation: Situation) -> None:
    first, *_others = situation.reply()["changes"]
    assert situation.wanted is not None
    assert situation.wanted(first), first["sentence"]


@pytest.mark.parametrize(
    "foods",
    [
        ["tuna-canned-in-water", "crackers-whole-wheat", "apple", MILK],
        ["sandwich-ham", "apple", MILK],
        ["sandwich-salmon-cream-cheese", "apple"],
    ],
)
def test_no_second_meat_or_fish_beside_one(foods: list[str]) -> None:
    for one in Situation("", 9, foods, None).reply()["changes"]:
        came = find_food(one["food"]) if one["kind"] == "add" else None
        assert came is None or came.category not in ("meats", "fish"), one["sentence"]


def week(foods: list[str], years: int = 9, standard: str = SCHOOL, **more: Any) -> list[dict[str, Any]]:
    """The changes to a week with the same lunch on each day."""
    request = {
        "standard": standard,
        "week": "2026-W49",
        "child": {"age_years": years},
        "days": [{"date": day, "kind": "packed", "items": [{"food": one} for one in foods]} for day in DAYS],
        **more,
    }
    return list(sum_up_week(WeekRequest.model_validate(request))["changes"])


@pytest.mark.parametrize(
    ("foods", "salty"),
    [
        (["sandwich-ham", "soup-tomato", "apple", MILK], {"soup-tomato", "sandwich-ham"}),
        (["soup-chicken-noodle", "sandwich-ham-cheese", "apple", MILK], {"soup-chicken-noodle", "sandwich-ham-cheese"}),
        (["soup-chicken-noodle", "ham-sliced", "bread-whole-wheat", "apple", "carrots-raw", MILK], {"soup-chicken-noodle"}),
        (["soup-tomato", "ham-sliced", "bread-whole-wheat", "cheese-cheddar", "apple", MILK], {"ham-sliced", "soup-tomato"}),
    ],
)  # fmt: skip
def test_a_salty_week_loses_its_soup_or_ham_and_gets_nothing_salty(foods: list[str], salty: set[str]) -> None:
    found = week(foods)
    assert any(one["kind"] in ("swap", "remove", "portion") and one["instead_of"] in salty for one in found), found
    for one in found:
        came = find_food(one["food"]) if one["kind"] in ("add", "swap") else None
        assert came is None or (came.category not in ("meats", "soups") or "ham" not in came.name), one["sentence"]


def test_what_few_families_pack_comes_in_on_two_days_at_most() -> None:
    lists = suggesting()
    weeks = [
        (["sandwich-turkey-cheese", "apple", MILK], SCHOOL),
        (["sandwich-ham", "soup-tomato", "apple", MILK], SCHOOL),
        (["bread-whole-wheat", "apple"], SCOTLAND),
        (["bread-whole-wheat", "banana", "carrots-raw"], JAPAN),
    ]
    seen = 0
    for foods, standard in weeks:
        for one in week(foods, 10, standard):
            if one["kind"] in ("add", "swap") and one["food"] in lists.seldom:
                seen += 1
                assert len(one["days"]) <= lists.seldom_days, one["sentence"]
    assert seen


def test_what_a_child_dislikes_does_not_come_into_its_week() -> None:
    foods = ["pasta-cooked", "carrots-raw", MILK]
    disliked = ["egg", "broccoli", "blueberries"]
    before, found = week(foods, 6), week(foods, 6, dislikes=disliked)
    assert any(word in one["sentence"] for one in before for word in disliked)
    assert found
    assert not any(word in one["sentence"] for one in found for word in disliked)
