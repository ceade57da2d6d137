"""Every change reported for a lunch is made by a program and the lunch checked again: what was reported comes out."""

from typing import Any

import pytest

from service.domain.errors import BadInput
from service.jobs.foods.by_id import food_by_id
from service.jobs.lunch.check_lunch import check_lunch
from service.jobs.requests.lunches import LunchCheckRequest
from tests.contract.example_files import example_files
from tests.jobs.making_changes import apply_lunch_change
from tests.refused import refused

LUNCHES = [
    one for one in example_files() if one.operation == "check-lunch" and not one.case.startswith(("error-", "kept-"))
]
BAR: dict[str, Any] = {
    "name": "oat bar",
    "serving": {"name": "bar", "grams": 30},
    "facts": {"energy_kcal": 120, "fat_g": 4, "saturated_fat_g": 1, "sodium_mg": 60},
    "ingredients": "Oats, sugar.",
    "choking_rule": "none",
    "credits": [{"component": "grain", "per_serving": 1}],
}
OWN: dict[str, dict[str, Any]] = {
    "a label and a form among the foods at hand": {
        "standard": "us-school-lunch",
        "on": "2026-12-01",
        "child": {"age_years": 8},
        "lunch": {"items": [{"food": "apple"}, {"food": "milk-1-percent"}, {"food": "carrots-raw"}]},
        "offer": [
            {"food": BAR, "quantity": 2},
            {"food": "grapes", "quantity": 0.5, "form": "quartered_length"},
            "tofu-firm",
        ],
    },
    "something to be avoided": {
        "standard": "us-school-lunch",
        "on": "2026-12-01",
        "child": {"age_years": 8, "avoids": [{"allergen": "egg"}]},
        "lunch": {"items": [{"food": "egg-hard-boiled"}, {"food": "milk-1-percent"}, {"food": "apple"}]},
    },
    "whole grapes for a small child": {
        "standard": "us-school-lunch",
        "on": "2026-12-01",
        "child": {"age_years": 4},
        "lunch": {"items": [{"food": "milk-1-percent"}, {"food": "grapes", "form": "whole"}]},
    },
}
REQUESTS = {one.case: one.request for one in LUNCHES} | OWN


def status_by_id(reply: dict[str, Any]) -> dict[str, str]:
    """Status of each target, rule and choking form, and of each allergen to be avoided."""
    found = {one["id"]: one["status"] for one in (*reply["findings"], *reply["handling"])}
    for one in reply["allergens"]:
        if one["do_not_pack"] or one["outcome"] == "check_label":
            found["allergen:" + one["allergen"]] = one["outcome"]
    return found


@pytest.mark.parametrize("name", list(REQUESTS))
def test_a_change_made_gives_the_score_reported_and_what_it_fixes(name: str) -> None:
    asked = LunchCheckRequest.model_validate(REQUESTS[name])
    reply = check_lunch(asked)
    for change in reply["changes"]:
        after = check_lunch(apply_lunch_change(asked, change))
        if after["score"] is not None:
            assert after["score"] == change["score_after"], change["sentence"]
        now = status_by_id(after)
        for fixed in change["mends"]:
            # What was wrong with one item may be wrong with another too.
            if ":" not in fixed:
                assert now[fixed] == "met", (change["sentence"], fixed)


def test_the_requests_bring_up_changes_of_every_kind() -> None:
    """So that the test above looks at all of them."""
    replies = [check_lunch(LunchCheckRequest.model_validate(one)) for one in REQUESTS.values()]
    kinds = {change["kind"] for reply in replies for change in reply["changes"]}
    assert kinds == {"portion", "swap", "add", "remove", "form", "read", "keep"}


def test_a_change_names_the_item_of_the_request() -> None:
    for request in REQUESTS.values():
        reply = check_lunch(LunchCheckRequest.model_validate(request))
        for change in reply["changes"]:
            assert (change["item"] is None) == (change["kind"] in ("add", "keep"))
            if change["item"] is not None:
                food = request["lunch"]["items"][change["item"]]["food"]
                named = change["instead_of"] if isinstance(food, str) else change["instead_of_name"]
                assert (food if isinstance(food, str) else food["name"]) == named


def test_a_food_sent_with_its_label_is_taken_from_the_foods_at_hand() -> None:
    asked = LunchCheckRequest.model_validate(OWN["a label and a form among the foods at hand"])
    change = next(one for one in check_lunch(asked)["changes"] if one["name"] == "oat bar")
    after = apply_lunch_change(asked, change)
    assert any(getattr(item.food, "name", None) == "oat bar" and item.quantity == 2 for item in after.lunch.items)
    with refused(BadInput, match="needed to make it"):
        apply_lunch_change(asked.model_copy(update={"offer": []}), change)


def test_of_two_own_dishes_of_one_name_each_asks_for_its_own_packets() -> None:
    """A label to read is named by what is in the dish itself, not by what another dish of that name holds."""
    dishes = [
        {"name": "sandwich", "ingredients": [{"food": one, "grams": 30}]}
        for one in ("bread-white", "crackers-whole-wheat")
    ]
    asked = {
        "standard": "us-school-lunch",
        "on": "2026-12-01",
        "child": {"age_years": 9, "avoids": [{"allergen": "sesame"}]},
        "lunch": {"items": [{"food": one, "quantity": 30, "unit": "g"} for one in dishes]},
        "max_changes": 5,
    }
    changes = check_lunch(LunchCheckRequest.model_validate(asked))["changes"]
    names = [food_by_id("bread-white").name, food_by_id("crackers-whole-wheat").name]
    to_read = [one for one in changes if one["kind"] == "read"]
    assert to_read
    assert all(one["params"]["names"] == [names[one["item"]]] for one in to_read)
