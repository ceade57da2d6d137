"""Sugar limits on single products against the printed cases S1 to S3 (sugar_limits.toml).

Before 2025-07-01 no limit on added sugars held at school lunches; in pre-kindergarten and child care
the same figure held for total sugars until 2025-09-30 (7 CFR 210.10(p)(2) table 7 footnotes).
"""

from datetime import date
from typing import Any

import pytest

from service.domain.foods.food import Food
from service.domain.lunch.special_rules import RuleFinding, product_findings
from tests.builders import food, table
from tests.published.case_files import cases, ids

CASES = cases("sugar_limits.toml")


def product(case: dict[str, Any], measure: str) -> Food:
    return food(case["id"], {measure: case["sugars_g"]}, basis_g=case["serving_g"], product_kind=case["product_kind"])


def found(one: Food, standard_id: str, group: str, on: date) -> list[RuleFinding]:
    return product_findings(table(standard_id, group, on).product_rules, [one])


@pytest.mark.parametrize("case", CASES, ids=ids(CASES))
@pytest.mark.parametrize("group", ["grades-k-5", "grades-6-8", "grades-9-12"])
def test_added_sugars_from_july_2025(case: dict[str, Any], group: str) -> None:
    one = product(case, "added_sugars_g")
    assert [f.status for f in found(one, "us-school-lunch", group, date(2025, 7, 1))] == [case["expect"]]
    assert found(one, "us-school-lunch", group, date(2025, 6, 30)) == []


CEREALS = [case for case in CASES if case["product_kind"] == "breakfast_cereal"]


@pytest.mark.parametrize("case", CEREALS, ids=ids(CEREALS))
def test_in_child_care_the_same_figure_was_for_total_sugars_until_october_2025(case: dict[str, Any]) -> None:
    total, added = product(case, "sugars_g"), product(case, "added_sugars_g")
    before, after = date(2025, 9, 30), date(2025, 10, 1)
    assert [f.status for f in found(total, "us-child-care-lunch", "ages-3-5", before)] == [case["expect"]]
    assert [f.status for f in found(added, "us-child-care-lunch", "ages-3-5", after)] == [case["expect"]]
    assert [f.status for f in found(total, "us-child-care-lunch", "ages-3-5", after)] == ["met"]


def test_a_yogurt_of_23_g_total_sugars_was_at_the_older_limit() -> None:
    """23 g of total sugars in 6 oz through 2025-09-30 (7 CFR 210.10(p)(2) table 7 footnote)."""
    at, past = (food("pot", {"sugars_g": grams}, basis_g="170.1", product_kind="yogurt") for grams in ("23", "23.1"))
    on = date(2025, 9, 30)
    assert [f.status for f in found(at, "us-child-care-lunch", "ages-3-5", on)] == ["met"]
    assert [f.status for f in found(past, "us-child-care-lunch", "ages-3-5", on)] == ["over"]


def test_a_product_without_a_figure_is_unknown() -> None:
    one = food("pot", basis_g=170, product_kind="yogurt", unknown=["added_sugars_g"])
    finding = found(one, "us-school-lunch", "grades-k-5", date(2026, 9, 1))[0]
    assert finding.status == "unknown"
    assert finding.amount is None
    assert finding.said.code == "product-rule.no-figure"


def test_a_figure_rounded_on_the_label_decides_only_where_all_it_may_stand_for_agrees() -> None:
    """12 g printed for 6 oz stands for 11.5 to 12.5 g (21 CFR 101.9(c)(6)): nobody can tell."""
    on = date(2026, 9, 1)
    one = food(
        "pot",
        {"added_sugars_g": 12},
        basis_g="170.1",
        product_kind="yogurt",
        ranges={"added_sugars_g": ("11.5", "12.5")},
    )
    assert [f.status for f in found(one, "us-school-lunch", "grades-k-5", on)] == ["unknown"]
    less = food(
        "pot",
        {"added_sugars_g": 11},
        basis_g="170.1",
        product_kind="yogurt",
        ranges={"added_sugars_g": ("10.5", "11.5")},
    )
    assert [f.status for f in found(less, "us-school-lunch", "grades-k-5", on)] == ["met"]
