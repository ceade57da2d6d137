"""A household read whole and put back whole, its ids, versions and moments kept."""

from collections.abc import Iterable, Iterator
from typing import Any
from uuid import UUID

from sqlalchemy import Connection, func, insert, select, update
from sqlalchemy.exc import IntegrityError

from service.domain.errors import AlreadyThere
from service.domain.messages import message
from service.store.household.kinds import KINDS
from service.store.household.records import Kind, Record
from service.store.tables import households

AT_ONCE = 500
_FIELDS = [households.c[name] for name in Record._fields]


def household_record(connection: Connection, household: UUID) -> Record | None:
    """The household itself, or None."""
    row = connection.execute(select(*_FIELDS).where(households.c.id == household)).first()
    return None if row is None else Record._make(row)


def records_of(connection: Connection, kind: Kind, household: UUID) -> Iterator[Record]:
    """All records of a kind, in the order they were made."""
    columns = [kind.table.c[name] for name in Record._fields]
    query = select(*columns).where(kind.table.c.household_id == household).order_by(kind.table.c.id)
    for row in connection.execute(query, execution_options={"yield_per": AT_ONCE}):
        yield Record._make(row)


def holds_records(connection: Connection, household: UUID) -> bool:
    """Whether a household stores anything."""
    return any(
        connection.execute(select(kind.table.c.id).where(kind.table.c.household_id == household).limit(1)).first()
        for kind in KINDS.values()
    )


def count_records(connection: Connection, kind: Kind, household: UUID) -> int:
    """How many records of a kind a household stores."""
    query = select(func.count()).select_from(kind.table).where(kind.table.c.household_id == household)
    return int(connection.execute(query).scalar() or 0)


def kept_elsewhere(connection: Connection, kind: Kind, ids: Iterable[UUID]) -> UUID | None:
    """One of these ids of which a record is kept already, or None."""
    wanted = list(ids)
    for start in range(0, len(wanted), AT_ONCE):
        found = select(kind.table.c.id).where(kind.table.c.id.in_(wanted[start : start + AT_ONCE])).limit(1)
        row = connection.execute(found).first()
        if row is not None:
            return UUID(str(row.id))
    return None


def put_household(connection: Connection, record: Record) -> None:
    """Make a household as it was, or make the one that is there as it was."""
    values = record._asdict()
    if household_record(connection, record.id) is None:
        connection.execute(insert(households).values(**values))
    else:
        connection.execute(update(households).where(households.c.id == record.id).values(**values))


def put_records(
    connection: Connection, kind: Kind, household: UUID, records: Iterable[tuple[Record, dict[str, Any]]]
) -> int:
    """Put records back, each with its columns next to the body; how many. ``AlreadyThere`` where two are the same."""
    rows = [{**record._asdict(), "household_id": household, **columns} for record, columns in records]
    for start in range(0, len(rows), AT_ONCE):
        try:
            connection.execute(insert(kind.table), rows[start : start + AT_ONCE])
        except IntegrityError as fault:
            raise AlreadyThere(
                pointer=f"FILE /{kind.table.name}",
                value=f"the {kind.unique} of a {kind.noun}",
                problem=message("fault.twice-or-alone"),
            ) from fault
    return len(rows)
