"""The four laws of the score of a lunch, on lunches of real foods by every standard of lunches.

1. A lunch that keeps every rule and has no sweet or snack scores 100. 2. Fixing a rule never lowers the score. 3. Adding a
sweet, dessert, sweet drink or savoury snack never raises it. 4. What is not known widens it to a range and is never nil.
"""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.jobs.lunch.check_lunch import check_lunch
from service.jobs.requests.lunches import LunchCheckRequest
from service.reference.foods.catalogue import find_food, packable_foods
from tests.strategies import LAW, SHORT_LAW

pytestmark = pytest.mark.property

FOODS = [food.id for food in packable_foods()]
SWEETS = [food.id for food in packable_foods() if food.discretionary]
COLD = {"insulated": True, "cold_sources": 2, "minutes_until_eaten": 240}
YEARS = {"us-school-lunch": 8, "us-child-care-lunch": 8, "gb-sct-school-lunch": 8, "jp-school-lunch": 8}

Item = dict[str, Any]
Reply = dict[str, Any]


def check(standard: str, items: list[Item], holding: dict[str, Any] | None = None) -> Reply:
    """The reply for a lunch of a child of eight."""
    lunch = {"items": items} | ({"holding": holding} if holding else {})
    request = {"standard": standard, "on": "2026-12-01", "child": {"age_years": YEARS[standard]}, "lunch": lunch}
    return check_lunch(LunchCheckRequest.model_validate({**request, "max_changes": 0}))


@st.composite
def items_of(draw: st.DrawFn, foods: list[str], least: int = 1, most: int = 5) -> list[Item]:
    chosen = draw(st.lists(st.sampled_from(foods), min_size=least, max_size=most))
    return [{"food": one, "quantity": draw(st.sampled_from([0.5, 1, 2, 4]))} for one in chosen]


def kept(reply: Reply) -> bool:
    """Whether all that is looked at is in order."""
    rules = all(one["status"] in ("met", "not_applicable") for one in reply["findings"])
    return rules and all(one["status"] == "in_order" for one in reply["handling"])


GOOD: dict[str, list[tuple[str, float, str | None]]] = {
    "us-school-lunch": [
        ("turkey-breast-low-salt", 56, "g"),
        ("bread-whole-wheat", 2, "slice"),
        ("carrots-raw", 100, "g"),
        ("apple", 1, "apple"),
        ("milk-1-percent", 1, "cup"),
        ("almonds", 18, "g"),
    ],
    "us-child-care-lunch": [
        ("turkey-breast-low-salt", 90, "g"),
        ("bread-whole-wheat", 1, "slice"),
        ("carrots-raw", 100, "g"),
        ("apple", 1, "apple"),
        ("milk-1-percent", 1, "cup"),
    ],
}


@pytest.mark.parametrize("standard", list(GOOD))
def test_a_lunch_that_keeps_every_rule_scores_100(standard: str) -> None:
    items = [{"food": food, "quantity": quantity, "unit": unit} for food, quantity, unit in GOOD[standard]]
    reply = check(standard, items, COLD)
    assert kept(reply), [one["sentence"] for one in reply["findings"] if one["status"] != "met"]
    assert reply["score"] == reply["score_low"] == reply["score_high"] == 100.0
    assert check(standard, [*items, {"food": "gum-drops", "quantity": 5, "unit": "g"}], COLD)["score"] < 100.0


@LAW
@given(st.sampled_from(sorted(YEARS)), items_of(FOODS))
def test_only_what_is_broken_or_sweet_costs_points(standard: str, items: list[Item]) -> None:
    reply = check(standard, items, COLD)
    sweet = any(find_food(one["food"]).discretionary for one in items)  # type: ignore[union-attr]
    if kept(reply) and not sweet:
        assert reply["score"] == 100.0
    if sweet and reply["score"] is not None:
        assert reply["score"] < 100.0


@LAW
@given(st.sampled_from(sorted(YEARS)), items_of(FOODS), items_of(SWEETS, 1, 1), st.sampled_from([None, COLD]))
def test_adding_a_sweet_or_a_snack_never_raises_the_score(
    standard: str, items: list[Item], sweet: list[Item], holding: dict[str, Any] | None
) -> None:
    """Whatever is in the lunch already, other sweets too."""
    before, after = check(standard, items, holding), check(standard, items + sweet, holding)
    if before["score"] is None or after["score"] is None:
        return  # it must not be packed, whatever it scores
    assert after["score"] <= before["score"]
    assert after["score_low"] <= before["score_low"]
    assert after["score_high"] <= before["score_high"]


@SHORT_LAW
@given(st.sampled_from(sorted(YEARS)), items_of(FOODS))
def test_keeping_it_cold_never_lowers_the_score(standard: str, items: list[Item]) -> None:
    warm, unsaid, cold = (check(standard, items, one) for one in ({"insulated": False}, None, COLD))
    if cold["score"] is None:
        return
    assert warm["score"] <= unsaid["score"] <= cold["score"]
    assert unsaid["score_low"] <= warm["score"] <= unsaid["score_high"]
    assert unsaid["score_low"] <= cold["score"] <= unsaid["score_high"]


def yogurt(sugar: float | None) -> Item:
    """A yogurt by its label; 7 CFR 210.10(n)(1)(iv) allows 12 g of added sugars in 6 oz (170.1 g)."""
    facts: dict[str, float] = {} if sugar is None else {"added_sugars_g": sugar}
    others = {"energy_kcal": 100, "fat_g": 2, "saturated_fat_g": 1, "sodium_mg": 60, "protein_g": 8}
    label = {"name": "yogurt", "serving": {"grams": 170}, "facts": others | facts, "product_kind": "yogurt"}
    return {"food": {**label, "counts_as": "yogurt", "choking_rule": "none", "facts_rounded": False}}


@SHORT_LAW
@given(items_of([food for food in FOODS if food not in SWEETS]), st.sampled_from([13, 20, 40]))
def test_a_product_within_its_limit_scores_more_and_an_unknown_one_lies_between(items: list[Item], sugar: int) -> None:
    standard = "us-school-lunch"
    over, within, unknown = (check(standard, [*items, yogurt(one)], COLD) for one in (float(sugar), 5.0, None))
    if over["score"] is None:
        return
    assert over["score"] <= within["score"]
    assert unknown["score_low"] <= over["score"] <= within["score"] <= unknown["score_high"] + 0.1
    assert unknown["score"] >= over["score"]
