"""Changes to an offer: each is made to the request by hand and the whole offer audited anew, and gives what was told."""

import copy
import json
from itertools import product
from pathlib import Path
from typing import Any

import pytest

from service.jobs.lunch.check_lunch import check_lunch
from service.jobs.offers.audit_offer import audit_offer
from service.jobs.offers.requests import OfferAuditRequest
from service.jobs.requests.lunches import LunchCheckRequest
from service.reference.foods.household_measures import food_amount
from service.reference.messages import catalogue, say
from tests.jobs.making_changes import apply_offer_changes

EXAMPLE = Path(__file__).parents[3] / "openapi_examples/audit-offer/school-morning-of-three.request.json"
FAMILY: dict[str, Any] = json.loads(EXAMPLE.read_text(encoding="utf-8"))

KEPT = {"insulated": True, "cold_sources": 2}
"""Kept cold, so that only what is in a lunch counts."""

PLAIN: dict[str, Any] = {
    "groups": [
        {"id": "proteins", "items": [{"food": "chicken-breast-roasted"}, {"food": "egg-hard-boiled"}]},
        {"id": "grain", "items": [{"food": "rice-brown-cooked"}, {"food": "bread-whole-wheat"}]},
        {"id": "fruit", "items": [{"food": "grapes", "quantity": 30, "unit": "g"}, {"food": "apple"}]},
        {"id": "vegetables", "items": [{"food": "broccoli-cooked", "quantity": 120, "unit": "g"}]},
        {"id": "drinks", "items": [{"food": "milk-1-percent"}, {"food": "water"}]},
    ]
}


def asked(offer: dict[str, Any], child: dict[str, Any], **more: Any) -> dict[str, Any]:
    return {
        "on": "2026-12-01",
        "offer": offer,
        "children": [child],
        "examples": 0,
        "max_changes": 5,
        "holding": KEPT,
        **more,
    }


def audited(request: dict[str, Any]) -> dict[str, Any]:
    child: dict[str, Any] = audit_offer(OfferAuditRequest.model_validate(request))["children"][0]
    return child


def made(offer: dict[str, Any], change: dict[str, Any]) -> None:
    """Make one change to an offer as its sentence says it."""
    groups = {group["id"]: group for group in offer["groups"]}
    group = groups[change["group"]]
    keys = [item.get("key", item["food"]) for item in group["items"]]
    match change["kind"]:
        case "remove":
            gone = keys.index(change["item"])
            del group["items"][gone]
            offer["rules"] = [
                rule
                for rule in offer.get("rules", [])
                if (rule["group"], rule["item"]) != (change["group"], change["item"])
            ]
        case "portion":
            quantity, unit = change["params"]["quantity"], change["params"]["unit"]
            item = group["items"][keys.index(change["item"])]
            item.update(key=change["item"], quantity=quantity, unit=unit)
        case "swap":
            # Under the key of the item that went, so that rules on it hold for the one that came.
            group["items"][keys.index(change["item"])] = {"food": change["food"], "key": change["item"]}
        case "add":
            group["items"].append({"food": change["food"]})
        case "take":
            take = group.setdefault("take", {"at_least": 1, "at_most": 1})
            take["at_least"] += 1
            take["at_most"] = max(take["at_most"], take["at_least"])
        case "with":
            take = dict(group.get("take", {"at_least": 1, "at_most": 1}))
            take["at_least"] += 1
            take["at_most"] = max(take["at_most"], take["at_least"])
            holder = next(
                name
                for name, other in groups.items()
                if name != change["group"] and change["item"] in [i.get("key", i["food"]) for i in other["items"]]
            )
            offer.setdefault("rules", []).append(
                {"group": holder, "item": change["item"], "then_group": change["group"], "take": take}
            )
        case _:
            raise AssertionError(change["kind"])


def after(request: dict[str, Any], changes: list[dict[str, Any]]) -> dict[str, Any]:
    """The request with all of some changes made, and no search for more."""
    changed = copy.deepcopy(request)
    for change in changes:
        made(changed["offer"], change)
    return {**changed, "max_changes": 0}


REQUESTS = {
    "plain": asked(PLAIN, {"age_years": 8, "standard": "us-school-lunch"}),
    "plain, foods named": asked(
        PLAIN, {"age_years": 8, "standard": "us-school-lunch"}, swap_foods=["orange", "milk-skim", "grapes"]
    ),
    "plain, Scotland": asked(PLAIN, {"age_years": 8, "standard": "gb-sct-school-lunch"}),
    **{f"family, {child['nickname']}": asked(FAMILY["offer"], child) for child in FAMILY["children"]},
}


