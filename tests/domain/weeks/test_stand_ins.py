"""Other vegetables and what may stand in for them: 7 CFR 210.10(c)(2)(ii)(E), grades K to 5 (1/2 cup of each other group).

Minima: dark green 1/2, red and orange 3/4, legumes 1/2, other 1/2 cup a week. Each case by hand.
"""

from datetime import date

import pytest

from service.domain.weeks.week import FIVE_DAYS, CountedDay, week_findings
from tests.builders import measured, table

MONDAY = date(2026, 11, 30)
TABLE = table("us-school-lunch", "grades-k-5", MONDAY)
GROUPS = ("dark_green", "red_orange", "legume", "other")


def other_vegetables(*cups: float, days: int = 5) -> tuple[str, float, float | None]:
    """The status, amount and bound of the row, for cups of the four groups in the week."""
    vector = measured({f"vegetable_{group}_cup": str(cup) for group, cup in zip(GROUPS, cups, strict=True)})
    nothing = measured({})
    week = [
        CountedDay(MONDAY.replace(day=30), vector),
        *(CountedDay(date(2026, 12, day), nothing) for day in range(1, days)),
    ]
    found = week_findings(TABLE, week, days, FIVE_DAYS)
    judged = next(one.judgement for one in found if one.judgement.target.id == "other-vegetable-week")
    return judged.status, judged.amount, judged.target.at_least


@pytest.mark.parametrize(("cups", "expected"), [
    ((0.5, 0.75, 0.5, 0.5), "met"),
    ((0, 0, 0, 0.5), "met"),  # the others are short, each in its own row
    ((0, 0.75, 0.5, 0.5), "met"),
    ((0, 1.25, 0.5, 0), "met"),  # half a cup more of red and orange stands in; no dark green takes nothing away
    ((1.0, 0.25, 0, 0), "met"),
    ((0.75, 1.0, 0, 0), "met"),  # a quarter of a cup more of two groups
    ((0.5, 0.75, 0.5, 0.25), "short"),
    ((0, 1.0, 0, 0), "short"),
    ((0.75, 0.75, 0.5, 0), "short"),
])  # fmt: skip
def test_a_group_that_is_short_is_short_once(cups: tuple[float, ...], expected: str) -> None:
    assert other_vegetables(*cups)[0] == expected


def test_the_bound_shown_is_that_of_the_way_that_keeps_it() -> None:
    assert other_vegetables(0, 0, 0, 0.5) == ("met", 0.5, 0.5)
    assert other_vegetables(0.5, 0.75, 0.5, 0.25) == ("short", 2.0, 2.25)
