"""An offer that cannot go wrong, or what stands in the way: what a family is told, held against the audit."""

import json
from pathlib import Path
from typing import Any

import pytest
from pydantic import ValidationError

from service.domain.errors import LunchError
from service.jobs.offers.audit_offer import audit_offer
from service.jobs.offers.requests import OfferAuditRequest
from service.jobs.plan.designs.design_offer import design_offer
from service.jobs.plan.requests import OfferDesignRequest
from tests.refused import refused

EXAMPLE = Path(__file__).parents[3] / "openapi_examples/design-offer/two-of-each-for-three.request.json"
ROWAN = {"nickname": "Rowan", "age_years": 8, "standard": "us-school-lunch"}


def family(**more: Any) -> dict[str, Any]:
    """The example of three children."""
    return {**json.loads(EXAMPLE.read_text()), **more}


def designed(**more: Any) -> dict[str, Any]:
    return design_offer(OfferDesignRequest.model_validate(family(**more)))


def audited(asked: dict[str, Any], reply: dict[str, Any], as_asked: str = "") -> list[dict[str, Any]]:
    """What an audit says of the offer found, child by child; ``as_asked``: a food whose amount is put back to what was asked for."""
    children = []
    for child in asked["children"]:
        groups = []
        for group, found in zip(asked["groups"], reply["groups"], strict=True):
            sent = {one["food"]: one for one in group["items"]}
            items = []
            for one in found["items"]:
                amount = {each["child"]: each["quantity"] for each in one["portions"]}
                item = {name: value for name, value in sent[one["item"]].items() if name != "quantities"}
                found_amount = amount.get(child["nickname"], one["quantity"])
                items.append({**item, "quantity": item.get("quantity", 1) if one["item"] == as_asked else found_amount})
            groups.append({"id": group["id"], "items": items, **({"take": group["take"]} if "take" in group else {})})
        audit = {name: asked[name] for name in ("on", "holding", "packets")}
        body = {**audit, "offer": {"groups": groups}, "children": [child], "max_changes": 0, "examples": 0}
        children += audit_offer(OfferAuditRequest.model_validate(body))["children"]
    return children


def test_every_lunch_of_what_is_found_is_right_by_an_audit_asked_for_anew() -> None:
    reply = designed()
    assert reply["found"]
    for made, said in zip(audited(family(), reply), reply["children"], strict=True):
        assert made["right_once_read"] == made["total"] == said["total"]


def test_amounts_stay_as_asked_where_these_are_right() -> None:
    """With the amount that was asked for some lunch is not right, or a week keeps its targets less often."""
    asked, reply = family(), designed()
    asked_for = {item["food"]: item.get("quantity", 1) for group in asked["groups"] for item in group["items"]}
    found = [one for group in reply["groups"] for one in group["items"]]
    other = [
        one["item"]
        for one in found
        if {one["quantity"], *(each["quantity"] for each in one["portions"])} != {asked_for[one["item"]]}
    ]
    assert 0 < len(other) < len(found)
    kept = _least_kept(audited(asked, reply))
    for food in other:
        children = audited(asked, reply, as_asked=food)
        assert any(one["right_once_read"] < one["total"] for one in children) or _least_kept(children) < kept, food


