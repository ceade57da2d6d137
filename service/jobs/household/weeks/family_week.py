"""One week of all children of a household, with what the school days of it say."""

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any
from uuid import UUID

from service.domain.errors import LunchError
from service.jobs.household.days.school_days import school_days_between
from service.jobs.household.days.school_meals import meals_of_days
from service.jobs.household.kinds import CHILDREN
from service.jobs.household.requests import KeptSchoolDay
from service.jobs.household.weeks.child_week import week_alone
from service.jobs.household.weeks.week_cost import cost_of_all
from service.jobs.weeks.requests import monday_of
from service.store.household.kinds import CHILD
from service.store.household.records import Connection, page

MOST_CHILDREN = 30


def family_week(connection: Connection, household: UUID, week: str) -> dict[str, Any]:
    """The week as a parent sees it.

    ``children``: each with its ``week`` (``week_alone``), or None and ``why_not``: the fault that says what to mend.
    ``cost``: of all their lunches together (``cost_of_all``); None where a child's week could not be summed up, or none has a cost.
    ``school_days``: by day (``school_days_by_day``). Raises ``BadInput`` for a week that its year does not have.
    """
    monday = monday_of(week)
    children = []
    for child in page(connection, CHILD, household, None, MOST_CHILDREN):
        row: dict[str, Any] = {"id": str(child.id), "nickname": child.body["nickname"], "week": None, "why_not": []}
        try:
            row["week"] = week_alone(connection, CHILDREN, household, str(child.id), week)
        except LunchError as fault:  # one child's record or prices are no reason to hide the others
            row["why_not"] = [fault]
        children.append(row)
    weeks = [row["week"] for row in children]
    priced = all(weeks) and any(one["cost"] for one in weeks)
    return {
        "week": week,
        "children": children,
        "cost": cost_of_all(connection, household, week) if priced else None,
        "school_days": school_days_by_day(connection, household, monday),
    }


def school_days_by_day(connection: Connection, household: UUID, monday: date, weeks: int = 1) -> dict[str, Any]:
    """The stored school days of one week or several by their date: names of the meal, ids of who buys it and who must not have it."""
    days = school_days_between(connection, household, monday, monday + timedelta(days=7 * weeks - 1))
    not_for = [(row["date"], row["child"]) for row in meals_of_days(connection, household, days) if row["not_for"]]
    return {one.date.isoformat(): _row(one, not_for) for one in days}


def _row(one: KeptSchoolDay, not_for: Sequence[tuple[str, str]]) -> dict[str, Any]:
    return {
        "menu": None if one.menu is None else one.menu.name,
        "buys": list(one.buys),
        "not_for": [child for on, child in not_for if on == one.date.isoformat()],
    }
