"""One item, a size per child: what an audit says where children get other amounts of the same item."""

from copy import deepcopy
from typing import Any

import pytest

from service.domain.errors import LunchError
from service.jobs.offers.audit_offer import audit_offer
from service.jobs.offers.edits import ChangeToMake, make_changes
from service.jobs.offers.requests import OfferAuditRequest, OfferIn
from service.jobs.plan.portion_needs import portion_needs
from service.jobs.plan.requests import PortionNeedsRequest
from service.reference.fault_words import fault_sentence
from tests.refused import refused

CHILDREN = [
    {"nickname": "Wren", "age_years": 6, "standard": "us-school-lunch"},
    {"nickname": "Robin", "age_years": 15, "standard": "us-school-lunch"},
    {"nickname": "Jay", "age_years": 15, "standard": "us-school-lunch"},
]
OFFER: dict[str, Any] = {
    "groups": [
        {"id": "mains", "items": [{"food": "wrap-bean-cheese"}, {"food": "sandwich-cheese"}]},
        {"id": "vegetables", "items": [{"food": "carrots-baby-raw", "quantity": 8}, {"food": "cucumber"}]},
        {"id": "fruit", "items": [{"food": "apple"}, {"food": "grapes", "form": "quartered_length"}]},
        {"id": "drinks", "items": [{"food": "milk-1-percent"}]},
    ]
}


def offer(*portions: tuple[int, int, str, float]) -> dict[str, Any]:
    """The offer with amounts of single children: place of the group and of the item, nickname, quantity."""
    made = deepcopy(OFFER)
    for group, item, child, quantity in portions:
        made["groups"][group]["items"][item].setdefault("portions", []).append({"child": child, "quantity": quantity})
    return made


def asked(offered: dict[str, Any], *children: dict[str, Any]) -> OfferAuditRequest:
    return OfferAuditRequest.model_validate(
        {
            "on": "2026-12-01",
            "offer": offered,
            "children": list(children) or CHILDREN,
            "holding": {"insulated": True, "cold_sources": 2},
            "examples": 1,
            "max_changes": 2,
        }
    )


def test_an_amount_of_its_own_counts_for_its_child_and_for_nobody_else() -> None:
    before = audit_offer(asked(OFFER))["children"]
    after = audit_offer(asked(offer((0, 0, "Robin", 2), (0, 1, "Robin", 2))))["children"]
    assert after[0] == before[0]
    assert after[2] == before[2]
    assert after[1]["measures"]["energy_kcal"]["smallest"] > before[1]["measures"]["energy_kcal"]["smallest"]


def test_the_same_amounts_are_counted_once_wherever_they_stand(monkeypatch: pytest.MonkeyPatch) -> None:
    from service.jobs.offers import audit_offer as module

    counted = []
    judge = module.judge_offer
    monkeypatch.setattr(module, "judge_offer", lambda *args: counted.append(args) or judge(*args))
    audit_offer(asked(offer((0, 0, "Robin", 2), (0, 0, "Jay", 2), (2, 1, "Jay", 1.5), (2, 1, "Robin", 1.5))))
    assert len(counted) == 2


def test_a_child_without_a_nickname_goes_by_its_place() -> None:
    nameless = {name: value for name, value in CHILDREN[1].items() if name != "nickname"}
    by_name = audit_offer(asked(offer((0, 0, "Robin", 2)), CHILDREN[0], CHILDREN[1]))["children"][1]
    by_place = audit_offer(asked(offer((0, 0, "child 2", 2)), CHILDREN[0], nameless))["children"][1]
    assert by_place["measures"] == by_name["measures"]


@pytest.mark.parametrize(
    ("portions", "pointer", "problem"),
    [
        ([(0, 1, "Robin", 2), (0, 1, "Robin", 1)], "/offer/groups/0/items/1/portions/1/child", "second amount"),
        (
            [(1, 0, "Wren", 4), (1, 0, "Linden", 4)],
            "/offer/groups/1/items/0/portions/1/child",
            "is not a child of this request",
        ),
        ([(1, 0, "Wren", 9_999)], "/offer/groups/1/items/0/portions/0/quantity", "kg"),
        ([(1, 0, "Wren", 0.0001)], "/offer/groups/1/items/0/portions/0/quantity", "above zero"),
    ],
)
def test_an_amount_that_cannot_be_is_refused_with_its_place(
    portions: list[tuple[int, int, str, float]], pointer: str, problem: str
) -> None:
    with refused(LunchError, problem) as told:
        audit_offer(asked(offer(*portions)))
    assert told.value.pointer == pointer
    assert "Linden" not in fault_sentence(told.value)


def test_an_amount_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match=r"portions.0.quantity"):
        asked(offer((0, 0, "Wren", 0)))


def test_a_change_of_portion_is_made_for_the_child_that_has_an_amount_of_its_own() -> None:
    offered = OfferIn.model_validate(offer((0, 0, "Robin", 2)))
    for group in offered.groups:
        for item in group.items:
            item.key = str(item.food)
    change = ChangeToMake(kind="portion", group="mains", item="wrap-bean-cheese", quantity=1.5, unit="wrap")
    for child, usual, own in (("Robin", 1.0, 1.5), ("Wren", 1.5, 2.0)):
        item = make_changes(offered, [change], child).groups[0].items[0]
        assert (item.quantity, [one.quantity for one in item.portions]) == (usual, [own])


def test_so_many_portions_are_enough_of_the_largest_amount_that_a_child_gets() -> None:
    body = {"days": ["2026-12-01"], "offer": offer((0, 0, "Robin", 2), (2, 0, "Wren", 0.5)), "children": CHILDREN}
    reply = portion_needs(PortionNeedsRequest.model_validate(body))
    plain = portion_needs(PortionNeedsRequest.model_validate({**body, "offer": OFFER}))
    grams = [
        {one["item"]: one["grams"] for group in each["groups"] for one in group["items"]} for each in (reply, plain)
    ]
    assert grams[0]["wrap-bean-cheese"] == 2 * grams[1]["wrap-bean-cheese"]
    assert grams[0]["apple"] == grams[1]["apple"]  # Robin and Jay still take a whole one


def test_a_card_says_an_amount_of_its_own() -> None:
    cards = [one["card"]["text"] for one in audit_offer(asked(offer((0, 0, "Robin", 2))))["children"]]
    assert "bean and cheese wrap: 2 wrap" in cards[1]
    assert "bean and cheese wrap:" not in cards[0]
