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


# DfE, Help for early years providers, Food safety: hard vegetables are grated, or cut thin, for children of 5 and under.
SMALL = {"age_months": 60}


def test_what_is_only_cut_wrong_is_cut_and_not_left_out() -> None:
    lunches = [["carrots-baby-raw", "sandwich-turkey-cheese"], ["carrots-baby-raw"]]
    asked = WeekRequest.model_validate(week("us-school-lunch", *lunches, child=SMALL))
    first = sum_up_week(asked)["changes"][0]
    assert (first["kind"], first["food"], first["form"]) == ("form", "carrots-baby-raw", "matchstick")
    assert first["mends"] == ["choking:hard-raw"]
    assert [place["date"] for place in first["places"]] == DATES
    assert first["sentence"].startswith("From Monday to Friday, give baby carrots, raw in matchsticks.")
    after = sum_up_week(apply_week_change(asked, first))
    assert not any(row["status"] == "do_not_pack" for row in after["handling"])
    assert not any("choking:hard-raw" in one["mends"] for one in after["changes"])


def test_what_holds_an_allergen_goes_however_it_is_cut() -> None:
    child = {**SMALL, "avoids": [{"allergen": "milk"}]}
    cheese = {"food": "cheese-string", "form": "chunk"}
    lunches = week("us-school-lunch", [cheese, "apple", "bread-whole-wheat"], child=child)
    named = [
        one for one in sum_up_week(WeekRequest.model_validate(lunches))["changes"] if "allergen:milk" in one["mends"]
    ]
    assert [one["kind"] for one in named] == ["remove"]


def test_what_no_cut_puts_right_is_left_out() -> None:
    asked = WeekRequest.model_validate(
        week("us-school-lunch", ["pretzels", "sandwich-ham", "pear"], child={"age_months": 40})
    )
    named = [one for one in sum_up_week(asked)["changes"] if one["instead_of"] == "pretzels"]
    assert named
    assert {one["kind"] for one in named} == {"remove"}


def test_other_portions_are_cut_in_changes_of_their_own() -> None:
    few = {"food": "carrots-baby-raw", "quantity": 2, "unit": "carrot"}
    many = {"food": "carrots-baby-raw", "quantity": 6, "unit": "carrot"}
    asked = WeekRequest.model_validate(
        week("us-school-lunch", [few, "sandwich-ham"], [many, "sandwich-ham"], child=SMALL)
    )
    cut = [one for one in sum_up_week(asked)["changes"] if one["kind"] == "form"]
    assert [(one["quantity"], one["unit"]) for one in cut] == [(2, "carrot"), (6, "carrot")]
    assert [[place["date"] for place in one["places"]] for one in cut] == [DATES[0::2], DATES[1::2]]
