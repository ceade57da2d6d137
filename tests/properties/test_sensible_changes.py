"""Whatever the lunch, a suggested change is one that a parent could make and would be willing to make."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.jobs.lunch.check_lunch import check_lunch
from service.jobs.requests.lunches import LunchCheckRequest
from service.reference.foods.catalogue import find_food, packable_foods
from service.reference.foods.suggesting import suggesting
from service.reference.lunch.handling import handling_rules
from tests.jobs.making_changes import apply_lunch_change
from tests.strategies import SHORT_LAW

pytestmark = pytest.mark.property

FOODS = [food.id for food in packable_foods() if food.units]
AVOIDED = ["milk", "egg", "peanut", "wheat", "soy", "fish"]
SWEETS = ["gum-drops", "brownie", "potato-chips", "lemonade"]


@st.composite
def requests(draw: st.DrawFn) -> dict[str, Any]:
    """A lunch of two to five foods in their usual portions, for a child of 2 to 11 years who may avoid something."""
    foods = draw(st.lists(st.sampled_from(FOODS), min_size=2, max_size=5, unique=True))
    years = draw(st.integers(2, 11))
    avoids = draw(st.lists(st.sampled_from(AVOIDED), max_size=2, unique=True))
    return {
        "standard": "us-school-lunch" if years >= 5 else "us-child-care-lunch",
        "on": "2026-12-01",
        "child": {"age_years": years, "avoids": [{"allergen": one} for one in avoids]},
        "lunch": {"items": [{"food": one} for one in foods]},
        "offer": draw(st.just([]) | st.just([*SWEETS, "carrots-raw", "cheese-cheddar"])),
    }


def in_danger(reply: dict[str, Any]) -> set[str]:
    """What forbids packing, with the item."""
    found = {f"{one['item']} {one['allergen']}" for one in reply["allergens"] if one["do_not_pack"]}
    return found | {f"{one['items']} {one['id']}" for one in reply["handling"] if one["status"] == "do_not_pack"}


@SHORT_LAW
@given(requests())
def test_every_change_is_one_that_a_parent_would_make(request: dict[str, Any]) -> None:
    asked = LunchCheckRequest.model_validate(request)
    reply = check_lunch(asked)
    lists, rules = suggesting(), handling_rules()
    foods = [find_food(one["food"]) for one in request["lunch"]["items"]]
    for change in reply["changes"]:
        kind, sentence = change["kind"], change["sentence"]
        others = [food for place, food in enumerate(foods) if place != change["item"]]
        after = check_lunch(apply_lunch_change(asked, change))
        assert after["score"] == change["score_after"], sentence
        if in_danger(reply):
            assert len(in_danger(after)) < len(in_danger(reply)), sentence
            assert (change["score_after"] is None) == (after["verdict"] == "do_not_pack"), sentence
        else:
            assert change["score_after"] >= reply["score"], sentence
        if kind == "remove" and not in_danger(reply):
            assert not any(one.startswith("allergen:") for one in change["mends"]), sentence
        if kind == "read":
            assert "Read the label" in sentence
        if kind in ("add", "swap"):
            came = find_food(change["food"])
            assert not came.discretionary, sentence
            assert lists.goes_with(came, others, foods[change["item"]] if kind == "swap" else None), sentence
            assert change["form"] not in lists.forms_not_made, sentence
            cut = rules.choking.get(came.handling.choking_rule)
            oldest = (
                max((limit.below_age_months for limit in cut.limits if limit.region == "US"), default=0) if cut else 0
            )
            if request["child"]["age_years"] * 12 < oldest:
                assert rules.in_words(change["form"]) in sentence
        if kind == "portion":
            food = foods[change["item"]]
            more = change["quantity"] > reply["items"][change["item"]]["quantity"]
            assert not (more and food.discretionary), sentence
            step = 0.5 if change["unit"] in lists.halved or set(change["unit"].split()) & set(lists.measured) else 1
            assert change["quantity"] % step == 0, sentence
            if more:
                assert change["grams"] * 1000 <= 2 * food.units[0].grams_mg, sentence


@pytest.mark.parametrize(
    ("food", "quantity", "unit", "wanted"),
    [
        ("clementine", 1, "clementine", [2]),  # no half a clementine
        ("nectarine", 1, "nectarine", [0.5]),  # people halve one; two are more than a portion
        ("raisins", 1, "small box", []),  # no second box
        ("bread-whole-wheat", 1, "slice", [0.5, 1.5, 2]),
        ("milk-1-percent", 1, "cup", [0.5]),  # no second milk
        ("potato-chips", 1, "oz", [0.5]),  # less of it, never more
    ],
)
def test_amounts_that_people_pack(food: str, quantity: float, unit: str, wanted: list[float]) -> None:
    """Our judgement (reference_data/foods/suggesting.toml), food by food."""
    assert list(suggesting().other_quantities(find_food(food), quantity, unit)) == wanted
