"""An audit against the single check, lunch by lunch; a hand count; and what it says first."""

import json
from itertools import combinations, product
from pathlib import Path
from typing import Any

import pytest

from service.domain.errors import LunchError
from service.jobs.lunch.check_lunch import check_lunch
from service.jobs.offers.audit_offer import audit_offer
from service.jobs.offers.requests import OfferAuditRequest
from service.jobs.requests.lunches import LunchCheckRequest
from service.reference.fault_words import fault_sentence
from tests.refused import refused

ROOT = Path(__file__).resolve().parents[3]

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

KEPT = {"insulated": True, "cold_sources": 2}
"""Kept cold, so that only what is in a lunch counts."""


def audit(**more: Any) -> dict[str, Any]:
    """An audit of the offer for one child of eight, with what a test changes."""
    child = {"nickname": "Robin", "age_years": 8, "standard": "us-school-lunch", **more.pop("child", {})}
    asked = {
        "on": "2026-12-01",
        "offer": OFFER,
        "children": [child],
        "examples": 0,
        "max_changes": 0,
        "holding": KEPT,
        **more,
    }
    return audit_offer(OfferAuditRequest.model_validate(asked))


def test_what_is_said_first_is_what_most_lunches_break_of_how_they_are_kept_too() -> None:
    """Source: USDA, Keeping "Bag" Lunches Safe (usda-bag-lunch-2019): two cold sources, or eaten within two hours."""
    warm = audit(holding={"insulated": True, "cold_sources": 0, "minutes_until_eaten": 270})["children"][0]
    (badly,) = [one for one in warm["handling"] if one["status"] == "fix"]
    assert badly["lunches"] >= max(one["lunches"] for one in warm["causes"])
    assert badly["sentence"] in warm["sentence"]
    assert "most often" not in warm["sentence"]
    assert "most often" in audit()["children"][0]["sentence"]


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
                    "holding": KEPT,
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
        assert target["kept"] == statuses.count("met"), target["id"]
        assert target["not_applicable"] == statuses.count("not_applicable"), target["id"]
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


SWEET: dict[str, Any] = {
    "groups": [
        {"id": "mains", "items": [{"food": "sandwich-turkey-cheese", "quantity": 0.5, "unit": "sandwich"}]},
        {"id": "vegetables", "items": [{"food": "carrots-baby-raw", "quantity": 100, "unit": "g"}]},
        {"id": "fruit", "items": [{"food": "apple"}]},
        {
            "id": "extras",
            "items": [
                {"food": "yogurt-fruit-low-fat"},
                {"food": "brownie", "quantity": 90, "unit": "g"},
                {"food": "brownie", "quantity": 100, "unit": "g", "key": "larger"},
            ],
        },
        {"id": "drinks", "items": [{"food": "milk-whole"}, {"food": "milk-1-percent"}]},
    ]
}
"""With a yogurt, and with something sweet that makes up the energy."""


@pytest.mark.parametrize(("standard", "age_years"), [("us-school-lunch", 8), ("us-child-care-lunch", 4)])
def test_products_over_their_limits_and_energy_from_sweets_are_causes(standard: str, age_years: int) -> None:
    """Each counted as the single checks find it; source of the yogurt's limit: 7 CFR 210.10 (c)(2)(iv)(B), 12 g in 6 oz."""
    asked = {"offer": SWEET, "child": {"standard": standard, "age_years": age_years}}
    child = audit(**asked)["children"][0]
    replies = [single_check(items, standard, age_years) for items in every_lunch(SWEET)]
    found = [one for reply in replies for one in reply["findings"] if one["kind"] == "product_rule"]
    off = [one["sentence"] for one in found if one["status"] in ("over", "unknown")]
    assert {one["sentence"]: one["lunches"] for one in child["products"]} == {one: off.count(one) for one in off}
    assert any("fruit yogurt" in one and "of 12 g" in one for one in off)
    assert child["products"][0]["items"] == [["extras", "yogurt-fruit-low-fat"]]
    only = sum(one["status"] == "short" for one in found)
    assert [one["lunches"] for one in child["causes"] if one["without_sweets"]] == [only] * bool(only)
    assert bool(only) == (standard == "us-school-lunch"), "the child-care pattern asks for no energy"


