"""What must not be packed is named first and goes; nothing a child must avoid is recommended, in any amount."""

from typing import Any

import pytest

from service.jobs.weeks.requests import WeekRequest
from service.jobs.weeks.sum_up_week import sum_up_week
from tests.jobs.making_changes import apply_week_change
from tests.jobs.weeks.test_changes import DATES, week

MILK = {"age_years": 8, "avoids": [{"allergen": "milk"}]}
LUNCHES = [["sandwich-ham", "apple", "milk-1-percent"], ["sandwich-cheese"], ["carrots-raw", "milk-1-percent", "pear"]]


def not_to_be_packed(reply: dict[str, Any]) -> set[tuple[str, str]]:
    """The foods of a reply that must not be packed, each with its days."""
    return {(row["name"], day) for row in reply["allergens"] if row["do_not_pack"] for day in row["dates"]}


@pytest.mark.parametrize("standard", ["us-school-lunch", "gb-eng-school-food-2014", "gb-sct-school-lunch"])
def test_what_must_not_be_packed_is_named_first_and_its_changes_take_it_away(standard: str) -> None:
    asked = WeekRequest.model_validate(week(standard, *LUNCHES, child=MILK))
    reply = sum_up_week(asked)
    assert not_to_be_packed(reply)
    named = [one for one in reply["changes"] if "allergen:milk" in one["mends"]]
    assert reply["changes"][: len(named)] == named
    assert named
    for change in named:
        assert change["kind"] in ("remove", "swap")
        fewer = not_to_be_packed(sum_up_week(apply_week_change(asked, change)))
        assert fewer < not_to_be_packed(reply), change["sentence"]


def test_all_of_the_dangerous_foods_go_when_the_changes_are_made_one_after_the_other() -> None:
    asked = WeekRequest.model_validate(week("us-school-lunch", *LUNCHES, child=MILK))
    for _turn in range(10):
        named = [one for one in sum_up_week(asked)["changes"] if "allergen:milk" in one["mends"]]
        if not named:
            break
        asked = apply_week_change(asked, named[0])
    assert not not_to_be_packed(sum_up_week(asked))


@pytest.mark.parametrize("avoided", ["milk", "egg", "wheat", "soya", "peanut"])
def test_no_change_packs_a_food_that_the_child_must_avoid_in_any_amount(avoided: str) -> None:
    child = {"age_years": 8, "avoids": [{"allergen": avoided}]}
    lunches = [*LUNCHES, ["egg-hard-boiled", "sandwich-peanut-butter-jam", "milk-1-percent"]]
    asked = WeekRequest.model_validate(week("us-school-lunch", *lunches, child=child))
    reply = sum_up_week(asked)
    packed_before = not_to_be_packed(reply)
    for change in reply["changes"]:
        after = sum_up_week(apply_week_change(asked, change))
        assert not_to_be_packed(after) <= packed_before, change["sentence"]
        dangerous = {name for name, _day in packed_before}
        assert not (change["kind"] == "portion" and change["name"] in dangerous), change["sentence"]


def test_a_food_that_came_back_is_not_packed_in_a_larger_portion_nor_added() -> None:
    left = week("us-school-lunch", ["sandwich-ham", "apple", "milk-1-percent"], ["sandwich-ham", "milk-1-percent"])
    for day in left["days"]:
        day["uneaten"] = [{"item": len(day["items"]) - 1, "share": 1.0}]
    for change in sum_up_week(WeekRequest.model_validate(left))["changes"]:
        assert not (change["kind"] in ("portion", "add") and change["food"] == "milk-1-percent"), change["sentence"]


@pytest.mark.parametrize("lacking", range(5))
def test_fruit_missing_on_one_day_is_added_on_that_day(lacking: int) -> None:
    whole = ["sandwich-turkey-cheese", "apple", "carrots-raw", "milk-1-percent"]
    lunches = [[one for one in whole if one != "apple" or place != lacking] for place in range(5)]
    reply = sum_up_week(WeekRequest.model_validate(week("us-school-lunch", *lunches, offer=["apple"])))
    added = [one for one in reply["changes"] if one["kind"] == "add" and any("fruit" in fix for fix in one["mends"])]
    assert added
    assert {place["date"] for one in added for place in one["places"]} == {DATES[lacking]}


def test_a_bought_meal_without_figures_is_left_out_of_the_means_and_named() -> None:
    lunches = week("us-school-lunch", ["sandwich-ham", "apple", "milk-1-percent"])
    known = sum_up_week(WeekRequest.model_validate({**lunches, "days": lunches["days"][:4]}))
    lunches["days"][4] = {"date": DATES[4], "kind": "bought", "menu": {"name": "fish and chips"}}
    reply = sum_up_week(WeekRequest.model_validate(lunches))
    assert reply["means"] == known["means"]
    assert (reply["counted_days"], reply["shown_apart"]) == (4, [DATES[4]])
