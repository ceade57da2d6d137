"""Pairs of lunches of which anybody would call one the better: it scores at least as much. Which is better is our judgement."""

from typing import Any

from service.jobs.lunch.check_lunch import check_lunch
from service.jobs.requests.lunches import LunchCheckRequest

SCHOOL, CARE, JAPAN = "us-school-lunch", "us-child-care-lunch", "jp-school-lunch"
COLD = {"insulated": True, "cold_sources": 2, "minutes_until_eaten": 240}
SANDWICH: list[Any] = [
    ("turkey-breast-low-salt", 56, "g"),
    ("bread-whole-wheat", 2, "slice"),
    ("apple", 1, "apple"),
    ("carrots-raw", 100, "g"),
    ("milk-1-percent", 1, "cup"),
]


def reply_for(standard: str, *items: Any, years: int = 8, on: str = "2026-12-01") -> dict[str, Any]:
    """The reply for a lunch of foods in their amounts: a triple each, or a whole item."""
    packed = [
        {"food": one[0], "quantity": one[1], "unit": one[2]} if isinstance(one, tuple) else {"food": one}
        for one in items
    ]
    request = {
        "standard": standard,
        "on": on,
        "child": {"age_years": years},
        "lunch": {"items": packed, "holding": COLD},
        "max_changes": 0,
    }
    return check_lunch(LunchCheckRequest.model_validate(request))


def score(standard: str, *items: Any, years: int = 8, on: str = "2026-12-01") -> float:
    found: float = reply_for(standard, *items, years=years, on=on)["score"]
    return found


def test_plain_yogurt_over_a_yogurt_above_its_limit_of_sugar() -> None:
    lunch = SANDWICH[1:]
    plain, sugared = (
        score(SCHOOL, *lunch, (one, 1, "cup")) for one in ("yogurt-plain-low-fat", "yogurt-fruit-low-fat")
    )
    assert plain > sugared


def test_a_milk_that_is_served_over_one_that_is_not() -> None:
    """On a day on which whole milk was not among the milks of a school lunch (7 CFR 210.10(d) before 2026)."""
    served, not_served = (
        score(SCHOOL, *SANDWICH[:-1], (one, 1, "cup"), on="2025-12-01") for one in ("milk-1-percent", "milk-whole")
    )
    assert served > not_served


def test_no_sweets_over_a_bag_of_sweets() -> None:
    for standard in (SCHOOL, CARE, JAPAN):
        few, many = (score(standard, *SANDWICH, ("gum-drops", one, "g")) for one in (30, 300))
        assert score(standard, *SANDWICH) > few > many


def test_sweets_do_not_stand_for_a_meal() -> None:
    """Half a lunch filled up with sweets is half a lunch: neither its score nor its verdict gets better."""
    half: list[Any] = [("bread-whole-wheat", 1, "slice"), ("apple", 1, "apple"), ("milk-1-percent", 1, "cup")]
    assert score(SCHOOL, *half) > score(SCHOOL, *half, ("gum-drops", 80, "g"))


def test_some_fruit_over_none() -> None:
    """An eighth of a cup where a quarter or a half is asked for is better than nothing."""
    lunch: list[Any] = [("bread-whole-wheat", 2, "slice"), ("milk-1-percent", 1, "cup")]
    for standard, years in ((CARE, 4), (CARE, 8), (SCHOOL, 8)):
        some = score(standard, *lunch, ("applesauce-unsweetened", 31, "g"), years=years)
        assert some > score(standard, *lunch, years=years)


def test_a_cup_of_salty_soup_over_six() -> None:
    for soup in ("soup-tomato", "soup-chicken-noodle", "soup-vegetable", "soup-minestrone"):
        assert score(SCHOOL, (soup, 1, "cup")) >= score(SCHOOL, (soup, 6, "cup"))


def test_one_japanese_lunch_over_four_at_once() -> None:
    lunch: list[Any] = [
        ("rice-white-cooked", 150, "g"),
        ("salmon-cooked", 60, "g"),
        ("broccoli-cooked", 80, "g"),
        ("spinach-raw", 60, "g"),
        ("carrots-cooked", 50, "g"),
        ("edamame", 60, "g"),
        ("milk-whole", 206, "g"),
        ("clementine", 1, "clementine"),
    ]
    once, four_times = score(JAPAN, *lunch), score(JAPAN, *((food, 4 * n, unit) for food, n, unit in lunch))
    assert once >= four_times


def test_a_lunch_over_the_same_with_a_biscuit_of_which_nothing_is_known() -> None:
    """5 g of it move the score to a range, not to the bottom."""
    biscuit = {"name": "biscuit", "serving": {"grams": 5}, "choking_rule": "none"}
    without, with_it = reply_for(SCHOOL, *SANDWICH), reply_for(SCHOOL, *SANDWICH, biscuit)
    assert with_it["score"] <= without["score"]
    assert with_it["score"] >= without["score"] - 1
    assert with_it["score_low"] < with_it["score"] <= with_it["score_high"]


def test_less_of_a_very_salty_thing_over_more() -> None:
    one, three = (score(SCHOOL, *SANDWICH[1:], ("ham-sliced", grams, "g")) for grams in (60, 300))
    assert one > three