def test_a_product_over_its_limit_is_said_first_where_it_is_in_most_lunches() -> None:
    offer = {"groups": [{"id": "extras", "items": [{"food": "yogurt-fruit-low-fat"}]}, *OFFER["groups"]]}
    child = audit(offer=offer)["children"][0]
    assert child["products"][0]["lunches"] == child["total"]
    assert child["products"][0]["sentence"] in child["sentence"]


@pytest.mark.parametrize("standard", ["us-school-lunch", "jp-school-lunch", "gb-sct-school-lunch"])
def test_a_share_of_energy_does_not_apply_to_a_lunch_without_energy(standard: str) -> None:
    """Water alone: a single check finds "not applicable", and so does the audit of that one lunch and of the other."""
    offer = {"groups": [{"id": "drinks", "items": [{"food": "water"}, {"food": "milk-1-percent"}]}]}
    child = audit(offer=offer, child={"standard": standard})["children"][0]
    replies = [single_check(items, standard, 8) for items in every_lunch(offer)]
    seen = 0
    for target in child["targets"]:
        statuses = [one["status"] for reply in replies for one in reply["findings"] if one["id"] == target["id"]]
        assert target["not_applicable"] == statuses.count("not_applicable"), target["id"]
        assert target["kept"] == statuses.count("met"), target["id"]
        seen += target["not_applicable"]
    assert seen == 1 or standard != "us-school-lunch"


def test_what_cannot_be_told_stands_apart_as_in_the_single_check() -> None:
    """A cereal whose label does not give its added sugars may be over the limit of such products, or not."""
    silent = {**LABEL, "product_kind": "breakfast_cereal"}
    offer = {
        "groups": [
            {"id": "mains", "items": [{"food": "chicken-breast-roasted"}, {"food": "sandwich-cheese"}]},
            {"id": "fruit", "items": [{"food": "orange"}, {"food": "grapes", "quantity": 30, "unit": "g"}]},
            {"id": "vegetables", "items": [{"food": "broccoli-cooked", "quantity": 120, "unit": "g"}]},
            {
                "id": "grain",
                "items": [{"food": silent, "key": "cracker", "unit": "pack"}, {"food": "rice-brown-cooked"}],
            },
            {"id": "drinks", "items": [{"food": "milk-1-percent"}, {"food": "water"}]},
        ]
    }
    child = audit(offer=offer)["children"][0]
    found = {"right": 0, "wrong": 0, "unknown": 0}
    for items in every_lunch(offer):
        counting = [one["status"] for one in single_check(items, "us-school-lunch", 8)["findings"] if one["counts"]]
        found["right" if not counting else "unknown" if set(counting) == {"unknown"} else "wrong"] += 1
    assert all(found.values()), found
    assert {name: child[name] for name in found} == found
    assert {"code": "offer.unknown", "params": {"unknown": found["unknown"]}} in child["params"]["parts"]


def _is(asked: dict[str, Any], told: dict[str, Any]) -> bool:
    return bool(asked.get("key", asked["food"]) == told["item"])


HAND_COUNT = """
lunch                        milk  meat/alt  vegetable  fruit  grain  right
bread                        -     -         -          -      yes    no
bread             carrots    -     -         yes        -      yes    no
bread      orange            -     -         -          yes    yes    no
bread      orange carrots    -     -         yes        yes    yes    no
bread egg                    -     yes       -          -      yes    no
bread egg         carrots    -     yes       yes        -      yes    no
bread egg  orange            -     yes       -          yes    yes    no
bread egg  orange carrots    -     yes       yes        yes    yes    no
bread                   milk yes   -         -          -      yes    no
bread           carrots milk yes   -         yes        -      yes    no
bread      orange       milk yes   -         -          yes    yes    no
bread    orange carrots milk yes   -         yes        yes    yes    no
bread egg               milk yes   yes       -          -      yes    no
bread egg       carrots milk yes   yes       yes        -      yes    no
bread egg  orange       milk yes   yes       -          yes    yes    no
bread egg orange carrots milk yes  yes       yes        yes    yes    yes
"""
"""Every lunch of the offer below and what it holds enough of, written down by hand.

Wanted by 7 CFR 226.20(c)(2), ages 3 to 5: 3/4 cup milk, 1 1/2 oz eq meat or alternate (a large egg counts 2), 1/4 cup
vegetables (half a cup of carrots), 1/4 cup fruit (an orange), 1/2 oz eq grain (a slice of bread counts 1).
"""


