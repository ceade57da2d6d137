"""An audit against the single check, lunch by lunch; a hand count; and what it says first."""

from itertools import combinations, product
from typing import Any

import pytest

from service.domain.errors import LunchError
from service.jobs.audit_offer import audit_offer
from service.jobs.check_lunch import check_lunch
from service.jobs.offer_requests import OfferAuditRequest
from service.jobs.requests import LunchCheckRequest

LABEL = {
    "name": "seed cracker, from its label",
    "serving": {"name": "pack", "grams": 30},
    "facts": {"energy_kcal": 130, "fat_g": 5, "saturated_fat_g": 0.5, "carbohydrate_g": 18, "protein_g": 3},
    "credits": [{"component": "grain", "grain_group": "A"}],
    "ingredients": "Whole grain wheat, pumpkin seeds, canola oil, salt.",
    "perishable": False,
    "choking_rule": "none",
}

OFFER: dict[str, Any] = {
    "groups": [
        {
            "id": "mains",
            "items": [{"food": "sandwich-cheese"}, {"food": "sandwich-ham"}, {"food": "pasta-tomato-chickpea"}],
        },
        {"id": "fruit", "items": [{"food": "orange"}, {"food": "clementine"}, {"food": "banana"}]},
        {
            "id": "sides",
            "items": [
                {"food": "carrots-baby-raw"},
                {"food": "cucumber"},
                {"food": LABEL, "key": "seed cracker", "unit": "pack"},
            ],
            "take": {"at_least": 1, "at_most": 2},
        },
        {"id": "drinks", "items": [{"food": "milk-1-percent"}, {"food": "water"}]},
    ]
}


def audit(**more: Any) -> dict[str, Any]:
    """An audit of the offer for one child of eight, with what a test changes."""
    child = {"nickname": "Robin", "age_years": 8, "standard": "us-school-lunch", **more.pop("child", {})}
    asked = {"on": "2026-12-01", "offer": OFFER, "children": [child], "examples": 0, "max_changes": 0, **more}
    return audit_offer(OfferAuditRequest.model_validate(asked))


def every_lunch(offer: dict[str, Any]) -> list[list[dict[str, Any]]]:
    """Every lunch of an offer without rules, laid out in the plainest way."""
    ways = []
    for group in offer["groups"]:
        take = group.get("take", {"at_least": 1, "at_most": 1})
        sizes = range(take["at_least"], take["at_most"] + 1)
        ways.append([chosen for size in sizes for chosen in combinations(group["items"], size)])
    return [[item for part in parts for item in part] for parts in product(*ways)]


def single_check(items: list[dict[str, Any]], standard: str, age_years: int) -> dict[str, Any]:
    """One lunch checked on its own, kept cold so that only its contents count."""
    return check_lunch(
        LunchCheckRequest.model_validate(
            {
                "standard": standard,
                "on": "2026-12-01",
                "child": {"age_years": age_years},
                "lunch": {
                    "items": [{k: v for k, v in item.items() if k != "key"} for item in items],
                    "holding": {"insulated": True, "cold_sources": 2},
                },
                "max_changes": 0,
            }
        )
    )


@pytest.mark.parametrize(
    ("standard", "age_years"), [("us-school-lunch", 8), ("gb-sct-school-lunch", 8), ("jp-school-lunch", 8)]
)
def test_an_audit_is_the_single_check_of_every_lunch(standard: str, age_years: int) -> None:
    """Right, wrong, unknown, each target and each item: counted at once and one by one."""
    child = audit(child={"standard": standard, "age_years": age_years})["children"][0]
    replies = [single_check(items, standard, age_years) for items in every_lunch(OFFER)]
    assert child["total"] == len(replies) == 3 * 3 * 6 * 2
    right = wrong = unknown = 0
    for reply in replies:
        counting = [one for one in reply["findings"] if one["counts"]]
        broken = [one for one in counting if one["status"] != "unknown"]
        right += not counting
        wrong += bool(broken)
        unknown += bool(counting) and not broken
    assert (child["right"], child["wrong"], child["unknown"]) == (right, wrong, unknown)
    for target in child["targets"]:
        statuses = [one["status"] for reply in replies for one in reply["findings"] if one["id"] == target["id"]]
        assert target["kept"] == sum(one in ("met", "not_applicable") for one in statuses), target["id"]
        assert target["broken"] == sum(one in ("short", "over") for one in statuses), target["id"]
        assert target["unknown"] == statuses.count("unknown"), target["id"]
    for item in child["items"]:
        with_it = [
            reply
            for items, reply in zip(every_lunch(OFFER), replies, strict=True)
            if any(_is(one, item) for one in items)
        ]
        assert item["lunches_with"] == len(with_it)
        assert item["right_with"] == sum(not any(one["counts"] for one in reply["findings"]) for reply in with_it)


def _is(asked: dict[str, Any], told: dict[str, Any]) -> bool:
    return bool(asked.get("key", asked["food"]) == told["item"])