@pytest.mark.parametrize("name", list(REQUESTS))
def test_a_change_made_by_hand_gives_the_count_told(name: str) -> None:
    request = REQUESTS[name]
    child = audited(request)
    assert child["changes"], child["changes_note"]
    for change in child["changes"]:
        found = audited(after(request, change["changes"]))
        assert (found["right"], found["total"]) == (change["right_after"], change["total_after"]), change["sentence"]
        read = found["right_once_read"]
        assert read == change["right_once_read_after"]
        assert read / found["total"] > child["right_once_read"] / child["total"]
        assert change["mended"] == read - child["right_once_read"]
        lost = {"code": "offer-change.lost", "params": {"lost": -change["mended"]}}
        assert (lost in change["params"]["parts"]) == (change["mended"] < 0)


BAR: dict[str, Any] = {
    "name": "bran bar",
    "serving": {"name": "bar", "grams": 30},
    "facts": {"energy_kcal": 110, "fat_g": 2, "saturated_fat_g": 0.5, "sodium_mg": 50},
    "ingredients": "Oats.",
    "choking_rule": "none",
    "credits": [{"component": "grain", "per_serving": 1}],
}
APPLIED = {
    **REQUESTS,
    "the family together": {**asked(FAMILY["offer"], FAMILY["children"][0]), "children": FAMILY["children"]},
    "a takes of its own": asked(
        PLAIN,
        {
            "age_years": 8,
            "standard": "us-school-lunch",
            "takes": [{"group": "fruit", "take": {"at_least": 0, "at_most": 1}}],
            "without": [{"group": "fruit", "item": "apple"}],
        },
    ),
    # Credited once for the lunch: what is reported of a change is a full count here too.
    "foods that stand in two groups": asked(
        {
            "groups": [
                *PLAIN["groups"],
                {
                    "id": "extras",
                    "items": [
                        {"food": "bread-whole-wheat", "quantity": 0.5, "unit": "slice"},
                        {"food": "grapes", "quantity": 30, "unit": "g"},
                        {"food": "egg-hard-boiled", "quantity": 0.5, "unit": "large egg"},
                    ],
                },
            ]
        },
        {"age_years": 8, "standard": "us-school-lunch"},
    ),
    "a label among the foods named": asked(
        {"groups": [*PLAIN["groups"][:1], *PLAIN["groups"][2:]]},
        {"age_years": 8, "standard": "us-school-lunch"},
        swap_foods=[{"food": BAR}, "orange"],
    ),
    "portions of a food that credits in two ways": asked(
        {
            "groups": [
                {"id": "mains", "items": [{"food": "beans-black-cooked", "credit_as": "legume", "quantity": 0.5}]},
                *PLAIN["groups"][1:],
            ]
        },
        {"age_years": 8, "standard": "us-school-lunch"},
        swap_foods=[],
    ),
}


@pytest.mark.parametrize("name", list(APPLIED))
def test_a_change_made_by_a_program_gives_the_count_reported(name: str) -> None:
    request = OfferAuditRequest.model_validate(APPLIED[name])
    for place, child in enumerate(audit_offer(request)["children"]):
        for row in child["changes"]:
            after = apply_offer_changes(request, place, row["changes"]).model_copy(update={"max_changes": 0})
            found = audit_offer(OfferAuditRequest.model_validate(after.model_dump(exclude_unset=True)))["children"][
                place
            ]
            assert (found["right"], found["total"]) == (row["right_after"], row["total_after"]), row["sentence"]
            assert found["right_share"] == row["right_share_after"]
            assert found["right_once_read"] == row["right_once_read_after"]


def test_a_change_leaves_the_request_as_it_was() -> None:
    request = OfferAuditRequest.model_validate(REQUESTS["plain"])
    before = request.model_dump()
    for row in audit_offer(request)["children"][0]["changes"]:
        apply_offer_changes(request, 0, row["changes"])
    assert request.model_dump() == before


def test_every_change_says_its_numbers_in_fields() -> None:
    """What the sentence says in English stands in fields too: the amount, the number to take, the rule."""
    for request in REQUESTS.values():
        for row in audited(request)["changes"]:
            for change in row["changes"]:
                match change["kind"]:
                    case "portion" | "swap" | "add":
                        amount = catalogue().measured(change["quantity"], change["unit"])
                        if change["kind"] != "portion":
                            amount = say(food_amount(change["name"], change["quantity"], change["unit"]))
                        assert amount in change["sentence"]
                        assert change["grams"] > 0
                    case "take":
                        assert f"at least {change['take']['at_least']} " in change["sentence"]
                    case "with":
                        assert f"at least {change['rule']['take']['at_least']} " in change["sentence"]
                        assert change["rule"]["then_group"] == change["group"]


