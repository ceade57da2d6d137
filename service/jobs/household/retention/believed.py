"""Which day is believed to have come: the clock alone does not decide it, since it may have leapt by years.

A clock is believed up to the first pause in which a household was not used for longer than a summer without school. A leap
leaves such a pause behind, and it stays to be seen however much is stored after it.
"""

from collections.abc import Iterable
from datetime import date, timedelta

LONGEST_PAUSE = timedelta(days=84)
"""How long a household may not be used and the clock is believed all the same: twelve weeks, a summer without school (ours)."""
MOST_OF_A_PAUSE = timedelta(days=7)
"""How much of a pause counts as time that has passed where something is kept for some days (ours)."""


def believed_day(sure: date, days: Iterable[date], today: date) -> date:
    """The last day that is believed to have come, not later than the clock's ``today``.

    ``sure``: a day that has come for certain; ``days``: those on which the household was used, in their order.
    """
    reached = min(sure, today)
    for day in [*days, today]:
        if reached < day <= today:
            if day - reached > LONGEST_PAUSE:
                break
            reached = day
    return reached


def days_passed(since: date, days: Iterable[date], until: date) -> int:
    """How many days have passed at the least from one day to another, where each pause counts as a week at most."""
    passed, before = timedelta(), since
    for day in [*days, until]:
        if before < day <= until:
            passed += min(day - before, MOST_OF_A_PAUSE)
            before = day
    return passed.days
