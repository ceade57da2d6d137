"""How many portions of an offer are enough: what a family is told."""

from typing import Any

import pytest
from pydantic import ValidationError

from service.domain.errors import LunchError
from service.jobs.plan.portion_needs import portion_needs
from service.jobs.plan.requests import PortionNeedsRequest
from tests.refused import refused

DAYS = ["2026-11-30", "2026-12-01", "2026-12-02", "2026-12-03", "2026-12-04"]
FAMILY = [
    {"nickname": "Rowan", "age_years": 8, "standard": "us-school-lunch"},
    {"nickname": "Linden", "age_years": 12, "standard": "us-school-lunch", "avoids": [{"allergen": "milk"}]},
]


def asked(**more: Any) -> PortionNeedsRequest:
    """Two children and a week of two drinks, of which the second must not have the first."""
    offer = {"groups": [{"id": "drinks", "items": [{"food": "milk-1-percent"}, {"food": "water"}]}]}
    return PortionNeedsRequest.model_validate({"offer": offer, "children": FAMILY, "days": DAYS, **more})


def portions(reply: dict[str, Any], which: str = "always") -> dict[str, int]:
    """The portions of each item of all groups."""
    return {one["item"]: one[which] for group in reply["groups"] for one in group["items"]}


def test_water_for_both_is_needed_since_the_first_child_may_take_it_too() -> None:
    """By hand: Linden drinks 5 times; Rowan may take water each day, so 10 of water, and milk is not needed."""
    reply = portion_needs(asked(of_each=0))
    assert portions(reply) == {"milk-1-percent": 0, "water": 10}
    group = reply["groups"][0]
    assert group["always"] == {"portions": 10, "cost_minor": None, "proven": True}
    assert group["exact"]
    assert [one["may_take"] for one in group["items"]] == [["Rowan"], ["Rowan", "Linden"]]


def test_who_buys_on_a_day_takes_nothing_then() -> None:
    """By hand: Rowan is there on the first two mornings only; Linden's last is the fifth: 5 + 2."""
    reply = portion_needs(asked(of_each=0, not_there=[{"child": 0, "days": DAYS[2:]}]))
    assert portions(reply) == {"milk-1-percent": 0, "water": 7}


def test_the_cheapest_where_everything_has_a_price_and_water_is_free() -> None:
    prices = [
        {"food": "milk-1-percent", "amount_minor": 120, "currency": "USD", "pack_grams": 1000, "from": "2026-01-01"},
        {"food": "water", "amount_minor": 0, "currency": "USD", "pack_grams": 1000, "from": "2026-01-01"},
    ]
    reply = portion_needs(asked(prices=prices, of_each=1))
    assert reply["cheapest"]
    assert portions(reply) == {"milk-1-percent": 1, "water": 10}
    assert reply["groups"][0]["always"]["cost_minor"] == 29  # 244 g of 1,000 g at 1.20
    assert reply["groups"][0]["costs"] == (
        "Portions that are always enough cost 0.29 USD; portions that are usually enough cost 0.29 USD."
    )


def test_a_food_without_a_price_is_named_and_the_fewest_are_given() -> None:
    prices = [
        {"food": "milk-1-percent", "amount_minor": 120, "currency": "USD", "pack_grams": 1000, "from": "2026-01-01"}
    ]
    offer = {"groups": [{"id": "sides", "items": [{"food": "milk-1-percent"}, {"food": "apple"}]}]}
    reply = portion_needs(asked(prices=prices, offer=offer))
    assert not reply["cheapest"]
    assert reply["unpriced"] == ["apple"]
    assert "no price for apple" in " ".join(reply["notes"])


def test_a_child_that_may_take_nothing_is_named() -> None:
    offer = {"groups": [{"id": "drinks", "items": [{"food": "milk-1-percent"}]}]}
    group = portion_needs(asked(offer=offer))["groups"][0]
    assert group["nothing_for"] == ["Linden"]
    assert group["usual"] is None
    assert "Add a food that they may take" in group["sentence"]


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"not_there": [{"child": 2, "days": DAYS[:1]}]}, "no_such_child"),
        ({"not_there": [{"child": 0, "days": ["2026-12-05"]}]}, "not_there_unknown"),
        ({"days": [DAYS[0], DAYS[0]]}, "appears twice"),
        ({"liked": [{"child": 2, "group": "drinks", "item": "water", "times": 2}]}, "no_such_child"),
    ],
)
def test_a_child_or_day_that_is_not_there_is_refused(more: dict[str, Any], words: str) -> None:
    with pytest.raises(ValidationError, match=words):
        asked(**more)


def test_an_item_that_is_not_offered_is_refused_with_all_others() -> None:
    more = {
        "at_least": [{"group": "drinks", "item": "juice", "portions": 2}],
        "liked": [{"child": 0, "group": "drink", "item": "water", "times": 2}],
    }
    with refused(LunchError, match="(?s)drinks/juice.*drink/water"):
        portion_needs(asked(**more))


def test_portions_count_on_a_child_only_while_what_was_read_on_a_packet_holds() -> None:
    tick = [{"allergen": "sesame", "level": "not_named"}]
    # It holds for 90 days: up to Wednesday 2 December.
    packet = {"food": "bread-whole-wheat", "read_on": "2026-09-03", "allergens": tick}

    def may_take(days: list[str]) -> list[str]:
        body = {
            "days": days,
            "children": [
                {
                    "nickname": "Linden",
                    "age_years": 10,
                    "standard": "us-school-lunch",
                    "avoids": [{"allergen": "sesame"}],
                }
            ],
            "offer": {"groups": [{"id": "mains", "items": [{"food": "bread-whole-wheat"}, {"food": "banana"}]}]},
            "packets": [packet],
        }
        (group,) = portion_needs(PortionNeedsRequest.model_validate(body))["groups"]
        return [one["item"] for one in group["items"] if "Linden" in one["may_take"]]

    assert may_take(["2026-12-01", "2026-12-02"]) == ["bread-whole-wheat", "banana"]
    assert may_take(["2026-12-02", "2026-12-03"]) == ["banana"]
