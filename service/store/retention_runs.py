"""When old records of a household were looked for, and on which days it was used: what a clock is compared with.

Runs are numbered, so that their order does not depend on the clock.
"""

from collections.abc import Mapping
from datetime import date, datetime
from typing import NamedTuple
from uuid import UUID

from sqlalchemy import Connection, delete, insert, select, union

from service.store.household.kinds import KINDS
from service.store.tables import devices, households, retention_runs

MOST_RUNS = 500
"""Runs of a household that are noted (ours); older ones go."""


class Run(NamedTuple):
    """A time that old records were looked for.

    ``ran_at``: what the clock said; ``believed``: the last day that is believed to have come; ``removed``, ``held``: how many
    records of each kind were removed, and were not because the clock was not believed.
    """

    number: int
    ran_at: datetime
    believed: date
    removed: dict[str, int]
    held: dict[str, int]


def last_run(connection: Connection, household: UUID) -> Run | None:
    """The last run for a household, or None."""
    runs = retention_runs.c
    columns = [runs[name] for name in Run._fields]
    query = select(*columns).where(runs.household_id == household).order_by(runs.number.desc()).limit(1)
    row = connection.execute(query).first()
    return None if row is None else Run._make(row)


def note_run(
    connection: Connection,
    household: UUID,
    ran_at: datetime,
    believed: date,
    removed: Mapping[str, int],
    held: Mapping[str, int],
) -> None:
    """Note a run; the household is held by this transaction, so that no two take the same number."""
    before = last_run(connection, household)
    number = 1 if before is None else before.number + 1
    values = {"ran_at": ran_at, "believed": believed, "removed": dict(removed), "held": dict(held)}
    connection.execute(insert(retention_runs).values(household_id=household, number=number, **values))
    old = (retention_runs.c.household_id == household, retention_runs.c.number <= number - MOST_RUNS)
    connection.execute(delete(retention_runs).where(*old))


def days_of_use(connection: Connection, household: UUID) -> list[date]:
    """The days, in their order, on which something was stored or a device used, or old records were looked for.

    They are those of the clock at that time, in UTC.
    """
    moments = [
        (table.c.household_id, table.c[name])
        for table in (kind.table for kind in KINDS.values())
        for name in ("created_at", "updated_at")
    ]
    moments += [(households.c.id, households.c.created_at), (households.c.id, households.c.updated_at)]
    moments += [
        (devices.c.household_id, devices.c.last_used_at),
        (retention_runs.c.household_id, retention_runs.c.ran_at),
    ]
    parts = [select(moment.label("moment")).where(owner == household) for owner, moment in moments]
    return sorted({row.moment.date() for row in connection.execute(union(*parts))})
