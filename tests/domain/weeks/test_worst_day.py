"""A rule of each day, told for a week by its most serious day."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from service.domain.weeks.week import FIVE_DAYS, CountedDay, WeekFinding, week_findings
from tests.builders import measured, table

MONDAY = date(2026, 11, 30)
US = table("us-school-lunch", "grades-k-5", MONDAY)
"""At least 1 cup of milk and 0.75 cup of vegetables each school day; satisfaction is nil at half of it."""
SODIUM = next(target for target in US.targets if target.id == "sodium")
DAILY = replace(US, targets=(*US.targets, replace(SODIUM, id="daily-sodium", basis="school_day")))
"""No shipped standard has an upper bound for each day: the 1,110 mg of a week's mean, asked of every day."""


def week(measure: str, amounts: list[str], target: str) -> WeekFinding:
    days = [
        CountedDay(MONDAY + timedelta(days=place), measured({measure: amount})) for place, amount in enumerate(amounts)
    ]
    found = week_findings(DAILY, days, len(days), FIVE_DAYS)
    return next(one for one in found if one.judgement.target.id == target and one.days)


@pytest.mark.parametrize("order", [1, -1], ids=["first", "last"])
def test_of_days_with_no_satisfaction_the_furthest_off_is_the_gravest(order: int) -> None:
    """A quarter of a cup and nothing at all are both satisfied by nil: nothing at all is the graver, on whatever day."""
    amounts = ["0.25", "0.0", "0.125"][::order]
    assert week("fluid_milk_cup", amounts, "milk").judgement.amount == 0.0


@pytest.mark.parametrize("order", [1, -1], ids=["first", "last"])
def test_above_a_bound_the_greatest_amount_is_the_gravest(order: int) -> None:
    """Satisfaction is nil from 1,665 mg on (50 % beyond 1,110 mg)."""
    amounts = ["1700", "2500", "1900"][::order]
    assert week("sodium_mg", amounts, "daily-sodium").judgement.amount == 2500.0


def test_a_day_that_fails_is_graver_than_one_that_is_kept() -> None:
    assert week("fluid_milk_cup", ["1.0", "0.875", "2.0"], "milk").judgement.amount == 0.875


@pytest.mark.parametrize("order", [1, -1], ids=["first", "last"])
def test_where_every_day_keeps_a_minimum_the_least_is_shown(order: int) -> None:
    """One and a half, one, and one and a quarter cups of milk: a day had no more than one."""
    amounts = ["1.5", "1.0", "1.25"][::order]
    assert week("fluid_milk_cup", amounts, "milk").judgement.amount == 1.0
