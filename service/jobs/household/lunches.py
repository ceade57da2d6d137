"""Which lunches a list is asked for: one child's, one week's."""

from datetime import timedelta
from typing import Any
from uuid import UUID

from service.jobs.weeks.requests import monday_of
from service.store.lunches import of_child, of_days


def lunches_of(child: str | None, week: str | None) -> list[Any]:
    """Conditions for a page of lunches; ``BadInput`` for a week that its year does not have."""
    found = []
    if child is not None:
        found.append(of_child(UUID(child)))
    if week is not None:
        monday = monday_of(week)
        found.append(of_days(monday, monday + timedelta(days=6)))
    return found
