"""School days by date: which ones a list is asked for, and the one of a day."""

from datetime import date
from typing import Any
from uuid import UUID

from service.jobs.household.days.lunches import see_order_of_days
from service.jobs.household.requests import KeptSchoolDay
from service.store.household.records import Connection
from service.store.household.school_days import bodies_of_days, from_day, to_day
from service.store.household.school_days import school_day_of as school_day_of  # noqa: PLC0414 - what the edges are given


def school_days_of(first: date | None = None, last: date | None = None) -> list[Any]:
    """Conditions for a list of school days: from one day on, up to one day.

    ``BadInput`` where the last day is before the first.
    """
    see_order_of_days(first, last)
    found = [] if first is None else [from_day(first)]
    return found if last is None else [*found, to_day(last)]


def school_days_between(connection: Connection, household: UUID, first: date, last: date) -> list[KeptSchoolDay]:
    """What a household has stored of the days from one to another, in their order; days without anything are left out."""
    return [
        KeptSchoolDay.model_validate(body, strict=False) for body in bodies_of_days(connection, household, first, last)
    ]


def offer_of_day(connection: Connection, household: UUID, on: date) -> str | None:
    """The id of the offer that is set out on a day; None where none is."""
    found = school_day_of(connection, household, on)
    return None if found is None else found.body.get("offer")
