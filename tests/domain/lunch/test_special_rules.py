"""Kinds of fluid milk by age group and date (7 CFR 210.10(d), 226.20(a); PL 119-69 from 2026-01-14)."""

from datetime import date

import pytest

from service.domain.lunch.special_rules import milk_findings, product_findings
from service.reference.messages import say
from tests.builders import food, table

MILK = {
    kind: food(kind, product_kind=kind)
    for kind in ("milk_whole", "milk_2_percent", "milk_1_percent", "milk_skim", "flavoured_milk")
}


@pytest.mark.parametrize(
    ("standard", "group", "on", "allowed"),
    [
        ("us-school-lunch", "grades-k-5", date(2026, 1, 13), {"milk_1_percent", "milk_skim", "flavoured_milk"}),
        ("us-school-lunch", "grades-k-5", date(2026, 1, 14), set(MILK)),
        ("us-school-lunch", "grades-9-12", date(2022, 7, 1), {"milk_1_percent", "milk_skim", "flavoured_milk"}),
        ("us-child-care-lunch", "age-1", date(2026, 9, 1), {"milk_whole"}),
        ("us-child-care-lunch", "ages-3-5", date(2026, 6, 7), {"milk_1_percent", "milk_skim"}),
        ("us-child-care-lunch", "ages-3-5", date(2026, 6, 8), set(MILK) - {"flavoured_milk"}),
        ("us-child-care-lunch", "ages-6-12", date(2026, 6, 8), set(MILK)),
    ],
)
def test_the_kinds_of_milk_of_an_age_group(standard: str, group: str, on: date, allowed: set[str]) -> None:
    rules = table(standard, group, on).milk_rules
    found = {kind: [one.status for one in milk_findings(rules, [milk])] for kind, milk in MILK.items()}
    assert found == {kind: ["met" if kind in allowed else "over"] for kind in MILK}


def test_what_is_no_fluid_milk_is_left_alone() -> None:
    rules = table("us-child-care-lunch", "age-1", date(2026, 9, 1)).milk_rules
    assert milk_findings(rules, [food("water"), food("oat drink", product_kind="plant_drink")]) == []


def test_a_limit_says_amount_limit_and_reference() -> None:
    """8 g in 4 oz (113.4 g) are 12 g in 6 oz (170.1 g): at the limit of 7 CFR 210.10(c)(2)(iv)(C)."""
    rules = table("us-school-lunch", "grades-k-5", date(2026, 9, 1)).product_rules
    pot = food("pot", {"added_sugars_g": 8}, basis_g="113.4", product_kind="yogurt")
    (one,) = product_findings(rules, [pot])
    assert (one.status, one.amount, one.at_most, one.unit) == ("met", 12.0, 12.0, "g per 170.1 g")
    assert say(one.said) == "pot: 12 g of added sugars in 170.1 g, within the limit of 12 g."


def test_other_products_are_left_alone() -> None:
    rules = table("us-school-lunch", "grades-k-5", date(2026, 9, 1)).product_rules
    assert product_findings(rules, [food("jam", {"added_sugars_g": 60})]) == []