def test_a_hand_count() -> None:
    """Bread; an egg, an orange, half a cup of cooked carrots, each or none; milk or water: 16 lunches."""
    print(HAND_COUNT)
    rows = [line.split() for line in HAND_COUNT.strip().splitlines()[1:]]
    columns = ("milk", "meat-alternate", "vegetable", "fruit", "grain")
    half = {"at_least": 0, "at_most": 1}
    offer = {
        "groups": [
            {"id": "bread", "items": [{"food": "bread-whole-wheat", "key": "bread"}]},
            {"id": "egg", "items": [{"food": "egg-hard-boiled", "form": "chopped", "key": "egg"}], "take": half},
            {"id": "fruit", "items": [{"food": "orange", "form": "pieces", "key": "orange"}], "take": half},
            {"id": "vegetable", "items": [{"food": "carrots-cooked", "key": "carrots"}], "take": half},
            {"id": "drink", "items": [{"food": "milk-1-percent", "key": "milk"}, {"food": "water", "key": "water"}]},
        ]
    }
    child = audit(offer=offer, child={"standard": "us-child-care-lunch", "age_years": 4})["children"][0]
    print(child["sentence"])
    right = [row for row in rows if row[-1] == "yes"]
    assert child["total"] == len(rows) == 16
    assert (child["right"], child["wrong"], child["unknown"]) == (len(right), len(rows) - len(right), 0)
    targets = {one["id"]: one for one in child["targets"]}
    for place, target in enumerate(columns):
        assert targets[target]["kept"] == sum(row[place - 6] == "yes" for row in rows), target
    for item in child["items"]:
        if item["item"] == "water":
            continue
        with_it = [row for row in rows if item["item"] in row]
        assert item["lunches_with"] == len(with_it), item["item"]
        assert item["right_with"] == sum(row[-1] == "yes" for row in with_it)


RULED: dict[str, Any] = {
    "groups": [*OFFER["groups"], {"id": "soup", "items": [{"food": "soup-tomato"}]}],
    "alternatives": [["sides", "soup"]],
    "rules": [
        {"group": "mains", "item": "sandwich-ham", "then_group": "fruit", "take": {"at_least": 2, "at_most": 2}},
        {"group": "fruit", "item": "banana", "then_group": "drinks", "take": {"at_least": 0, "at_most": 1}},
    ],
}


def every_ruled_lunch() -> list[list[dict[str, Any]]]:
    """Every lunch of ``RULED``, straight from its words: sides or soup; with ham two fruits; with banana a drink or none."""
    mains, fruit, sides, drinks, soup = (group["items"] for group in RULED["groups"])
    found = []
    for main in mains:
        for fruits in combinations(fruit, 2 if main["food"] == "sandwich-ham" else 1):
            least = 0 if any(one["food"] == "banana" for one in fruits) else 1
            for some in [*combinations(sides, 1), *combinations(sides, 2), *combinations(soup, 1)]:
                for size in range(least, 2):
                    found += [[main, *fruits, *some, *drink] for drink in combinations(drinks, size)]
    return found


