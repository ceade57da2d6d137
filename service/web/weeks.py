"""Weeks as pages are asked for them: one by its name, those beside it, and their days."""

import re
from datetime import date, timedelta
from typing import NamedTuple

from service.domain.errors import BadInput
from service.domain.messages import message
from service.jobs.household.access.households import today
from service.jobs.requests.fields import ISO_WEEK
from service.jobs.weeks.requests import monday_of, week_of


class WeekAsked(NamedTuple):
    """A week: its name (2026-W48), its Monday, and the names of the one before and the one after."""

    week: str
    monday: date
    before: str
    after: str

    @property
    def last(self) -> date:
        """Its Sunday."""
        return self.monday + timedelta(days=6)

    def school_days(self, weeks: int = 1) -> list[date]:
        """Monday to Friday of it, and of as many weeks from it on."""
        return [self.monday + timedelta(days=day, weeks=week) for week in range(weeks) for day in range(5)]


def week_asked(text: str) -> WeekAsked:
    """The week of a name; without one, the week of today. ``BadInput`` for a text that is no week.

    >>> week_asked("2026-W49").before
    '2026-W48'
    """
    week = text or week_of(today())
    if not re.match(ISO_WEEK, week):
        raise BadInput(pointer="/week", value=week, problem=message("fault.no-week"))
    monday = monday_of(week)
    return WeekAsked(week, monday, week_of(monday - timedelta(days=7)), week_of(monday + timedelta(days=7)))
