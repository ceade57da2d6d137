"""Lunches by child and day: which ones a list is asked for, and the one of a day, put in its place."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any
from uuid import UUID

from service.domain.errors import BadInput, LunchError, raise_all
from service.domain.messages import message
from service.jobs.household.kinds import LUNCHES
from service.jobs.household.records import Days, Kept, Record, edited, keep_record
from service.jobs.household.requests import LoggedLunch
from service.jobs.weeks.requests import monday_of
from service.store.household.lunches import from_day, lunch_of_day, of_child, to_day
from service.store.household.records import Connection


def lunches_of(
    child: str | None = None,
    week: str | None = None,
    day: date | None = None,
    first: date | None = None,
    last: date | None = None,
) -> list[Any]:
    """Conditions for a list of lunches: of one child, one ISO week, one day, from one day on, up to one day.

    ``BadInput`` for a week that its year does not have, and where the last day is before the first.
    """
    see_order_of_days(first, last)
    found = [] if child is None else [of_child(UUID(child))]
    if week is not None:
        monday = monday_of(week)
        found += [from_day(monday), to_day(monday + timedelta(days=6))]
    for start, end in ((day, day), (first, None), (None, last)):
        found += [] if start is None else [from_day(start)]
        found += [] if end is None else [to_day(end)]
    return found


def lunch_on(connection: Connection, household: UUID, child: UUID, day: date) -> Record | None:
    """A child's lunch of a day as it is stored, or None."""
    return lunch_of_day(connection, household, child, day)


def see_order_of_days(first: date | None, last: date | None) -> None:
    """``BadInput`` where the last day asked for is before the first."""
    if first is not None and last is not None and last < first:
        raise BadInput(
            pointer="/to",
            value=last.isoformat(),
            problem=message("fault.to-before-from", first=first.isoformat()),
        )


def put_lunch_of_day(
    connection: Connection,
    household: UUID,
    child_id: str,
    day: date,
    asked: LoggedLunch,
    matches: Callable[[int | None], None],
    days: Days | None = None,
) -> Kept:
    """Store a child's lunch of a day, in place of the one that is there; ``created`` says whether there was none.

    ``matches``: raises unless the caller means this version; given None where there is no lunch yet. ``BadInput`` where
    the lunch itself names another child or day.
    """
    faults: list[LunchError] = [
        BadInput(
            pointer=f"/{name}",
            value=given,
            problem=message("fault.not-of-address", meant=meant),
        )
        for name, given, meant in (("child", asked.child, child_id), ("date", f"{asked.date}", f"{day}"))
        if given != meant
    ]
    raise_all(faults)
    before = lunch_of_day(connection, household, UUID(asked.child), day)
    matches(None if before is None else before.version)
    if before is None:
        return keep_record(connection, LUNCHES, household, asked, days)
    return edited(connection, LUNCHES, household, before, asked, days)