@pytest.mark.parametrize("standard", ["us-school-lunch", "gb-sct-school-lunch"])
def test_rules_and_alternatives_lunch_by_lunch(standard: str) -> None:
    child = audit(offer=RULED, child={"standard": standard}, examples=5)["children"][0]
    replies = [single_check(items, standard, 8) for items in every_ruled_lunch()]
    assert child["total"] == len(replies)
    assert child["right"] == sum(not any(one["counts"] for one in reply["findings"]) for reply in replies)
    for target in child["targets"]:
        statuses = [one["status"] for reply in replies for one in reply["findings"] if one["id"] == target["id"]]
        assert target["kept"] == statuses.count("met"), target["id"]
        assert target["not_applicable"] == statuses.count("not_applicable"), target["id"]
        assert target["unknown"] == statuses.count("unknown"), target["id"]
    scores = sorted(reply["score"] for reply in replies)
    assert [one["check"]["score"] for one in child["worst"]] == scores[:5]
    assert [one["check"]["score"] for one in child["best"]] == scores[:-6:-1]
    energy = sorted(sum(one["energy_kcal"] or 0.0 for one in reply["items"]) for reply in replies)
    spread = child["measures"]["energy_kcal"]
    assert spread["smallest"] == pytest.approx(energy[0])
    assert spread["largest"] == pytest.approx(energy[-1])
    assert sum(spread["histogram"]["lunches"]) == len(replies)


def test_children_of_one_request_are_as_if_asked_alone() -> None:
    """What children share is laid out once; nobody's answer may hang on who else is asked for."""
    children: list[dict[str, Any]] = [
        {"nickname": "A", "age_years": 8, "standard": "us-school-lunch"},
        {"nickname": "B", "age_years": 8, "standard": "us-school-lunch", "avoids": [{"allergen": "egg"}]},
        {"nickname": "C", "age_years": 8, "standard": "gb-sct-school-lunch"},
        {"nickname": "D", "age_years": 12, "standard": "us-school-lunch"},
        {
            "nickname": "E",
            "age_years": 12,
            "standard": "us-school-lunch",
            "takes": [{"group": "fruit", "take": {"at_least": 0, "at_most": 2}}],
        },
    ]
    asked = {"on": "2026-12-01", "offer": OFFER, "examples": 2, "max_changes": 1}

    def replies(some: list[dict[str, Any]]) -> list[dict[str, Any]]:
        reply = audit_offer(OfferAuditRequest.model_validate({**asked, "children": some}))
        return [dict(child) for child in reply["children"]]

    assert replies(children) == [reply for child in children for reply in replies([child])]


