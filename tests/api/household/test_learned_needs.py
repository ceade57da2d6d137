"""Promise: with the household's key, portion needs go by what its children took when it was on offer; a request that says it wins."""

from datetime import date, timedelta
from typing import Any

import pytest

from tests.api.household.homes import Home, child_body, lunch_body

DAYS = ["2026-12-07", "2026-12-08", "2026-12-09", "2026-12-10", "2026-12-11"]
PRICES = [
    {"food": food, "amount_minor": amount, "currency": "USD", "pack_grams": 1000, "from": "2026-01-01"}
    for food, amount in (("apple", 300), ("pear", 900))
]


class Family:
    """Wren, who may take apples or pears, and Robin, who takes pears only; both from the same offer."""

    def __init__(self, home: Home) -> None:
        self.home = home
        self.wren = home.kept("/v1/children", child_body("Wren", avoids=[]))
        self.robin = home.kept("/v1/children", child_body("Robin", avoids=[], dislikes=["apple"]))
        items = [{"food": "apple"}, {"food": "pear"}]
        self.offer = home.kept("/v1/offers", {"name": "fruit", "groups": [{"id": "fruit", "items": items}]})

    def took(self, food: str, number: int, before: str = DAYS[0], **more: Any) -> None:
        """Wren took a food on so many days before one."""
        for ago in range(1, number + 1):
            day = (date.fromisoformat(before) - timedelta(days=ago)).isoformat()
            self.home.kept("/v1/lunches", lunch_body(self.wren, day, food, **{"offer": self.offer, **more}))

    def needs(self, **more: Any) -> dict[str, Any]:
        body = {
            "offer": self.offer,
            "children": [self.wren, self.robin],
            "days": DAYS,
            "of_each": 0,
            "prices": PRICES,
            **more,
        }
        answer = self.home.ask("POST", "/v1/portion-needs", body)
        assert answer.status_code == 200, answer.text
        return dict(answer.json()["groups"][0])


@pytest.fixture
def family(home: Home) -> Family:
    return Family(home)


def by_item(group: dict[str, Any]) -> dict[str, int]:
    return {one["item"]: one["usual"] for one in group["items"]}


def test_a_child_that_always_takes_the_apple_needs_more_apples_than_with_equal_shares(family: Family) -> None:
    before = family.needs()
    assert [(one["name"], one["how"]) for one in before["readily"]] == [("Wren", "equal")]
    family.took("apple", 20)
    after = family.needs()
    (wren,) = after["readily"]
    assert (wren["how"], wren["lunches"], wren["shares"][0]["share"]) == ("learned", 20, round(21 / 22, 4))
    equal, learned = by_item(before), by_item(after)
    assert learned["apple"] - learned["pear"] > equal["apple"] - equal["pear"]
    assert learned["apple"] > equal["apple"]
    assert after["always"] == before["always"]
    assert family.needs(liked=[]) == before
    said = [{"child": 0, "group": "fruit", "item": "pear", "times": 3}]
    assert family.needs(liked=said)["readily"][0]["how"] == "given"


def test_what_was_not_taken_from_an_offer_or_later_says_nothing(family: Family) -> None:
    before = family.needs()
    family.took("apple", 3, offer=None)
    family.took("apple", 2, before="2026-12-09")
    assert family.needs() == before


def test_the_last_60_lunches_count(family: Family) -> None:
    family.took("apple", 3, before="2026-08-01")
    family.took("pear", 60)
    (wren,) = family.needs()["readily"]
    assert wren["lunches"] == 60
    assert wren["shares"][1] == {"item": "pear", "share": round(61 / 62, 4)}


def test_own_foods_and_items_with_a_key_of_their_own_are_known_by_their_food(family: Family) -> None:
    home = family.home
    bar = home.kept("/v1/foods", {"name": "oat bar", "serving": {"grams": 40}, "facts": {"energy_kcal": 170}})
    items = [{"food": bar, "key": "the bar"}, {"food": "banana", "key": "the banana"}]
    offer = home.kept("/v1/offers", {"name": "snacks", "groups": [{"id": "snacks", "items": items}]})
    family.took(bar, 4, offer=offer)
    (wren,) = [one for one in family.needs(offer=offer)["readily"] if one["name"] == "Wren"]
    assert wren["shares"] == [{"item": "the bar", "share": 0.8333}, {"item": "the banana", "share": 0.1667}]


def test_a_plan_of_the_usual_amounts_goes_by_the_same_shares(family: Family) -> None:
    def planned() -> dict[str, int]:
        body = {
            "days": DAYS,
            "amounts": "usual",
            "children": [family.wren, family.robin],
            "offers": [{"id": "fruit", "offer": family.offer}],
            "no_repeat_days": 0,
            "prices": PRICES,
        }
        answer = family.home.ask("POST", "/v1/plans", body)
        assert answer.status_code == 200, answer.text
        found = dict.fromkeys(("apple", "pear"), 0)
        for one in answer.json()["needs"]:
            found[one["food"]] += one["portions"]
        return found

    before = planned()
    family.took("apple", 20)
    assert planned() == by_item(family.needs(of_each=1))
    assert planned()["apple"] - planned()["pear"] > before["apple"] - before["pear"]
