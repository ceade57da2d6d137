"""The yardsticks' own worked figures.

WHO: below 5 % of energy is roughly 25 g (6 teaspoons) of free sugars a day for an adult, and 10 % twice as much (news
release of 2015-03-04; a usual day of 2,000 kcal). Dietary Guidelines for Americans 2025-2030, page 5: one meal should
contain no more than 10 g of added sugars; page 6: below 1,500 mg of sodium a day at ages 4 to 8, of which we take a third.
"""

from datetime import date
from typing import Any

import pytest

from tests.builders import judged, measured, table

ON = date(2026, 11, 27)


def found(standard: str, group: str, **figures: Any) -> dict[str, str]:
    return {
        name: one.status for name, one in judged(table(standard, group, ON), [measured(figures)], week=False).items()
    }


@pytest.mark.parametrize(
    ("grams", "strong", "conditional"),
    [("24.9", "met", "met"), ("25", "met", "over"), ("49.9", "met", "over"), ("50", "over", "over")],
)
def test_free_sugars_of_a_day_of_2000_kcal(grams: str, strong: str, conditional: str) -> None:
    statuses = found("who-free-sugars-2015", "children", energy_kcal=2000, free_sugars_g=grams)
    assert statuses == {"free-sugars-strong": strong, "free-sugars-conditional": conditional}


def test_a_meal_of_10_g_of_added_sugars_is_the_most() -> None:
    for grams, status in (("10", "met"), ("10.001", "over")):
        statuses = found("us-dietary-guidelines-2025", "ages-4-8", energy_kcal=600, added_sugars_g=grams)
        assert statuses["added-sugars"] == status


def test_three_lunches_stay_below_the_sodium_of_a_day() -> None:
    for mg, status in (("499.999", "met"), ("500", "over")):
        assert found("us-dietary-guidelines-2025", "ages-4-8", energy_kcal=600, sodium_mg=mg)["sodium"] == status
