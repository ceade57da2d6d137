"""What an offer says for one child apart from the others: forms, rules that cannot be kept, emptied groups, packets to read."""

from typing import Any

from service.domain.errors import LunchError
from service.jobs.lunch.check_lunch import check_lunch
from service.jobs.offers.audit_offer import audit_offer
from service.jobs.offers.cards import cards_page
from service.jobs.offers.requests import OfferAuditRequest
from service.jobs.requests.lunches import LunchCheckRequest
from service.reference.foods.recipes import recipe_parts
from tests.refused import refused

GRAPES = {
    "groups": [
        {"id": "fruit", "items": [{"food": "grapes", "form": "whole"}]},
        {"id": "drinks", "items": [{"food": "milk-1-percent"}]},
    ]
}
YOUNG = {"nickname": "Wren", "age_years": 3, "standard": "us-child-care-lunch"}
OLDER = {"nickname": "Robin", "age_years": 8, "standard": "us-school-lunch"}


def audit(offer: dict[str, Any], *children: dict[str, Any], **more: Any) -> dict[str, Any]:
    asked = {
        "on": "2026-12-01",
        "offer": offer,
        "children": list(children),
        "holding": {"insulated": True, "cold_sources": 2},
        "examples": 0,
        "max_changes": 0,
        **more,
    }
    return audit_offer(OfferAuditRequest.model_validate(asked))


def test_whole_grapes_are_cut_for_the_youngest_and_stay_whole_for_the_others() -> None:
    """USDA's choking guidance (fns.usda.gov, ages under 4): grapes cut lengthwise into quarters, not whole."""
    young, older = audit(GRAPES, YOUNG, OLDER)["children"]
    assert young["left_out"] == []
    (cut,) = young["cut_for"]
    assert (cut["group"], cut["item"], cut["form"]) == ("fruit", "grapes", "quartered_length")
    assert "Wren" in cut["sentence"]
    assert "quarters" in young["card"]["text"]
    assert older["cut_for"] == []
    assert "quarters" not in older["card"]["text"]
    for form, verdict in (("whole", True), ("quartered_length", False)):
        check = check_lunch(
            LunchCheckRequest.model_validate(
                {
                    "standard": "us-child-care-lunch",
                    "on": "2026-12-01",
                    "child": {"age_years": 3},
                    "lunch": {"items": [{"food": "grapes", "form": form}]},
                    "max_changes": 0,
                }
            )
        )
        assert (check["verdict"] == "do_not_pack") is verdict


def test_the_card_of_a_young_child_says_the_form_that_its_lunch_rests_on() -> None:
    """A form that nobody gave is the food's usual one: whoever packs for a child of three must be told it."""
    offer = {"groups": [{"id": "fruit", "items": [{"food": "grapes"}]}]}
    young, older = audit(offer, YOUNG, {**OLDER, "age_years": 12})["children"]
    assert "quarters" in young["card"]["text"]
    assert "quarters" not in older["card"]["text"]


def test_what_no_form_makes_fit_is_still_left_out() -> None:
    """Popcorn is named by the same guidance for children under 4, in no form."""
    offer = {"groups": [{"id": "snacks", "items": [{"food": "popcorn-air-popped"}, {"food": "banana"}]}]}
    young = audit(offer, YOUNG)["children"][0]
    assert [one["item"] for one in young["left_out"]] == ["popcorn-air-popped"]
    assert young["cut_for"] == []


RULED: dict[str, Any] = {
    "groups": [
        {"id": "mains", "items": [{"food": "egg-hard-boiled"}, {"food": "rice-brown-cooked", "key": "rice"}]},
        {"id": "fruit", "items": [{"food": "banana"}, {"food": "orange"}]},
        {"id": "extras", "items": [{"food": "cheese-cheddar"}], "take": {"at_least": 0, "at_most": 1}},
    ],
    "rules": [
        {"group": "mains", "item": "egg-hard-boiled", "then_group": "fruit", "take": {"at_least": 2, "at_most": 2}}
    ],
}


