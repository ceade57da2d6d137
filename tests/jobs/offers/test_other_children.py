"""A change for one child brings in nothing that another child of the request must avoid, unless nothing else helps."""

from typing import Any

from service.domain.allergens.screening import Avoidance, screen_food
from service.jobs.offers.audit_offer import audit_offer
from service.jobs.offers.requests import OfferAuditRequest
from service.reference.allergens.vocabulary import vocabulary
from service.reference.foods.catalogue import find_food

COLD = {"insulated": True, "cold_sources": 2, "minutes_until_eaten": 240}


def brought_in(*swap_foods: str) -> set[str]:
    """The foods that come in for the first of two children; the second avoids peanut and egg."""
    groups: list[dict[str, Any]] = [
        {"id": "main", "items": [{"food": "cucumber"}]},
        {"id": "bread", "items": [{"food": "bread-whole-wheat", "quantity": 64, "unit": "g"}]},
        {"id": "fruit", "items": [{"food": "apple"}]},
        {"id": "vegetable", "items": [{"food": "carrots-raw", "quantity": 100, "unit": "g"}]},
        {"id": "drink", "items": [{"food": "milk-1-percent"}]},
    ]
    asked = OfferAuditRequest.model_validate(
        {
            "on": "2025-09-01",
            "offer": {"groups": groups},
            "children": [
                {"nickname": "Wren", "standard": "us-school-lunch", "age_years": 8},
                {
                    "nickname": "Lark",
                    "standard": "us-school-lunch",
                    "age_years": 9,
                    "avoids": [{"allergen": "peanut"}, {"allergen": "egg"}],
                },
            ],
            "holding": COLD,
            "max_changes": 5,
            "swap_foods": list(swap_foods),
        }
    )
    changes = audit_offer(asked)["children"][0]["changes"]
    return {one["food"] for row in changes for one in row["changes"] if one["kind"] in ("add", "swap")}


def test_nothing_that_another_child_must_avoid_comes_in() -> None:
    came = brought_in("peanuts-roasted", "egg-hard-boiled", "turkey-breast-roasted")
    assert came
    for food in map(find_food, came):
        assert food is not None
        for allergen in ("peanut", "egg"):
            assert not screen_food(vocabulary(), food, Avoidance(allergen, "contains")).do_not_pack, food.id


def test_it_may_where_nothing_else_helps() -> None:
    assert brought_in("egg-hard-boiled") == {"egg-hard-boiled"}
