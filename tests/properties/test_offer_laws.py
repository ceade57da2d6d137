"""For every lunch that an offer allows, the audit's answer is the verdict of a single check of that lunch."""

from collections.abc import Sequence
from itertools import combinations_with_replacement, product
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from service.jobs.foods.at_hand import everyday_foods
from service.jobs.lunch.check_lunch import check_lunch
from service.jobs.offers.audit_offer import audit_offer
from service.jobs.offers.requests import OfferAuditRequest
from service.jobs.requests.lunches import LunchCheckRequest
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
    "yogurt-fruit-low-fat",
    "milk-chocolate-low-fat",
    "crackers-graham",
)
LABEL: dict[str, Any] = {
    "name": "bar from its label",
    "serving": {"name": "bar", "grams": 30},
    "facts": {"energy_kcal": 130, "fat_g": 5, "saturated_fat_g": 0.5, "carbohydrate_g": 18, "protein_g": 3},
    "ingredients": "Oats, dates, salt.",
}
"""A food of its own, of which it is known neither how it must be cut nor whether it spoils."""
RECIPE: dict[str, Any] = {
    "name": "fruit pot",
    "ingredients": [{"food": "grapes", "grams": 60}, {"food": "crackers-graham", "grams": 14}],
}
CEREAL = {**LABEL, "name": "cereal from its label", "product_kind": "breakfast_cereal", "choking_rule": "none"}
"""A product of a kind that has a limit of its own, its added sugars not given."""
PACKET = {"read_on": "2026-11-20", "ingredients": "Wheat, sugar, salt.", "may_contain": ""}


def items() -> st.SearchStrategy[dict[str, Any]]:
    """One item of an offer."""
    foods: st.SearchStrategy[Any] = st.sampled_from(OFTEN) | st.sampled_from([one.food.id for one in everyday_foods()])
    return st.fixed_dictionaries(
        {"food": foods | st.sampled_from([LABEL, RECIPE, CEREAL])},
        optional={
            "held": st.sampled_from(["cold", "hot", "ambient"]),
            "form": st.sampled_from(["whole", "thin_slice", "grated", "quartered_length"]),
        },
    )


def takes() -> st.SearchStrategy[dict[str, Any]]:
    """How many are taken from a group."""
    ends = st.tuples(st.integers(0, 2), st.integers(0, 2)).map(sorted)
    return st.builds(
        lambda found, again: {"at_least": found[0], "at_most": found[1], "repeats": again}, ends, st.booleans()
    )


@st.composite
def rules(draw: st.DrawFn, groups: int, sizes: list[int]) -> dict[str, Any]:
    """A family rule from an item of one group to another group."""
    one, other = draw(st.permutations(range(groups)))[:2]
    item = draw(st.integers(0, sizes[one] - 1))
    return {
        "group": f"group {one}",
        "item": f"item {item}",
        "then_group": f"group {other}",
        "take": draw(takes()),
    }


def crumbs() -> st.SearchStrategy[dict[str, Any]]:
    """A few grams of a food that several groups are likely to have: too little by itself for the step it is credited in."""
    foods = st.sampled_from(["crackers-graham", "saltines", "grapes", "carrots-baby-raw"])
    return st.fixed_dictionaries({"food": foods, "unit": st.just("g"), "quantity": st.integers(3, 40)})


@st.composite
def requests(draw: st.DrawFn) -> dict[str, Any]:
    """An audit of up to three groups for one child; often several groups have the same food."""
    groups = []
    item = draw(st.sampled_from([items(), items() | crumbs(), crumbs()]))
    for number in range(draw(st.integers(1, 3))):
        some = draw(st.lists(item, min_size=1, max_size=3))
        groups.append(
            {
                "id": f"group {number}",
                "items": [{**one, "key": f"item {place}"} for place, one in enumerate(some)],
                "take": draw(takes()),
            }
        )
    offer: dict[str, Any] = {"groups": groups}
    if len(groups) > 1 and draw(st.booleans()):
        offer["rules"] = draw(st.lists(rules(len(groups), [len(one["items"]) for one in groups]), max_size=2))
    if len(groups) == 3 and not offer.get("rules") and draw(st.booleans()):
        offer["alternatives"] = [["group 0", "group 2"]]
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
        "offer": offer,
        "children": [
            {
                "age_years": draw(st.integers(*ages)),
                "standard": standard,
                "avoids": [{"allergen": one} for one in avoids],
            }
        ],
        "setting": draw(st.sampled_from([{}, {"bans": ["egg"], "ban_threshold": "contains"}])),
        "holding": draw(st.none() | holding),
        "packets": draw(
            st.lists(
                st.sampled_from([{**PACKET, "food": food} for food in ("crackers-graham", "bread-whole-wheat")]),
                unique_by=lambda one: one["food"],
                max_size=2,
            )
        ),
        "examples": 0,
        "max_changes": 0,
    }


Taken = tuple[tuple[str, str], ...]


def lunches_left(request: dict[str, Any], left_out: set[tuple[str, str]]) -> list[list[dict[str, Any]]]:
    """Every lunch of the offer without what was left out: all that could be taken, less what a rule forbids."""
    offer = request["offer"]
    items = {(group["id"], one["key"]): one for group in offer["groups"] for one in group["items"]}
    ways: list[list[Taken]] = []
    for group in offer["groups"]:
        left = [key for key in items if key[0] == group["id"] and key not in left_out]
        ways.append([chosen for size in range(3) for chosen in combinations_with_replacement(left, size)])
    found = {tuple(key for part in parts for key in part) for parts in product(*ways) if allowed(offer, parts)}
    return [[items[key] for key in lunch] for lunch in sorted(found)]


def allowed(offer: dict[str, Any], parts: Sequence[Taken]) -> bool:
    """Whether as many are taken from each group as it says, or as the rules on what is taken say."""
    taken = {key for part in parts for key in part}
    fits = {}
    for group, part in zip(offer["groups"], parts, strict=True):
        called = [
            rule["take"]
            for rule in offer.get("rules", [])
            if rule["then_group"] == group["id"] and (rule["group"], rule["item"]) in taken
        ]
        fits[group["id"]] = all(
            take["at_least"] <= len(part) <= take["at_most"] and (take["repeats"] or len(set(part)) == len(part))
            for take in called or [group["take"]]
        )
    for together in offer.get("alternatives", []):
        used = {group["id"] for group, part in zip(offer["groups"], parts, strict=True) if part} & set(together)
        if len(used) > 1:
            return False
        fits[together[0]] = all(fits[one] for one in used) if used else any(fits[one] for one in together)
        fits[together[1]] = True
    return all(fits.values())


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
        "packets": request["packets"],
        "max_changes": 0,
    }
    found: str = check_lunch(LunchCheckRequest.model_validate(asked))["verdict"]
    return found


@LAW
@given(requests())
def test_the_audit_of_an_offer_is_the_single_check_of_each_lunch(request: dict[str, Any]) -> None:
    """Nothing is called right that the single check would not pack, and what it asks to read is counted apart."""
    reply = audit_offer(OfferAuditRequest.model_validate(request))
    child = reply["children"][0]
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
    first = {tuple(item) for one in reply["to_read"] for item in one["items"]}
    once = {tuple(item) for one in reply["to_read_once"] for item in one["items"]}
    assert {(one["group"], one["item"]) for one in child["left_out"] if one["kind"] == "check_label"} <= first
    assert bool(first | once) or not child["check_label"]
    for one in child["handling"]:
        assert 0 < one["lunches"] <= child["total"]
        assert one["status"] in ("fix", "unknown")
