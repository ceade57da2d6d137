"""What was removed for its age and can still be put back: shown, and put back."""

from datetime import date
from typing import Any
from uuid import UUID

from service.store.access.households import household_body, lock_household
from service.store.database import Store
from service.store.household.records import Connection, now
from service.store.removed_records import put_back, removed_of
from service.store.retention import retention_months
from service.store.retention_runs import last_run, note_run


def removed_shown(connection: Connection, household: UUID) -> list[dict[str, Any]]:
    """What can be put back, a row a kind: how many records, of which days, and since when."""
    return [
        {
            "kind": one.kind,
            "count": one.records,
            "first_day": one.first_day.isoformat(),
            "last_day": one.last_day.isoformat(),
            "removed_on": one.removed_on.isoformat(),
        }
        for one in removed_of(connection, household)
    ]


def put_removed_back(store: Store, household: UUID, today: date) -> list[dict[str, Any]]:
    """Put all of it back; how many of each kind, and of how many another is in the place.

    A date that was said to be right by mistake is forgotten with it: nothing after the clock's day is believed any more.
    """
    with store.writing() as connection:
        lock_household(connection, household)
        done = put_back(connection, household)
        run = last_run(connection, household)
        if run is not None:
            note_run(connection, household, now(), min(run.believed, today), {}, run.held)
    return [{"kind": one.kind, "count": one.records, "in_place": one.in_place} for one in done]


def months_kept(connection: Connection, household: UUID) -> int:
    """How many months the household keeps its lunches: what is older goes again."""
    return retention_months(household_body(connection, household))