def test_the_requests_bring_up_changes_of_several_kinds() -> None:
    """So that the test above looks at more than one."""
    kinds = {
        change["kind"]
        for request in REQUESTS.values()
        for told in audited(request)["changes"]
        for change in told["changes"]
    }
    assert len(kinds) >= 4, kinds


def test_a_change_recounted_lunch_by_lunch_with_the_single_check() -> None:
    request = REQUESTS["plain"]
    told = next(
        one
        for one in audited(request)["changes"]
        if all(change["kind"] in ("swap", "add", "remove", "portion") for change in one["changes"])
    )
    offer = after(request, told["changes"])["offer"]
    lunches = list(product(*(group["items"] for group in offer["groups"])))
    right = 0
    for items in lunches:
        reply = check_lunch(
            LunchCheckRequest.model_validate(
                {
                    "standard": "us-school-lunch",
                    "on": "2026-12-01",
                    "child": {"age_years": 8},
                    "lunch": {"items": [{k: v for k, v in item.items() if k != "key"} for item in items]},
                    "max_changes": 0,
                }
            )
        )
        right += not any(one["counts"] for one in reply["findings"])
    assert (right, len(lunches)) == (told["right_after"], told["total_after"])


def test_changes_are_ranked_by_what_each_change_mends() -> None:
    child = audited(REQUESTS["family, Rowan"])
    gains = [
        (one["right_after"] / one["total_after"] - child["right"] / child["total"]) / len(one["changes"])
        for one in child["changes"]
    ]
    assert gains == sorted(gains, reverse=True)


FEW = {"fruit": "orange", "drinks": "milk-skim", "vegetables": "peas-green-cooked"}


@pytest.mark.parametrize("standard", ["us-school-lunch", "gb-sct-school-lunch"])
def test_no_single_change_gives_more_than_the_first_reported_gives_for_each_of_its_changes(standard: str) -> None:
    """Every food at hand in place of each item of its kind or beside it, every item removed, one more taken: all audited."""
    request = asked(PLAIN, {"age_years": 8, "standard": standard}, swap_foods=list(FEW.values()))
    child = audited(request)
    first = child["changes"][0]
    best = child["right_share"] + (first["right_share_after"] - child["right_share"]) / len(first["changes"])
    tried = 0
    for group in PLAIN["groups"]:
        here = {"group": group["id"]}
        items = [item["food"] for item in group["items"]]
        singles = [{**here, "kind": "remove", "item": item} for item in items if len(items) > 1]
        singles += [{**here, "kind": "take"}] if len(items) > 1 else []
        if group["id"] in FEW:
            food = {"food": FEW[group["id"]]}
            singles += [{**here, **food, "kind": "add"}]
            singles += [{**here, **food, "kind": "swap", "item": item} for item in items]
        for single in singles:
            tried += 1
            assert audited(after(request, [single]))["right_share"] <= best + 1e-6, single
    assert tried > 15


def test_lunches_that_are_not_kept_cold_hear_that_first_and_of_rules_only_what_no_lunch_keeps() -> None:
    """Source: USDA, Keeping "Bag" Lunches Safe (usda-bag-lunch-2019): two cold sources, or eaten within two hours."""
    warm = {"insulated": True, "cold_sources": 0, "minutes_until_eaten": 270}
    child = {"age_years": 8, "standard": "us-school-lunch"}
    offer = {
        "groups": [
            {"id": "mains", "items": [{"food": "sandwich-ham"}]},
            {"id": "fruit", "items": [{"food": "apple"}]},
            {"id": "vegetables", "items": [{"food": "broccoli-cooked", "quantity": 120, "unit": "g"}]},
            {"id": "drinks", "items": [{"food": "milk-1-percent"}]},
        ]
    }
    stuck = audited({**asked(offer, child, swap_foods=["water"]), "holding": warm})
    assert stuck["changes"] == []
    assert stuck["changes_note_message"] == {"code": "offer-note.not-kept", "params": {}}


