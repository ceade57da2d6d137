"""For every lunch that an offer allows, the audit's answer is the verdict of a single check of that lunch."""

from itertools import combinations, product
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from service.jobs.foods.at_hand import everyday_foods
from service.jobs.lunch.check_lunch import check_lunch
from service.jobs.offers.audit_offer import audit_offer
from service.jobs.offers.requests import OfferAuditRequest
from service.jobs.requests import LunchCheckRequest
from tests.strategies import EXAMPLES

pytestmark = pytest.mark.property

LAW = settings(deadline=None, max_examples=EXAMPLES, suppress_health_check=[HealthCheck.too_slow])
ON = "2026-12-01"
OFTEN = (
    "milk-1-percent",
    "water",
    "grapes",
    "apple",
    "carrots-baby-raw",
    "sandwich-cheese",
    "hummus",
    "popcorn-air-popped",
)
LABEL: dict[str, Any] = {
    "name": "bar from its label",
    "serving": {"name": "bar", "grams": 30},
    "facts": {"energy_kcal": 130, "fat_g": 5, "saturated_fat_g": 0.5, "carbohydrate_g": 18, "protein_g": 3},
    "ingredients": "Oats, dates, salt.",
}
"""A food of its own, of which it is known neither how it must be cut nor whether it spoils."""


def items() -> st.SearchStrategy[dict[str, Any]]:
    """One item of an offer."""
    foods: st.SearchStrategy[Any] = st.sampled_from(OFTEN) | st.sampled_from([one.food.id for one in everyday_foods()])
    return st.fixed_dictionaries(
        {"food": foods | st.just(LABEL)},
        optional={
            "held": st.sampled_from(["cold", "hot", "ambient"]),
            "form": st.sampled_from(["whole", "thin_slice", "grated", "quartered_length"]),
        },
    )


@st.composite
def requests(draw: st.DrawFn) -> dict[str, Any]:
    """An audit of up to three groups for one child."""
    groups = []
    for number in range(draw(st.integers(1, 3))):
        some = draw(st.lists(items(), min_size=1, max_size=3))
        low, high = sorted(draw(st.tuples(st.integers(0, 2), st.integers(0, 2))))
        groups.append(
            {
                "id": f"group {number}",
                "items": [{**one, "key": f"item {place}"} for place, one in enumerate(some)],
                "take": {"at_least": low, "at_most": high},
            }
        )
    standard, ages = draw(
        st.sampled_from(
            [("us-child-care-lunch", (1, 12)), ("us-school-lunch", (6, 15)), ("gb-sct-school-lunch", (6, 15))]
        )
    )
    avoids = draw(st.lists(st.sampled_from(["peanut", "milk", "sesame"]), unique=True, max_size=1))
    holding = st.fixed_dictionaries(
        {},
        optional={
            "insulated": st.booleans(),
            "cold_sources": st.integers(0, 3),
            "minutes_until_eaten": st.sampled_from([30, 90, 240]),
            "ambient_c": st.sampled_from([20, 35]),
            "flask_preheated": st.booleans(),
            "flask_filled_at_c": st.sampled_from([60, 90]),
        },
    )
    return {
        "on": ON,
        "offer": {"groups": groups},
        "children": [
            {
                "age_years": draw(st.integers(*ages)),
                "standard": standard,
                "avoids": [{"allergen": one} for one in avoids],
            }
        ],
        "setting": draw(st.sampled_from([{}, {"bans": ["egg"], "ban_threshold": "contains"}])),
        "holding": draw(st.none() | holding),
        "examples": 0,
        "max_changes": 0,
    }


def lunches_left(request: dict[str, Any], left_out: set[tuple[str, str]]) -> list[list[dict[str, Any]]]:
    """Every lunch of the offer without what was left out, laid out in the plainest way."""
    ways = []
    for group in request["offer"]["groups"]:
        left = [one for one in group["items"] if (group["id"], one["key"]) not in left_out]
        sizes = range(group["take"]["at_least"], group["take"]["at_most"] + 1)
        ways.append([chosen for size in sizes for chosen in combinations(left, size)])
    return [[item for part in parts for item in part] for parts in product(*ways)]


def verdict(request: dict[str, Any], lunch: list[dict[str, Any]]) -> str:
    """The verdict of one lunch, checked by itself."""
    child = {name: value for name, value in request["children"][0].items() if name != "standard"}
    asked = {
        "standard": request["children"][0]["standard"],
        "on": ON,
        "child": child,
        "setting": request["setting"],
        "lunch": {
            "items": [{name: value for name, value in one.items() if name != "key"} for one in lunch],
            "holding": request["holding"],
        },
        "max_changes": 0,
    }
    found: str = check_lunch(LunchCheckRequest.model_validate(asked))["verdict"]
    return found


@LAW
@given(requests())
def test_the_audit_of_an_offer_is_the_single_check_of_each_lunch(request: dict[str, Any]) -> None:
    """Nothing is called right that the single check would not pack, and what it asks to read is counted apart."""
    child = audit_offer(OfferAuditRequest.model_validate(request))["children"][0]
    left_out = {(one["group"], one["item"]) for one in child["left_out"]}
    forms = {(one["group"], one["item"]): one["form"] for one in child["cut_for"]}
    for group in request["offer"]["groups"]:
        for item in group["items"]:
            item["form"] = forms.get((group["id"], item["key"]), item.get("form"))
    lunches = lunches_left(request, left_out)
    assert child["total"] == len(lunches)
    found = [verdict(request, lunch) for lunch in lunches if lunch]
    assert "do_not_pack" not in found
    empty = sum(not lunch for lunch in lunches)  # a lunch of nothing cannot be checked by itself
    assert found.count("pack") <= child["right"] <= found.count("pack") + empty
    assert child["check_label"] == found.count("check_label")
    adjust = child["wrong"] + child["unknown"]
    assert found.count("adjust") <= adjust <= found.count("adjust") + empty
    assert child["right"] + adjust + child["check_label"] == child["total"]
    for one in child["handling"]:
        assert 0 < one["lunches"] <= child["total"]
        assert one["status"] in ("fix", "unknown")
