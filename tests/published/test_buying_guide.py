"""The arithmetic of the Food Buying Guide for Child Nutrition Programs, case by case, rounded up as printed."""

import tomllib
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from service.domain.plan.as_bought import purchase_units, rounded_up
from service.reference.plan.buying import as_bought, buying_yields

CASES = tomllib.loads((Path(__file__).parent / "buying_guide.toml").read_text(encoding="utf-8"))["case"]


@pytest.mark.parametrize("case", CASES, ids=[one["id"] for one in CASES])
def test_purchase_units_are_those_of_the_guide(case: dict[str, Any]) -> None:
    row = buying_yields()[case["yield"]]
    listed = Fraction(row.serving)
    exact = purchase_units(Fraction(row.units_per_hundred), Fraction(case["servings"]), Fraction(case["size"]), listed)
    assert exact == Fraction(case["exact"])
    if "buy" in case:
        assert rounded_up(exact, Fraction(case["step"])) == Fraction(case["buy"])


def test_beef_round_roast_is_rounded_up_to_a_quarter_of_a_pound() -> None:
    """slideplayer 4539790: 67.5 oz and 60 oz are needed, 9.76 one-ounce servings to the pound: 13.06 lb, buy 13 lb 4 oz."""
    pounds = (Fraction("67.5") + 60) / Fraction("9.76")
    assert round(float(pounds), 2) == 13.06
    assert rounded_up(pounds, Fraction(1, 4)) == 13 + Fraction(4, 16)


def test_corn_cobs_come_out_the_same_by_servings_per_pound() -> None:
    """slidegur 41081: 2.44 servings to the pound, 75 servings: 30.74 lb by column 3 and 30.75 by column 5."""
    by_servings = Fraction(75) / Fraction("2.44")
    by_hundred = purchase_units(Fraction("41.0"), Fraction(75), Fraction(1))
    assert round(float(by_servings), 2) == 30.74
    assert abs(by_servings - by_hundred) < Fraction(2, 100)


def test_a_pound_of_raw_ground_beef_gives_seventy_four_hundredths_cooked() -> None:
    """docstoc 7283305, column 6: 1 lb raw is 0.74 lb cooked and drained lean meat; 0.74 lb is 11.8 one-ounce servings."""
    bought = as_bought("beef-ground-cooked")
    assert 1 / bought.per_gram == Fraction("0.74")
    assert round(float(16 / bought.per_gram), 1) == 11.8


@pytest.mark.parametrize(("per_purchase_unit", "per_hundred"), [("1.49", "67.2"), ("5.97", "16.8"), ("10.00", "10.0")])
def test_units_for_a_hundred_are_a_hundred_by_the_servings_of_one(per_purchase_unit: str, per_hundred: str) -> None:
    """Rows for artichokes, edition of January 2013: columns 3 and 5 of the guide, the latter rounded up at the third figure."""
    exact = 100 / Fraction(per_purchase_unit)
    assert 0 <= Fraction(per_hundred) - exact < Fraction(1, 10)
