"""England's school food standards (SI 2014/1603): a week that keeps every rule, and for each rule a week that breaks it.

The rules are those of the department's lunch checklist and of schedules 1 and 3.
"""

import copy
from datetime import timedelta
from typing import Any

import pytest

from service.reference.weeks.frequencies import frequency_standard
from tests.week_days import MONDAY, Item, finding, item, packed, packed_week, statuses, summed

ENGLAND = "gb-eng-school-food-2014"
Week = list[list[Item]]

BREAD = [item("bread-whole-wheat", 64)]
MILK = item("milk-skim", 200)
WEEK: Week = [
    [
        item("pasta-cooked", 120),
        item("chicken-breast-roasted", 60),
        item("broccoli-cooked", 50),
        item("apple", 100),
        MILK,
    ],
    [*BREAD, item("salmon-canned", 60), item("cucumber", 50), item("pear", 100), item("yogurt-plain-low-fat", 100)],
    [item("rice-white-cooked", 120), item("beef-roast-lean", 60), item("carrots-raw", 50), item("banana", 80), MILK],
    [item("pasta-cooked", 120), item("turkey-breast-roasted", 60), item("tomato", 50), item("orange", 100), MILK],
    [*BREAD, item("egg-hard-boiled", 50), item("cucumber", 50), item("apple", 100), item("cheese-cheddar", 25)],
]
WEEK[0] += [item("fruit-salad-fresh", 80), item("apple-juice", 150), item("ketchup", 10)]
WEEK[2] += [item("applesauce-unsweetened", 80), item("fish-sticks", 60), item("milk-chocolate-low-fat", 300)]
WEEK[4] += [item("croissant", 50), item("sausage-pork", 50), item("crackers-whole-wheat", 20)]
"""Keeps every rule for a primary child, with as much as is allowed of juice, ketchup and meat products."""


def summary(week: Week, **more: Any) -> dict[str, Any]:
    return summed([*packed_week(week), *more.pop("earlier", [])], ENGLAND, **more)


def broken(week: Week, **more: Any) -> set[str]:
    return {name for name, status in statuses(summary(week, **more)).items() if status in ("short", "over")}


def without(day: int, *foods: str) -> Week:
    week = copy.deepcopy(WEEK)
    week[day] = [one for one in week[day] if one["food"] not in foods]
    return week


def swapped(into: dict[str, str]) -> Week:
    return [[{**one, "food": into.get(one["food"], one["food"])} for one in day] for day in WEEK]


def added(*more: Item, days: tuple[int, ...] = (0,)) -> Week:
    return [[*day, *(more if place in days else ())] for place, day in enumerate(WEEK)]


def resized(food: str, grams: float) -> Week:
    return [[item(food, grams) if one["food"] == food else one for one in day] for day in WEEK]


FISHLESS = [
    packed(*day, on=MONDAY + timedelta(days=place - 7 * back))
    for back in (1, 2)
    for place, day in enumerate(swapped({"salmon-canned": "tuna-canned-in-water"}))
]

ONLY_APPLES = {"pear": "apple", "banana": "apple", "orange": "apple", "fruit-salad-fresh": "applesauce-unsweetened"}
ONLY_CUCUMBER = {"broccoli-cooked": "cucumber", "carrots-raw": "cucumber", "tomato": "cucumber"}
BREAKS: dict[str, tuple[Week, dict[str, Any]]] = {
    "starchy-daily": (without(0, "pasta-cooked"), {}),
    "starchy-kinds": (
        [
            [{**one, "food": "pasta-cooked"} if one["food"] == "rice-white-cooked" else one for one in day]
            for day in without(4, "crackers-whole-wheat")
        ],
        {},
    ),
    "wholegrain-week": (swapped({"bread-whole-wheat": "bread-white", "crackers-whole-wheat": "saltines"}), {}),
    "starchy-in-fat": (added(item("pancake-plain", 40), days=(0, 1, 2)), {}),
    "vegetable-daily": (without(1, "cucumber"), {}),
    "fruit-daily": (without(3, "orange"), {}),
    "fruit-kinds": (swapped(ONLY_APPLES), {}),
    "vegetable-kinds": (swapped(ONLY_CUCUMBER), {}),
    "fruit-dessert": (swapped({"fruit-salad-fresh": "plum"}), {}),
    "protein-daily": (without(1, "salmon-canned"), {}),
    "meat-days": (
        [
            [one for one in day if one["food"] != "sausage-pork"]
            for day in swapped({"turkey-breast-roasted": "cod-cooked"})
        ],
        {},
    ),
    "oily-fish": (swapped({"salmon-canned": "tuna-canned-in-water"}), {"earlier": FISHLESS}),
    "meat-products": (added(item("sausage-pork", 50)), {}),
    "dairy-daily": (without(1, "yogurt-plain-low-fat"), {}),
    "fried": (added(item("fish-sticks", 60), days=(0, 1)), {}),
    "pastry": (added(item("croissant", 50), days=(0, 1)), {}),
    "snacks": (added(item("potato-chips", 25)), {}),
    "confectionery": (added(item("milk-chocolate", 20)), {}),
    "condiments": (resized("ketchup", 11), {}),
    "juice": (resized("apple-juice", 160), {}),
    "combination-drink": (resized("milk-chocolate-low-fat", 360), {}),
    "vegetarian-protein-days": (
        swapped({"egg-hard-boiled": "cod-cooked"}),
        {"vegetarian": True},
    ),
}


