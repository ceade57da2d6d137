"""Lunches that a parent may meet, and what the suggestions must and must not say. What is sensible is our judgement."""

from typing import Any

from service.jobs.lunch.check_lunch import check_lunch
from service.jobs.requests.lunches import LunchCheckRequest


def changes(years: int, foods: list[Any], *avoids: str, offer: list[Any] | None = None) -> list[dict[str, Any]]:
    """The changes for a lunch of these foods; a food with a form is a pair."""
    items = [{"food": one} if isinstance(one, str) else {"food": one[0], "form": one[1]} for one in foods]
    request = {
        "standard": "us-school-lunch" if years >= 5 else "us-child-care-lunch",
        "on": "2026-12-01",
        "child": {"age_years": years, "avoids": [{"allergen": one} for one in avoids]},
        "lunch": {"items": items},
        "max_changes": 5,
    } | ({"offer": offer} if offer else {})
    found: list[dict[str, Any]] = check_lunch(LunchCheckRequest.model_validate(request))["changes"]
    return found


def test_sweets_fix_nothing_even_where_they_are_at_hand() -> None:
    found = changes(8, ["sandwich-turkey-cheese", "apple"], offer=["gum-drops", "brownie", "milk-1-percent"])
    assert {one["food"] for one in found} & {"gum-drops", "brownie"} == set()
    assert any(one["food"] == "milk-1-percent" for one in found)


def test_a_label_that_was_not_read_is_to_be_read_and_the_food_stays() -> None:
    found = changes(8, ["bread-whole-wheat", "turkey-breast-sliced", "apple", "milk-1-percent"], "soy")
    assert found[0]["kind"] == "read"
    assert found[0]["mends"] == ["allergen:soy"]
    assert all(not one["mends"] or one["mends"] != ["allergen:soy"] for one in found if one["kind"] == "remove")


def test_what_forbids_packing_is_taken_away_first_and_a_score_is_shown_only_for_what_may_be_packed() -> None:
    found = changes(7, ["egg-hard-boiled", "peanuts-roasted", "apple"], "egg", "peanut")
    assert found
    for one in found:
        assert set(one["mends"]) & {"allergen:egg", "allergen:peanut"}
        assert one["score_after"] is None  # one change takes one of the two away
    single, *_others = changes(8, ["egg-hard-boiled", "milk-1-percent", "apple"], "egg")
    assert single["kind"] in ("remove", "swap")
    assert single["score_after"] is not None


def test_grapes_are_cut_before_they_are_left_out() -> None:
    found = changes(4, ["milk-1-percent", ("grapes", "whole"), "crackers-whole-wheat"])
    assert (found[0]["kind"], found[0]["form"]) == ("form", "quartered_length")
    for one in found:
        if one["kind"] == "swap" and one["form"] is not None and one["food"] == "plum":
            assert "cut lengthways into quarters" in one["sentence"]


def test_nobody_grinds_peanuts_or_takes_a_second_milk_or_spreads_on_nothing() -> None:
    assert {one["kind"] for one in changes(4, ["peanuts-roasted", "banana", "milk-1-percent"])} == {"remove"}
    added = {one["food"] for one in changes(8, ["sandwich-ham", "milk-1-percent"]) if one["kind"] == "add"}
    assert not added & {"milk-whole", "milk-2-percent", "rice-white-cooked", "peanut-butter-smooth", "soup-tomato"}