def ruled(**child: Any) -> dict[str, Any]:
    found: dict[str, Any] = audit(RULED, {**OLDER, **child})["children"][0]
    return found


def test_a_rule_that_cannot_be_kept_is_said_in_the_answer_and_on_the_card() -> None:
    kept, not_kept = ruled(), ruled(without=[{"group": "fruit", "item": "banana"}])
    assert kept["rules_not_kept"] == []
    assert "take two from fruit" in kept["card"]["text"]
    (row,) = not_kept["rules_not_kept"]
    assert (row["item"], row["then_group"], row["take"]["at_least"]) == ("egg-hard-boiled", "fruit", 2)
    card = not_kept["card"]
    assert [message["code"] for message in card["rule_messages"]] == ["card.leave"]
    assert "take two from fruit" not in card["text"]
    mains = next(line for line in card["lines"] if "mains" in line["take"])
    assert len(mains["items"][0]) == 1  # the egg is in no lunch, so it is not on the card
    assert not_kept["total"] == 2  # rice and orange, with cheese or without


def test_two_rules_that_contradict_each_other_are_said_in_the_answer_and_on_the_card() -> None:
    """With egg two fruits, with cheese one: egg and cheese are never taken together."""
    with_cheese = {
        "group": "extras",
        "item": "cheese-cheddar",
        "then_group": "fruit",
        "take": {"at_least": 1, "at_most": 1},
    }
    child = audit({**RULED, "rules": [*RULED["rules"], with_cheese]}, OLDER)["children"][0]
    assert child["total"] == 5  # egg and both fruits; rice and a fruit, with cheese or without (by hand)
    (row,) = child["rules_not_kept"]
    assert (row["item"], row["not_with"]) == ("egg-hard-boiled", ["extras", "cheese-cheddar"])
    assert "no lunch holds both" in row["sentence"]
    assert "card.not-together" in [message["code"] for message in child["card"]["rule_messages"]]


def test_an_emptied_group_is_said_in_the_answer_and_on_the_card() -> None:
    child = ruled(avoids=[{"allergen": "milk"}])
    assert child["total"] > 0
    assert child["nothing_left_in"] == ["extras"]
    assert {"code": "card.nothing-in", "params": {"group": "extras"}} in child["card"]["rule_messages"]
    assert "extras" in child["card"]["text"]


def test_a_child_without_a_lunch_gets_no_card() -> None:
    both = [{"group": "fruit", "item": "banana"}, {"group": "fruit", "item": "orange"}]
    child = ruled(without=both)
    assert child["total"] == 0
    assert child["card"] is None
    assert child["nothing_left_in"] == ["fruit"]
    assert cards_page([child["card"]]).count("<section>") == 0


def test_a_packet_to_read_says_how_many_lunches_hang_on_it() -> None:
    """Graham crackers of which peanut is not known are taken out; with them 2 x 1 x 2 lunches more could be taken."""
    offer = {
        "groups": [
            {"id": "grain", "items": [{"food": "crackers-graham"}, {"food": "rice-brown-cooked"}]},
            {"id": "fruit", "items": [{"food": "banana"}, {"food": "orange"}]},
            {"id": "drinks", "items": [{"food": "water"}], "take": {"at_least": 0, "at_most": 1}},
        ]
    }
    children = [{**OLDER, "nickname": name, "avoids": [{"allergen": "peanut"}]} for name in ("A", "B")]
    reply = audit(offer, *children)
    rows = {one["food"]: one for one in reply["to_read"]}
    crackers = rows["crackers-graham"]
    assert crackers["children"] == ["A", "B"]
    assert crackers["lunches"] == 2 * (2 * 2)
    assert "8 lunches for 2 children" in crackers["sentence"]
    for child in reply["children"]:
        out = {one["item"]: one["kind"] for one in child["left_out"]}
        assert out["crackers-graham"] == "check_label"