def test_what_cannot_be_reached_is_told_and_what_can_is_told() -> None:
    """Without milk no lunch is right by 7 CFR 210.10(c), and water is all that may come in."""
    offer = {
        "groups": [
            {"id": "mains", "items": [{"food": "sandwich-ham"}, {"food": "sandwich-cheese"}]},
            {"id": "fruit", "items": [{"food": "apple"}, {"food": "grapes", "quantity": 30, "unit": "g"}]},
            {"id": "vegetables", "items": [{"food": "broccoli-cooked", "quantity": 120, "unit": "g"}]},
            {"id": "drinks", "items": [{"food": "water"}, {"food": "milk-1-percent"}]},
        ]
    }
    child = {"age_years": 8, "standard": "us-school-lunch"}
    only_water = copy.deepcopy(offer)
    del only_water["groups"][3]["items"][1]
    stuck = audited(asked(only_water, child, swap_foods=["water"]))
    assert stuck["right"] == 0
    assert stuck["changes_note_message"]["code"] == "offer-note.none-helps"
    reached = audited(asked(offer, child, wanted_share=0.5))
    assert max(one["right_share_after"] for one in reached["changes"]) >= 0.5
    assert reached["changes_note_message"] == {"code": "offer-note.in-reach", "params": {"wanted": 50.0}}
    out_of_reach = audited(asked(FAMILY["offer"], FAMILY["children"][1], wanted_share=1.0, swap_foods=["water"]))
    top = max((one["right_share_after"] for one in out_of_reach["changes"]), default=0.0)
    assert top < 1.0
    assert out_of_reach["changes_note_message"]["code"] == "offer-note.not-found"
    assert f"gives {top:.1%}." in out_of_reach["changes_note"]


@pytest.mark.parametrize("most", [1, 3])
def test_what_reaches_the_wanted_share_is_shown_however_few_are_asked_for(most: int) -> None:
    """The best change for its size need not be the one that fixes most: the youngest of the example's family."""
    child = audited({**REQUESTS["family, Juniper"], "max_changes": most, "wanted_share": 0.9})
    assert len(child["changes"]) == most
    assert child["changes_note_message"] == {"code": "offer-note.in-reach", "params": {"wanted": 90.0}}
    assert max(one["right_share_after"] for one in child["changes"]) >= 0.9


@pytest.mark.parametrize("last", ["water", "crackers-whole-wheat"])
def test_milk_named_comes_in_for_another_drink_and_where_there_is_no_drink(last: str) -> None:
    """All that the lunch lacks by 7 CFR 210.10(c) is milk. It is of a drink's kind; of no kind on offer it may go anywhere."""
    offer = {
        "groups": [
            {"id": "mains", "items": [{"food": "sandwich-ham"}]},
            {"id": "fruit", "items": [{"food": "orange"}]},
            {"id": "vegetables", "items": [{"food": "broccoli-cooked", "quantity": 120, "unit": "g"}]},
            {"id": "last", "items": [{"food": last}]},
        ]
    }
    child = audited(asked(offer, {"age_years": 8, "standard": "us-school-lunch"}, swap_foods=["milk-1-percent"]))
    assert child["right"] == 0
    (change,) = child["changes"][0]["changes"]
    assert (change["kind"], change["group"], change["food"]) == ("swap", "last", "milk-1-percent")
    assert child["changes"][0]["right_after"] == child["changes"][0]["total_after"] == 1


def test_no_change_brings_in_what_is_avoided() -> None:
    """Without the allergy milk is what fixes; with it, no food that contains or may contain milk comes in."""
    offer = {
        "groups": [
            {"id": "proteins", "items": [{"food": "chicken-breast-roasted"}, {"food": "egg-hard-boiled"}]},
            {"id": "grain", "items": [{"food": "rice-brown-cooked"}]},
            {"id": "fruit", "items": [{"food": "apple"}, {"food": "grapes", "quantity": 30, "unit": "g"}]},
            {"id": "vegetables", "items": [{"food": "broccoli-cooked", "quantity": 120, "unit": "g"}]},
            {"id": "drinks", "items": [{"food": "water"}]},
        ]
    }
    child = {"age_years": 8, "standard": "us-school-lunch"}
    hand = ["milk-1-percent", "yogurt-plain-low-fat", "cheese-cheddar", "orange"]
    free = audited(asked(offer, child, swap_foods=hand))
    assert any(one["food"] == "milk-1-percent" for told in free["changes"] for one in told["changes"])
    for avoided in ({"avoids": [{"allergen": "milk"}]}, {}):
        setting = {} if avoided else {"setting": {"bans": ["milk"]}}
        found = audited(asked(offer, {**child, **avoided}, swap_foods=hand, **setting))
        brought = {one["food"] for told in found["changes"] for one in told["changes"]}
        assert not brought & {"milk-1-percent", "yogurt-plain-low-fat", "cheese-cheddar"}
    everything = audited(asked(offer, {**child, "avoids": [{"allergen": "milk"}]}))
    for told in everything["changes"]:
        for one in told["changes"]:
            if one["kind"] not in ("swap", "add"):
                continue
            screened = check_lunch(
                LunchCheckRequest.model_validate(
                    {
                        "standard": "us-school-lunch",
                        "on": "2026-12-01",
                        "child": {"age_years": 8, "avoids": [{"allergen": "milk"}]},
                        "lunch": {"items": [{"food": one["food"]}]},
                        "max_changes": 0,
                    }
                )
            )["allergens"]
            assert all(row["outcome"] == "not_declared" for row in screened)