def test_a_hand_count() -> None:
    """US child care, age 4, one fruit or one vegetable with one milk: fruit and vegetable are both wanted.

    Counted by hand: wanted are 3/4 cup milk, 1 1/2 oz eq meat or alternate, 1/4 cup vegetables, 1/4 cup
    fruit, 1/2 oz eq grain (7 CFR 226.20 as in the standard's file). Groups: a sandwich (grain yes, meat no),
    an egg or none (meat yes or no), an orange or none, half a cup of cooked carrots or none, milk or water.
    Right are only egg + orange + carrots + milk: 1 of 1 x 2 x 2 x 2 x 2 = 16.
    """
    half = {"at_least": 0, "at_most": 1}
    offer = {
        "groups": [
            {"id": "bread", "items": [{"food": "bread-whole-wheat"}]},
            {"id": "egg", "items": [{"food": "egg-hard-boiled", "form": "chopped"}], "take": half},
            {"id": "fruit", "items": [{"food": "orange", "form": "pieces"}], "take": half},
            {"id": "vegetable", "items": [{"food": "carrots-cooked"}], "take": half},
            {"id": "drink", "items": [{"food": "milk-1-percent"}, {"food": "water"}]},
        ]
    }
    child = audit(offer=offer, child={"standard": "us-child-care-lunch", "age_years": 4})["children"][0]
    print(child["sentence"])
    assert (child["total"], child["right"], child["wrong"], child["unknown"]) == (16, 1, 15, 0)


def test_what_a_child_must_avoid_is_left_out_first_with_the_reason() -> None:
    reply = audit(child={"avoids": [{"allergen": "wheat"}]})
    child = reply["children"][0]
    left_out = {row["item"]: row["reasons"] for row in child["left_out"]}
    assert {"sandwich-cheese", "sandwich-ham", "pasta-tomato-chickpea", "seed cracker"} <= set(left_out)
    assert all("wheat" in " ".join(reasons) for reasons in left_out.values())
    assert child["total"] == 0
    assert child["nothing_left_in"] == ["mains"]
    assert "no lunch" in child["sentence"]
    assert {row["item"] for row in reply["to_label_or_move"]} == set(left_out)


def test_a_card_has_no_figures() -> None:
    card = audit()["children"][0]["card"]
    assert "Take one from mains" in card["text"]
    assert not any(letter.isdigit() for letter in card["text"].replace("1 % milk", ""))


def test_changes_are_counted_in_full_and_bring_in_nothing_avoided() -> None:
    """Kiwifruit would mend as well as orange does, but this child avoids it."""
    plain = {
        "groups": [
            {"id": "proteins", "items": [{"food": "chicken-breast-roasted"}, {"food": "egg-hard-boiled"}]},
            {
                "id": "grain",
                "items": [{"food": "rice-brown-cooked", "label_read": [{"allergen": "kiwi", "level": "free"}]}],
            },
            {"id": "fruit", "items": [{"food": "grapes", "quantity": 30, "unit": "g"}]},
            {"id": "vegetables", "items": [{"food": "broccoli-cooked", "quantity": 120, "unit": "g"}]},
            {"id": "drinks", "items": [{"food": "milk-1-percent"}]},
        ]
    }
    child = audit(
        offer=plain,
        max_changes=5,
        swap_foods=["kiwifruit", "orange", "apple"],
        child={"avoids": [{"allergen": "kiwi"}]},
    )["children"][0]
    assert child["total"] == 2
    assert child["changes"], child["changes_note"]
    before = child["right"] / child["total"]
    told = ""
    for change in child["changes"]:
        assert change["right_after"] / change["total_after"] > before
        told += change["sentence"]
    assert "kiwi" not in told
    assert "apple" in told or "orange" in told
    assert "can be reached" in child["changes_note"]


def test_best_and_worst_are_full_checks_in_order() -> None:
    child = audit(examples=3)["children"][0]
    best = [one["check"]["score"] for one in child["best"]]
    worst = [one["check"]["score"] for one in child["worst"]]
    scores = sorted((single_check(items, "us-school-lunch", 8)["score"] for items in every_lunch(OFFER)), reverse=True)
    assert best == scores[:3]
    assert worst == scores[::-1][:3]


def test_an_offer_too_large_to_count_is_refused_with_its_size_and_the_way_out() -> None:
    items = [{"food": "apple", "quantity": 50 + i, "unit": "g", "key": f"a{i}"} for i in range(200)]
    offer = {"groups": [{"id": f"g{i}", "items": items} for i in range(6)]}
    with pytest.raises(LunchError, match="64,000,000,000,000") as told:
        audit(offer=offer)
    assert "estimate" in str(told.value)
    child = audit(offer=offer, estimate={"lunches": 2000, "seed": 3})["children"][0]
    assert child["counted"] is False
    assert child["right"] is None
    assert child["estimate"]["low"] <= child["estimate"]["right_share"] <= child["estimate"]["high"]
    assert "estimate" in child["estimate"]["note"].lower()


def test_faults_name_the_place() -> None:
    doubled = {"groups": [{"id": "fruit", "items": [{"food": "orange"}, {"food": "orange"}]}]}
    with pytest.raises(LunchError, match="/offer/groups/0/items/1/key"):
        audit(offer=doubled)
    with pytest.raises(LunchError, match="/offer/groups/0/items/0/food"):
        audit(offer={"groups": [{"id": "fruit", "items": [{"food": "oragne"}]}]})
    with pytest.raises(LunchError, match="/children/0/standard"):
        audit(child={"standard": "us-lunch"})
