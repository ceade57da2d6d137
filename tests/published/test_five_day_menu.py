"""A published week of elementary menus: vegetable credits by day, subgroup and week (five_day_menu.toml, G-2)."""

from datetime import date
from fractions import Fraction
from typing import Any

import pytest

from service.domain.foods.amounts import ItemVector, add_up, amount_mg_of, item_vector
from service.reference.foods.lunch_foods import lunch_foods
from tests.builders import amount, food, judged, table, us_scheme, vector
from tests.crediting import COMPONENT_MEASURES
from tests.published.case_files import case_file, ids

FILE = case_file("five_day_menu.toml")
DAYS: list[dict[str, Any]] = FILE["case"]
ON = date(2024, 9, 2)
SUBGROUPS = {
    "dark_green": "vegetable_dark_green_cup",
    "red_orange": "vegetable_red_orange_cup",
    "legume": "vegetable_legume_cup",
    "starchy": "vegetable_starchy_cup",
    "other_vegetable": "vegetable_other_cup",
    "day": "vegetable_cup",
}
SUBGROUP_OF = {
    "beans-refried": "legume",
    "jicama-raw": "starchy",
    "pepper-green-raw": "other_vegetable",
    "green-beans-cooked": "other_vegetable",
    "broccoli-cooked": "dark_green",
    "cauliflower-raw": "other_vegetable",
    "lettuce-romaine": "dark_green",
    "corn-cooked": "starchy",
    "carrots-raw": "red_orange",
    "potato-boiled": "starchy",
    "sweet-potato-baked": "red_orange",
    "cherry-tomatoes": "red_orange",
}
"""Subgroup of each vegetable in 7 CFR 210.2; jicama from memory."""


def printed_items(day: dict[str, Any]) -> list[ItemVector]:
    """The vegetables of a day in the cups printed, credited by the rules (100 g stand for a cup)."""
    items = []
    for row in day["vegetables"]:
        credit = Fraction(1, 2) if row.get("leafy") else 1
        one = food(row["food"], credits={SUBGROUP_OF[row["food"]]: credit})
        items.append(vector(one, Fraction(row["cups"]) * 100))
    return items


def shipped_items(day: dict[str, Any]) -> list[ItemVector]:
    """The same vegetables as shipped lunch foods in their household units."""
    items = []
    for row in day["vegetables"]:
        one = lunch_foods().get(row["food"])
        assert one is not None, f"{row['food']} is not a lunch food any more"
        option = next(
            option
            for option in one.credit_options
            if any(measure == "vegetable_cup" for measure, _part in COMPONENT_MEASURES.get(option.name, ()))
        )
        weight = amount_mg_of(one, int(Fraction(row["quantity"]) * 1000), row["unit"])
        items.append(item_vector(one, weight, us_scheme(), option))
    return items


def credits_of(items: list[ItemVector]) -> dict[str, Fraction]:
    totals = add_up(items)
    return {name: amount(totals, measure) for name, measure in SUBGROUPS.items()}


def expected(row: dict[str, Any]) -> dict[str, Fraction]:
    return {name: Fraction(cups) for name, cups in row["expect"].items()}


@pytest.mark.parametrize("day", DAYS, ids=ids(DAYS))
def test_the_vegetables_of_a_day_by_subgroup(day: dict[str, Any]) -> None:
    assert credits_of(printed_items(day)) == expected(day)


@pytest.mark.parametrize("day", DAYS, ids=ids(DAYS))
def test_the_shipped_foods_credit_the_same(day: dict[str, Any]) -> None:
    assert credits_of(shipped_items(day)) == expected(day)


def test_the_week_by_subgroup() -> None:
    assert credits_of([item for day in DAYS for item in printed_items(day)]) == expected(FILE["week"])


@pytest.mark.parametrize("group", list(FILE["verdict"]))
def test_the_days_and_the_week_for_an_age_group(group: str) -> None:
    targets = table("us-school-lunch", group, ON)
    days = {day["id"]: judged(targets, printed_items(day))["vegetable"].status for day in DAYS}
    assert days == FILE["verdict"][group]["days"]
    week = judged(targets, [item for day in DAYS for item in printed_items(day)], week=True)
    assert {target: week[target].status for target in FILE["verdict"][group]["week"]} == FILE["verdict"][group]["week"]


def test_beans_as_meat_alternate_leave_the_vegetables() -> None:
    """Beans credit as one of the two in a dish; as meat alternate they still count in the week's legumes.

    Source: 7 CFR 210.10(c)(2)(ii)(C), (iv)(E).
    """
    beans = lunch_foods().get("beans-refried")
    assert beans is not None
    meat = next(option for option in beans.credit_options if option.name == "meat_alternate")
    totals = add_up([item_vector(beans, amount_mg_of(beans, 1000, "half cup"), us_scheme(), meat)])
    assert amount(totals, "meat_alternate_oz_eq") == 2
    assert amount(totals, "vegetable_legume_cup") == Fraction(1, 2)
    assert amount(totals, "vegetable_cup") == 0
