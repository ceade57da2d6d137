"""Which day is believed to have come: pauses of twelve weeks are, leaps of years are not, however much is stored after them."""

from datetime import date, timedelta

import pytest

from service.jobs.household.retention.believed import LONGEST_PAUSE, MOST_OF_A_PAUSE, believed_day, days_passed

TODAY = date(2026, 11, 25)
DAY = timedelta(days=1)


def days_ago(*numbers: int) -> list[date]:
    return sorted(TODAY - number * DAY for number in numbers)


@pytest.mark.parametrize(
    ("sure", "used", "believed"),
    [
        (0, [], 0),
        (84, [], 0),
        (85, [], 85),
        (200, [130, 60], 0),
        (184, [100, 20], 0),
        (200, [160, 60], 160),
        (900, [890, 40, 30, 20, 10, 5, 4, 3, 2, 1], 890),
        (-700, [], 0),
        (-700, [800, 5, -500], 0),
        (30, [-700], 0),
    ],
    ids=[
        "the same day", "a summer", "a day longer", "used in between", "just so", "first pause too long",
        "much used after a leap", "set back after a leap", "set back, used before", "days to come say nothing",
    ],
)  # fmt: skip
def test_up_to_the_first_long_pause(sure: int, used: list[int], believed: int) -> None:
    """All in days before today; a negative number is a day to come."""
    assert LONGEST_PAUSE == 84 * DAY
    assert believed_day(TODAY - sure * DAY, days_ago(*used), TODAY) == TODAY - believed * DAY


def test_a_pause_counts_as_a_week() -> None:
    """Thirty days of use are thirty days; a leap of two years adds a week; a clock before the first day counts nothing."""
    assert MOST_OF_A_PAUSE == 7 * DAY
    assert days_passed(TODAY - 30 * DAY, days_ago(*range(31)), TODAY) == 30
    assert days_passed(TODAY - 730 * DAY, days_ago(729, 728), TODAY) == 9
    assert days_passed(TODAY - 28 * DAY, days_ago(21, 14, 7), TODAY) == 28
    assert days_passed(TODAY + 5 * DAY, days_ago(3), TODAY) == 0