def test_foods_that_stay_are_read_once_and_a_dish_is_settled_by_its_ingredients() -> None:
    """Peanut is not usual in bread or cheese: the sandwich stays, and its bread is read once for both places it is in."""
    offer = {
        "groups": [
            {"id": "mains", "items": [{"food": "sandwich-cheese"}, {"food": "egg-hard-boiled"}]},
            {"id": "grain", "items": [{"food": "bread-whole-wheat"}, {"food": "rice-brown-cooked"}]},
        ]
    }
    child = {**OLDER, "avoids": [{"allergen": "peanut"}]}
    reply = audit(offer, child)
    assert reply["to_read"] == []
    rows = {one["food"]: one for one in reply["to_read_once"]}
    parts = {part for part, _mg in recipe_parts()["sandwich-cheese"]}
    assert set(rows) <= parts | {"bread-whole-wheat"}
    assert rows["bread-whole-wheat"]["items"] == [["mains", "sandwich-cheese"], ["grain", "bread-whole-wheat"]]
    assert rows["bread-whole-wheat"]["lunches"] == 3  # 2 with the sandwich, and the egg with bread
    read = [
        {"food": food, "read_on": "2026-11-30", "allergens": [{"allergen": "peanut", "level": "not_named"}]}
        for food in rows
    ]
    settled = audit(offer, child, packets=read)
    assert settled["to_read_once"] == []
    assert reply["children"][0]["check_label"] == 3
    assert settled["children"][0]["check_label"] == 0


def test_a_ban_and_an_avoidance_at_the_same_threshold_are_treated_alike() -> None:
    """Graham crackers of which peanut is not known: to be read first for either, struck for neither."""
    offer = {"groups": [{"id": "grain", "items": [{"food": "crackers-graham"}, {"food": "banana"}]}]}
    avoided = {**OLDER, "avoids": [{"allergen": "peanut", "threshold": "contains"}]}
    by_child = audit(offer, avoided)["children"][0]
    by_setting = audit(offer, OLDER, setting={"bans": ["peanut"], "ban_threshold": "contains"})["children"][0]
    kinds = [[(one["item"], one["kind"]) for one in child["left_out"]] for child in (by_child, by_setting)]
    assert kinds[0] == kinds[1] == [("crackers-graham", "check_label")]


def test_a_group_taken_twice_is_refused() -> None:
    """Which of the two numbers is meant is not known."""
    takes = [{"group": "fruit", "take": {"at_least": number, "at_most": number}} for number in (1, 2)]
    with refused(LunchError, match="/children/0/takes/1/group: 'fruit' appears twice"):
        ruled(takes=takes)


def test_children_of_one_family_are_told_what_each_would_be_told_alone() -> None:
    """Lunches of children of one age group are counted once for both, unless something tells the children apart."""
    foods = (
        "sandwich-cheese",
        "sandwich-ham",
        "hummus",
        "peanut-butter-crunchy",
        "apple",
        "milk-1-percent",
        "carrots-baby-raw",
    )
    offer = {
        "groups": [
            {"id": "mains", "items": [{"food": food} for food in foods[:4]]},
            {"id": "sides", "items": [{"food": food} for food in foods[4:]], "take": {"at_least": 1, "at_most": 2}},
        ]
    }
    family = (
        OLDER,
        {**OLDER, "nickname": "Jay", "age_years": 9},
        {**OLDER, "nickname": "Finch", "avoids": [{"allergen": "peanut"}]},
        {**OLDER, "nickname": "Lark", "avoids": [{"allergen": "milk"}]},
        {**OLDER, "nickname": "Dove", "takes": [{"group": "sides", "take": {"at_least": 1, "at_most": 1}}]},
        {**OLDER, "nickname": "Swift", "age_years": 13},
    )
    packets = [{"food": "hummus", "read_on": "2026-12-01", "allergens": [{"allergen": "milk", "level": "not_named"}]}]
    together = audit(offer, *family, packets=packets, examples=2)["children"]
    assert together == [audit(offer, one, packets=packets, examples=2)["children"][0] for one in family]
    assert len({(one["total"], one["right"], one["check_label"]) for one in together}) > 2
