"""Label rounding and percentages of daily value against 21 CFR 101.9 (label_arithmetic.toml, L1 to L6)."""

from decimal import ROUND_HALF_UP, Decimal
from typing import Any

import pytest

from service.domain.foods.label_figures import printed, stands_for
from service.reference.foods.label_rounding import label_file, rounding_rules
from tests.published.case_files import cases, ids

PERCENTS = cases("label_arithmetic.toml", "percent")
FIGURES = cases("label_arithmetic.toml", "printed_figure")


def percent_daily_value(amount: Decimal, daily_value: Decimal, kind: str) -> Decimal:
    """The %DV a label prints, by the steps on file for the kind of nutrient (ties go up, 21 CFR 101.9(d)(8))."""
    percent = amount * 100 / daily_value
    step = [row.step for row in label_file().percent_band if row.kind == kind and percent >= row.from_][-1]
    return (percent / step).quantize(Decimal(1), ROUND_HALF_UP) * step


@pytest.mark.parametrize("case", PERCENTS, ids=ids(PERCENTS))
def test_percent_of_daily_value(case: dict[str, Any]) -> None:
    values = {row.measure: row for row in label_file().daily_value}
    told = {
        measure: percent_daily_value(Decimal(amount), getattr(values[measure], case["age"]), values[measure].kind)
        for measure, amount in case["amounts"].items()
    }
    assert told == case["expect"]


@pytest.mark.parametrize("case", FIGURES, ids=ids(FIGURES))
def test_the_figure_a_label_prints(case: dict[str, Any]) -> None:
    rule = rounding_rules()[case["measure"]]
    for amount, figure in case["steps"]:
        assert printed(rule, Decimal(amount)) == figure, amount
        low, high = stands_for(rule, Decimal(figure))
        assert low <= amount * 1000 <= high, f"{amount} is printed as {figure}, which must stand for it"
    both = case.get("zero_or")
    if both:
        assert printed(rule, Decimal(both["amount"])) in both["figures"]
        for figure in both["figures"]:
            low, high = stands_for(rule, Decimal(figure))
            assert low <= both["amount"] * 1000 <= high


def test_a_tie_goes_up_as_the_regulation_shows() -> None:
    """Potassium 235 mg of 4,700 mg is exactly 5 %, printed as 6 % (21 CFR 101.9(d)(8))."""
    assert percent_daily_value(Decimal(235), Decimal(4700), "rdi") == 6
    assert percent_daily_value(Decimal("234.9"), Decimal(4700), "rdi") == 4
