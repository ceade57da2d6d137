"""Promise: the order in which a body lists its items, allergens and foods at hand changes no byte of the reply.

But for the places of the items in the request, which follow that order.
"""

import itertools
from copy import deepcopy
from typing import Any

import orjson
import pytest
from starlette.testclient import TestClient

from tests.builders import placeless
from tests.contract.example_files import Example, example_files

LUNCHES = [
    one for one in example_files() if one.operation == "check-lunch" and not one.case.startswith(("error-", "kept-"))
]
BAR = {"name": "oat bar", "serving": {"grams": 30}, "facts": {"energy_kcal": 120}, "ingredients": "Oats, sugar."}


def reply(service: TestClient, body: dict[str, Any]) -> bytes:
    """The bytes of a reply, without the places of its items."""
    answer = service.post("/v1/lunch-checks", json=body)
    assert answer.status_code == 200, answer.text
    return orjson.dumps(placeless(answer.json()))


@pytest.mark.parametrize("example", LUNCHES, ids=Example.id)
def test_items_in_another_order_give_the_same_bytes(service: TestClient, example: Example) -> None:
    """Turned round and turned on by one, for each lunch of the examples."""
    body = deepcopy(example.request)
    items = body["lunch"]["items"]
    expected = reply(service, example.request)
    for order in (items[::-1], items[1:] + items[:1]):
        body["lunch"]["items"] = order
        body["child"]["avoids"] = body["child"].get("avoids", [])[::-1]
        body["offer"] = body.get("offer", [])[::-1]
        assert reply(service, body) == expected


def test_foods_that_differ_in_one_word_of_their_label_have_an_order_too(service: TestClient) -> None:
    """Same name, weight and figures: only what the label says of allergens, choking or cold tells them apart."""
    bars = [
        BAR,
        {**BAR, "ingredients": "Oats, sugar, milk."},
        {**BAR, "may_contain": "May contain peanuts."},
        {**BAR, "perishable": False},
        {**BAR, "choking_rule": "hard-crisp-snacks"},
        {**BAR, "credits": [{"component": "grain", "per_serving": 1}]},
    ]
    replies = set()
    for order in itertools.islice(itertools.permutations(bars), 0, 720, 29):
        body = {
            "standard": "us-school-lunch",
            "on": "2026-12-01",
            "child": {"age_group": "pre-k-3-5", "avoids": [{"allergen": "milk"}, {"allergen": "peanut"}]},
            "lunch": {"items": [{"food": bar} for bar in order]},
            "max_changes": 2,
        }
        replies.add(reply(service, body))
    assert len(replies) == 1