def test_a_week_that_keeps_every_rule() -> None:
    found = statuses(summary(WEEK))
    assert set(found.values()) <= {"met", "not_applicable"}
    assert [name for name, status in found.items() if status == "met"] == [
        "starchy-daily",
        "starchy-kinds",
        "wholegrain-week",
        "starchy-in-fat",
        "vegetable-daily",
        "fruit-daily",
        "fruit-kinds",
        "vegetable-kinds",
        "fruit-dessert",
        "protein-daily",
        "meat-days",
        "oily-fish",
        "dairy-daily",
        "fried",
        "pastry",
        "snacks",
        "confectionery",
        "condiments",
        "juice",
        "combination-drink",
        "crackers-with",
        "meat-products",
    ]


@pytest.mark.parametrize("rule", list(BREAKS))
def test_a_week_that_breaks_only_that_rule(rule: str) -> None:
    week, more = BREAKS[rule]
    assert broken(week, **more) == {rule}


def test_every_rule_that_a_lunch_can_break_has_a_week_that_breaks_it() -> None:
    judged = {row.id for row in frequency_standard(ENGLAND).rows if row.unit != "kitchen"}
    assert judged == {*BREAKS, "crackers-with"}


def test_crackers_with_nothing_beside_them() -> None:
    """Without fruit, vegetables and dairy food the rules on those are broken too: it cannot be otherwise."""
    week = without(4, "cucumber", "apple", "cheese-cheddar")
    assert broken(week) == {"crackers-with", "vegetable-daily", "fruit-daily", "dairy-daily"}


@pytest.mark.parametrize(
    ("food", "grams"),
    [("beef-roast-lean", 35), ("chicken-breast-roasted", 42), ("cod-cooked", 48), ("salmon-cooked", 48)],
)
def test_a_portion_of_meat_or_fish_is_the_least_of_the_typical_range(food: str, grams: int) -> None:
    """Raw: red meat 50 g, poultry 60 g, fish 60 g at ages 4 to 10 (BMJ Open table 1); times 0.7 (meat) and 0.8 (fish) cooked.

    For secondary schools no weight was found: one item is one portion.
    """
    for amount, status in ((grams, "met"), (grams - 1, "short")):
        week = [[item(food, amount)]] * 5
        assert statuses(summary(week))["protein-daily"] == status
        assert statuses(summary(week, child={"age_group": "secondary"}))["protein-daily"] == "met"


def test_pulses_and_fried_potatoes_have_portions_of_their_own() -> None:
    """Pulses 15 g dried, times 2.5; potatoes cooked in oil 70 g (DfE, portion sizes and food groups)."""
    for food, grams, rule in (("lentils-cooked", 38, "vegetable-daily"), ("french-fries", 70, "starchy-daily")):
        for amount, status in ((grams, "met"), (grams - 1, "short")):
            assert statuses(summary([[item(food, amount)]] * 5))[rule] == status


def test_a_secondary_school_allows_a_second_meat_product() -> None:
    """Schedule 3 paragraph 2: one a week in primary, two in secondary."""
    for products, primary, secondary in ((1, "met", "met"), (2, "over", "met"), (3, "over", "over")):
        week = added(item("sausage-pork", 50), days=tuple(range(products - 1)))
        assert statuses(summary(week))["meat-products"] == primary
        assert statuses(summary(week, child={"age_group": "secondary"}))["meat-products"] == secondary


def test_the_portions_of_the_guidance() -> None:
    """Typical portions: vegetables from 40 g in primary, bread from 50 g; a gram less is not a portion."""
    for food, enough, rule in (("cucumber", 40, "vegetable-daily"), ("bread-whole-wheat", 50, "starchy-daily")):
        for grams, status in ((enough, "met"), (enough - 1, "short")):
            week = [
                [item(food, grams) if one["food"] == food else one for one in day]
                for day in without(4, "crackers-whole-wheat")
            ]
            assert statuses(summary(week))[rule] == status, (food, grams)


def test_a_food_that_nobody_placed_never_makes_a_rule_met() -> None:
    """A label food without groups leaves minima short of their count unknown, and every maximum unknown."""
    label = {"food": {"name": "leftovers", "serving": {"grams": 200}}}
    found = statuses(
        summary(
            [[*day, label] if place == 0 else day for place, day in enumerate(without(0, "apple", "fruit-salad-fresh"))]
        )
    )
    assert found["fruit-daily"] == "unknown"
    assert found["confectionery"] == found["fried"] == "unknown"
    said = {**label, "groups": ["fruit"], "kind": "plum"}
    found = statuses(summary([[*day, said] if place == 0 else day for place, day in enumerate(without(0, "apple"))]))
    assert found["fruit-daily"] == found["confectionery"] == "met"


def test_a_day_nobody_logged_leaves_maxima_open() -> None:
    reply = summary(WEEK[:4])
    assert statuses(reply)["fried"] == "unknown"
    assert statuses(reply)["meat-days"] == "met"
    assert "Friday 4 December" in finding(reply, "fruit-daily")["sentence"]


def test_what_only_a_kitchen_can_keep_is_not_judged() -> None:
    reply = summary(WEEK)
    for rule in ("bread-available", "lower-fat-milk", "drinking-water", "salt-added"):
        assert finding(reply, rule)["status"] == "not_applicable"
    assert reply["note_messages"][0]["code"] == "week-note.rules-for-schools"