def test_what_a_week_seldom_keeps_is_one_note_a_child(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each target has its share of weeks; what would help is said once."""
    monkeypatch.setattr("service.jobs.plan.designs.design_offer.OFTEN_ENOUGH", 0.95)
    groups = [{**group, "choices": 3} for group in family()["groups"]]
    reply = designed(groups=groups)
    seldom = {
        child["nickname"]: [
            (week["label"], round(100 * week["most"])) for week in child["weeks"] if week["most"] < 0.95
        ]
        for child in reply["children"]
    }
    assert max(map(len, seldom.values())) > 1
    for name, missed in seldom.items():
        notes = [note for note in map(str, reply["notes"]) if note.startswith(f"{name}: some targets of the week")]
        assert len(notes) == bool(missed)
        for label, percent in missed:
            assert f"{label} is kept in only {percent} of 100 weeks" in notes[0]
        assert not notes or notes[0].count("would help") == 1


def _least_kept(children: list[dict[str, Any]]) -> float:
    """How often the target of a week that is kept least often is kept."""
    chances = [target["week_mean_chance"] for one in children for target in one["targets"]]
    return min(one["least"] for one in chances if one is not None)


def test_a_food_that_a_child_must_not_have_is_not_for_it() -> None:
    children = [ROWAN, {**ROWAN, "nickname": "Linden", "avoids": [{"allergen": "milk"}]}]
    reply = designed(children=children)
    for group in reply["groups"]:
        for one in group["items"]:
            assert one["name"] != "1 % milk" or one["not_for"] == ["Linden"]


def test_the_rule_in_the_way_is_named_with_what_each_group_adds_and_what_would_help() -> None:
    groups = [group for group in family()["groups"] if group["id"] not in ("mains", "vegetables")]
    groups.append({"id": "mains", "items": [{"food": "sandwich-sunflower-jam"}], "choices": 1})
    groups.append({"id": "vegetables", "items": [{"food": "cucumber", "form": "thin_slice"}], "choices": 1})
    reply = designed(groups=groups, children=[ROWAN])
    assert not reply["found"]
    (blocked,) = reply["in_the_way"]
    row = next(one for one in blocked["rows"] if one["id"] == "vegetable")
    assert row["wanted"] == 0.75  # 7 CFR 210.10(c): three quarters of a cup, grades K to 5
    assert row["at_best"] == pytest.approx(sum(row["groups"].values()))
    assert row["at_best"] < 0.75
    assert blocked["would_help"]
    assert "at best" in blocked["sentence"]


def test_groups_of_which_nothing_keeps_cold_are_named_with_what_to_do() -> None:
    """Source: USDA, Keeping "Bag" Lunches Safe (usda-bag-lunch-2019): two cold sources, or eaten within two hours."""
    reply = designed(holding={"insulated": True, "cold_sources": 0, "minutes_until_eaten": 270})
    assert not reply["found"]
    for one in reply["in_the_way"]:
        assert one["code"] == "design.not-kept"
        assert "vegetables" in one["params"]["groups"]
        assert "fruit" not in one["params"]["groups"]


def test_groups_in_which_every_food_breaks_a_rule_of_its_own_are_named() -> None:
    """Until it is said how lunches are kept, no food that has to be kept cold is right."""
    reply = designed(holding=None)
    assert not reply["found"]
    for one in reply["in_the_way"]:
        assert one["code"] == "design.single-items"
        assert set(one["params"]["groups"]) <= {"mains", "vegetables"}
        assert f"every food in {' and '.join(one['params']['groups'])} breaks a rule on single foods" in one["sentence"]


def test_a_child_that_may_have_nothing_of_a_group_is_named() -> None:
    groups = family()["groups"]
    groups[-1] = {"id": "drinks", "items": [{"food": "milk-1-percent"}], "choices": 1}
    children = [{**ROWAN, "avoids": [{"allergen": "milk"}]}]
    reply = designed(groups=groups, children=children)
    assert not reply["found"]
    assert any(one["group"] == "drinks" for one in reply["in_the_way"][0]["groups"])


@pytest.mark.parametrize("wish", ["cheapest", "most_variety", "least_to_buy", "least_to_make"])
def test_each_wish_finds_an_offer(wish: str) -> None:
    assert designed(wish=wish, recently=["wrap-bean-cheese"])["found"]


def test_variety_leaves_out_what_was_set_out_lately_where_another_food_does() -> None:
    reply = designed(wish="most_variety", recently=["banana", "banana"])
    fruit = next(group for group in reply["groups"] if group["id"] == "fruit")
    assert "banana" not in [one["item"] for one in fruit["items"]]


def test_more_choices_than_may_be_set_out_are_refused() -> None:
    groups = family()["groups"]
    groups[0]["choices"] = 7
    with pytest.raises(ValidationError, match="is fewer foods than choices or take asks for"):
        designed(groups=groups)


def right_of(offer: dict[str, Any], children: list[dict[str, Any]]) -> list[tuple[int, int]]:
    """Of an offer asked for anew: the lunches that are right, and all, of each child."""
    kept = {name: family()[name] for name in ("on", "holding", "packets")}
    alone = {"max_changes": 0, "examples": 0, "measures": []}
    asked = OfferAuditRequest.model_validate({**kept, **alone, "offer": offer, "children": children})
    return [(one["right_once_read"], one["total"]) for one in audit_offer(asked)["children"]]


def test_rules_and_alternatives_are_kept_to_and_every_lunch_is_right_with_them() -> None:
    rules = [
        {
            "group": "mains",
            "item": item["food"],
            "then_group": "fruit",
            "take": {"at_least": 2, "at_most": 2},
        }
        for item in family()["groups"][0]["items"][:2]
    ]
    reply = designed(rules=rules)
    assert reply["found"]
    assert {one["item"] for one in reply["offer"]["rules"]} == {
        one["item"] for one in reply["groups"][0]["items"] if one["item"] in {rule["item"] for rule in rules}
    }
    assert reply["offer"]["rules"]
    assert all(right == total for right, total in right_of(reply["offer"], family()["children"]))
    assert [one["total"] for one in reply["children"]] == [
        total for _right, total in right_of(reply["offer"], family()["children"])
    ]


def test_of_alternatives_each_may_be_taken_and_every_lunch_is_right() -> None:
    groups = family()["groups"]
    other = {**groups[0], "id": "hot", "items": groups[0]["items"][::-1]}
    reply = designed(groups=[*groups, other], alternatives=[["mains", "hot"]])
    assert reply["found"]
    assert reply["offer"]["alternatives"] == [["mains", "hot"]]
    assert all(right == total for right, total in right_of(reply["offer"], family()["children"]))


def test_a_rule_that_starts_where_an_item_may_be_taken_again_is_refused_by_its_name() -> None:
    groups = family()["groups"]
    groups[0]["take"] = {"at_least": 1, "at_most": 2, "repeats": True}
    item = groups[0]["items"][0]["food"]
    rule = {"group": groups[0]["id"], "item": item, "then_group": "fruit", "take": {}}
    with refused(LunchError, match="(?s)/rules/0.*taken again.*Leave the rule out"):
        designed(groups=groups, rules=[rule])


def test_a_rule_of_a_group_that_is_not_there_is_named_where_it_was_sent() -> None:
    rule = {"group": "soup", "item": "x", "then_group": "fruit", "take": {}}
    with refused(LunchError, match="/rules/0"):
        designed(rules=[rule])
