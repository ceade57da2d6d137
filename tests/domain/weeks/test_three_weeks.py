"""The window of a rule over three weeks: this week and the two before it, Monday to Sunday.

England's school food standards want oily fish "once or more every 3 weeks" (Department for Education, checklist for
school lunches, 2015; the row is read from the project's reference data).
"""

from datetime import date, timedelta

import pytest

from service.domain.weeks.frequency import CountedItem, FrequencyDay, frequency_findings
from service.reference.weeks.frequencies import frequency_standard

MONDAY = date(2026, 11, 30)
SALMON = CountedItem("salmon", frozenset({"oily_fish"}), "salmon", 80_000, {"oily_fish": 1000})
BREAD = CountedItem("bread", frozenset({"starchy"}), "bread", 60_000, {"starchy": 1000})


def oily_fish(days_before: int | None, weeks_logged: int) -> tuple[str, float, float | None]:
    """Status, least and most of the rule. ``days_before``: how long before this Monday oily fish was eaten; None: never.

    Every school day of so many weeks before this one is logged, with bread.
    """
    (row,) = [one for one in frequency_standard("gb-eng-school-food-2014").rows if one.id == "oily-fish"]
    mondays = [MONDAY - timedelta(weeks=back) for back in range(weeks_logged, -1, -1)]
    logged = {monday + timedelta(days=day): (BREAD,) for monday in mondays for day in range(5)}
    if days_before is not None:
        logged[MONDAY - timedelta(days=days_before)] = (SALMON,)
    days = [FrequencyDay(on, items) for on, items in sorted(logged.items())]
    this_week = [day for day in days if day.on >= MONDAY]
    (found,) = frequency_findings([row], this_week, [day for day in days if day.on < MONDAY], MONDAY, False)
    return found.status, found.least, found.most


@pytest.mark.parametrize("days_before", [-4, 0, 1, 7, 8, 14])
def test_within_the_three_weeks_it_counts(days_before: int) -> None:
    """From this Friday back to the Monday two weeks ago."""
    assert oily_fish(days_before, 3) == ("met", 1, 1)


@pytest.mark.parametrize("days_before", [15, 17, 21])
def test_before_the_three_weeks_it_no_longer_counts(days_before: int) -> None:
    """The Sunday before that Monday is in the fourth week."""
    assert oily_fish(days_before, 3) == ("short", 0, 0)


@pytest.mark.parametrize(("weeks_logged", "status"), [(0, "unknown"), (1, "unknown"), (2, "short"), (3, "short")])
def test_a_week_of_the_three_that_nobody_logged_is_unknown(weeks_logged: int, status: str) -> None:
    """Fish may have been eaten in it; a fourth week is not asked about."""
    assert oily_fish(None, weeks_logged)[0] == status
