"""Menus and lunches with printed figures against the rows in force (measured_lunches.toml: G-1, G-3, G-4, J)."""

from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest

from service.domain.foods.label_figures import stands_for
from service.domain.lunch.findings import finding_message
from service.reference.foods.label_rounding import rounding_rules
from tests.builders import amount, food, judged, table, vector
from tests.published.case_files import cases, ids

MENUS = cases("measured_lunches.toml", "sodium_menu")
LUNCHES = cases("measured_lunches.toml", "lunch")
CEILINGS = cases("measured_lunches.toml", "ceiling")


@pytest.mark.parametrize("case", MENUS, ids=ids(MENUS))
def test_the_sodium_of_a_menu_for_grades_6_to_8(case: dict[str, Any]) -> None:
    items = [vector(food(i["name"], {"sodium_mg": i["sodium_mg"]}), 100) for i in case["items"]]
    assert sum(amount(item, "sodium_mg") for item in items) == case["total_mg"]
    for day, status in case["expect"].items():
        sodium = judged(table("us-school-lunch", "grades-6-8", date.fromisoformat(day)), items)["sodium"]
        assert sodium.amount == case["total_mg"]
        assert sodium.status == status, day


@pytest.mark.parametrize("case", MENUS, ids=ids(MENUS))
def test_the_same_menu_read_from_labels_gives_the_same_verdicts(case: dict[str, Any]) -> None:
    """Every figure may be off by its rounding; no bound lies within the sum of these (computed)."""
    rule = rounding_rules()["sodium_mg"]
    items = []
    for item in case["items"]:
        low, high = stands_for(rule, item["sodium_mg"])
        ranges = {"sodium_mg": (Fraction(low, 1000), Fraction(high, 1000))}
        items.append(vector(food(item["name"], {"sodium_mg": item["sodium_mg"]}, ranges=ranges), 100))
    for day, status in case["expect"].items():
        sodium = judged(table("us-school-lunch", "grades-6-8", date.fromisoformat(day)), items)["sodium"]
        assert sodium.status == status, day
        assert sodium.high is not None
        assert sodium.low < case["total_mg"] < sodium.high


@pytest.mark.parametrize("case", LUNCHES, ids=ids(LUNCHES))
def test_a_measured_lunch(case: dict[str, Any]) -> None:
    figures = dict(case["figures"])
    if "saturated_percent" in case:
        grams = Fraction(str(case["saturated_percent"])) / 100 * figures["energy_kcal"] / 9
        figures["saturated_fat_g"] = round(grams, 3)
    lunch = vector(food(case["id"], figures), 100)
    for day, expected in case["expect"].items():
        findings = judged(table("us-school-lunch", case["group"], date.fromisoformat(day)), [lunch])
        assert {target: findings[target].status for target in expected} == expected, day
        if "saturated_percent" in case:
            assert findings["saturated-fat"].amount == pytest.approx(float(case["saturated_percent"]), abs=0.001)
    past = case.get("over_by")
    if past:
        findings = judged(table("us-school-lunch", case["group"], date.fromisoformat(past["on"])), [lunch])
        said = finding_message(findings[past["target"]])
        assert (said.code, said.params["gap"]) == ("finding.over", float(past["amount"]))


def test_energy_of_the_typical_lunch_by_the_general_factors() -> None:
    """G-4: 4 x 26.11 + 4 x 91.58 + 9 x 20.39 = 654 kcal, 1.4 % over the 645 printed (computed)."""
    figures = next(case for case in LUNCHES if case["id"].startswith("G-4"))["figures"]
    by_factors = 4 * figures["protein_g"] + 4 * figures["carbohydrate_g"] + 9 * figures["fat_g"]
    assert round(by_factors) == 654
    assert round(100 * by_factors / figures["energy_kcal"] - 100, 1) == Decimal("1.4")


@pytest.mark.parametrize("case", CEILINGS, ids=ids(CEILINGS))
def test_a_ceiling_in_grams_at_the_bounds_of_energy(case: dict[str, Any]) -> None:
    for row in case["rows"]:
        for status in ("met", "over"):
            lunch = food("lunch", {"energy_kcal": row["energy_kcal"], case["measure"]: row[status]})
            on = date.fromisoformat(case["on"])
            findings = judged(table("us-school-lunch", row["group"], on), [vector(lunch, 100)])
            assert findings[case["target"]].status == status, row