def test_an_estimate_covers_the_truth(monkeypatch: pytest.MonkeyPatch) -> None:
    """A 95 % interval misses one time in twenty: of forty samples at least 33 must hold the exact share.

    P(fewer than 33 of 40 at 95 %) is about 0.001 (binomial); the seeds are fixed.
    """
    exact = audit()["children"][0]["right_share"]
    assert 0.02 < exact < 0.98
    monkeypatch.setattr("service.jobs.offers.audit_offer.most_combinations", lambda: 10)
    held = 0
    for seed in range(40):
        child = audit(estimate={"lunches": 2000, "seed": seed})["children"][0]
        assert child["right"] is None
        held += child["estimate"]["low"] <= exact <= child["estimate"]["high"]
    assert held >= 33


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
    """Kiwifruit would fix as well as orange does, but this child avoids it."""
    plain = {
        "groups": [
            {"id": "proteins", "items": [{"food": "chicken-breast-roasted"}, {"food": "egg-hard-boiled"}]},
            {
                "id": "grain",
                "items": [{"food": "rice-brown-cooked"}],
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
        packets=[
            {
                "food": "rice-brown-cooked",
                "read_on": "2026-11-30",
                "allergens": [{"allergen": "kiwi", "level": "not_named"}],
            }
        ],
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
    with refused(LunchError, match="64,000,000,000,000") as told:
        audit(offer=offer)
    assert "estimate" in fault_sentence(told.value)
    child = audit(offer=offer, estimate={"lunches": 2000, "seed": 3})["children"][0]
    assert child["counted"] is False
    assert child["right"] is None
    assert child["estimate"]["low"] <= child["estimate"]["right_share"] <= child["estimate"]["high"]
    assert "estimate" in child["estimate"]["note"].lower()


def test_all_children_together_are_refused_where_each_alone_would_be_counted(monkeypatch: pytest.MonkeyPatch) -> None:
    child = {"age_years": 8, "standard": "us-school-lunch"}
    total = audit()["children"][0]["total"]
    monkeypatch.setattr("service.jobs.offers.audit_offer.most_combinations", lambda: total)
    assert len(audit(children=[child] * 5)["children"]) == 5
    with refused(LunchError, match="lunches for 6 children"):
        audit(children=[child] * 6)


class GoneError(Exception):
    """The caller went away."""


@pytest.mark.parametrize("most", [0, 3, 10, 25])
def test_an_audit_stops_with_its_caller_at_every_step(most: int) -> None:
    """At the first tick, while a child is made ready, counted, or changes are looked for."""
    child = {"age_years": 8, "standard": "us-school-lunch"}
    called = 0

    def tick() -> None:
        nonlocal called
        called += 1
        if called > most:
            raise GoneError

    asked = {"on": "2026-12-01", "offer": OFFER, "children": [child] * 3, "holding": KEPT}
    with pytest.raises(GoneError):
        audit_offer(OfferAuditRequest.model_validate(asked), tick)
    assert called == most + 1


def test_faults_name_the_place() -> None:
    doubled = {"groups": [{"id": "fruit", "items": [{"food": "orange"}, {"food": "orange"}]}]}
    with refused(LunchError, match="/offer/groups/0/items/1/key"):
        audit(offer=doubled)
    with refused(LunchError, match="/offer/groups/0/items/0/food"):
        audit(offer={"groups": [{"id": "fruit", "items": [{"food": "oragne"}]}]})
    with refused(LunchError, match="/children/0/standard"):
        audit(child={"standard": "us-lunch"})


def test_weeks_are_counted_exactly_when_asked_and_lie_within_the_quick_interval() -> None:
    """The family of the example: where all figures are known the two ends meet; never outside the quick interval."""
    asked = json.loads((ROOT / "openapi_examples/audit-offer/school-morning-of-three.request.json").read_text())
    asked["offer"]["groups"][3]["items"].pop()  # few enough different sums of five days to be counted exactly
    quick, exact = (
        audit_offer(
            OfferAuditRequest.model_validate_json(
                json.dumps({**asked, "max_changes": 0, "examples": 0, "exact_weeks": exactly})
            )
        )
        for exactly in (False, True)
    )
    narrower = 0
    for before, after in zip(quick["children"], exact["children"], strict=True):
        for rough, fine in zip(before["targets"], after["targets"], strict=True):
            told, meant = rough["week_mean_chance"], fine["week_mean_chance"]
            if told is not None:
                assert told["least"] <= meant["least"] <= meant["most"] <= told["most"]
                narrower += meant["least"] == meant["most"] and told["least"] < told["most"]
    assert narrower


def test_faults_of_every_part_are_reported_together() -> None:
    """Both children, the offer, the measures and the foods to swap in: one answer, what children share once."""
    groups = [{**OFFER["groups"][1], "items": [{"food": "orang"}, {"food": "banana"}]}]
    child = {"standard": "us-school-lunch", "age_years": 8}
    with pytest.raises(LunchError) as told:
        audit_offer(
            OfferAuditRequest.model_validate(
                {
                    "on": "2026-12-01",
                    "offer": {"groups": groups},
                    "children": [
                        {**child, "avoids": [{"allergen": "martian"}], "without": [{"group": "fruit", "item": "fig"}]},
                        {**child, "standard": "us-lunch", "takes": [{"group": "mains", "take": {}}]},
                    ],
                    "measures": ["energy"],
                    "swap_foods": ["nowt"],
                }
            )
        )
    assert sorted(fault.pointer for fault in told.value.faults()) == [
        "/children/0/avoids/0/allergen",
        "/children/0/without/0",
        "/children/1/standard",
        "/children/1/takes/0/group",
        "/measures/0",
        "/offer/groups/0/items/0/food",
        "/swap_foods/0",
    ]
