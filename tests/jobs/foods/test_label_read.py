"""What was read on a packet settles what recipes vary in; it clears nothing that is there by nature."""

from typing import Any

import pytest

from service.domain.errors import LunchError
from service.jobs.lunch.check_lunch import check_lunch
from service.jobs.requests import LunchCheckRequest


def outcome(food: str, allergen: str, read: list[dict[str, str]]) -> str:
    """The outcome of one food for a child that avoids one allergen."""
    asked: dict[str, Any] = {
        "standard": "us-school-lunch",
        "on": "2026-12-01",
        "child": {"age_years": 9, "avoids": [{"allergen": allergen, "threshold": "contains"}]},
        "lunch": {"items": [{"food": food, "label_read": read}]},
        "max_changes": 0,
    }
    return str(check_lunch(LunchCheckRequest.model_validate(asked))["allergens"][0]["outcome"])


def test_it_settles_what_is_unknown() -> None:
    assert outcome("bread-whole-wheat", "sesame", []) == "check_label"
    assert outcome("bread-whole-wheat", "sesame", [{"allergen": "sesame", "level": "free"}]) == "not_declared"
    assert outcome("bread-whole-wheat", "sesame", [{"allergen": "sesame", "level": "contains"}]) == "avoid"
    assert outcome("bread-whole-wheat", "sesame", [{"allergen": "sesame", "level": "may_contain"}]) == "may_contain"


def test_it_never_clears_what_is_there_by_nature() -> None:
    for food, allergen in (("bread-whole-wheat", "wheat"), ("hummus", "sesame"), ("milk-1-percent", "milk")):
        assert outcome(food, allergen, [{"allergen": allergen, "level": "free"}]) == "avoid"


def test_a_group_read_settles_its_members_and_a_dish_its_parts() -> None:
    read = [{"allergen": "tree_nut", "level": "free"}, {"allergen": "peanut", "level": "free"}]
    assert outcome("sandwich-sunflower-jam", "cashew", read) == "not_declared"
    assert outcome("sandwich-sunflower-jam", "peanut", read) == "not_declared"
    assert outcome("sandwich-sunflower-jam", "sesame", read) == "check_label"


def test_an_unknown_allergen_is_named_with_its_place() -> None:
    with pytest.raises(LunchError, match="/lunch/items/0/label_read/0/allergen"):
        outcome("bread-whole-wheat", "sesame", [{"allergen": "sesam seed oil", "level": "free"}])
