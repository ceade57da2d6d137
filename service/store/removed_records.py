"""Records that were removed for their age, kept apart for a while so that they can be put back.

They go with the child and the household that they are of, and with whatever they name: deleted is deleted.
"""

from collections.abc import Callable, Mapping, Sequence
from datetime import date, datetime
from typing import Any, NamedTuple
from uuid import UUID

from sqlalchemy import Column, Connection, Date, String, Table, Uuid, cast, delete, func, insert, select, update

from service.store.household.kinds import KINDS, STOCK_EVENT
from service.store.household.records import insert as put_in
from service.store.household.records import new_id
from service.store.tables import Moment, removed_records

AT_ONCE = 500
EVENTS = str(STOCK_EVENT.table.name)
SCHOOL_DAYS = "school_days"
_BACK: tuple[tuple[type[Any], Callable[[str], Any]], ...] = (
    (Uuid, UUID),
    (Moment, datetime.fromisoformat),
    (Date, date.fromisoformat),
)
_OLD = removed_records.c


class Removed(NamedTuple):
    """What can be put back of a kind: how many records, their first and last day, and when the first of them was removed."""

    kind: str
    records: int
    first_day: date
    last_day: date
    removed_on: date


class PutBack(NamedTuple):
    """How many records of a kind were put back, and how many were not since another is in their place."""

    kind: str
    records: int
    in_place: int


def set_aside(connection: Connection, table: Table, where: Sequence[Any], removed_on: date) -> list[UUID]:
    """Move records out of their table; their ids. Their day is that of the record, or that on which it was last changed."""
    rows = connection.execute(select(table).where(*where).with_for_update()).mappings().all()
    for start in range(0, len(rows), AT_ONCE):
        some = rows[start : start + AT_ONCE]
        connection.execute(insert(removed_records), [_apart(table, dict(row), removed_on) for row in some])
        connection.execute(delete(table).where(table.c.id.in_([row["id"] for row in some])))
    return [row["id"] for row in rows]


def removed_of(connection: Connection, household: UUID) -> list[Removed]:
    """What can be put back of a household, a row a kind; events of the stock go with their entries."""
    query = (
        select(_OLD.kind, func.count(), func.min(_OLD.day), func.max(_OLD.day), func.min(_OLD.removed_on))
        .where(_OLD.household_id == household, _OLD.kind != EVENTS)
        .group_by(_OLD.kind)
        .order_by(_OLD.kind)
    )
    return [Removed(*row) for row in connection.execute(query)]


def put_back(connection: Connection, household: UUID) -> list[PutBack]:
    """Put all back that was removed of a household, but where there is another record in the place of one: that one stays removed."""
    done = []
    for name, kind in KINDS.items():
        of_kind = (_OLD.household_id == household, _OLD.kind == name)
        rows = connection.execute(select(_OLD.id, _OLD.row).where(*of_kind).order_by(_OLD.record_id)).all()
        back = [row.id for row in rows if _put(connection, kind, row.row)]
        for start in range(0, len(back), AT_ONCE):
            connection.execute(delete(removed_records).where(_OLD.id.in_(back[start : start + AT_ONCE])))
        if rows and name != EVENTS:
            done.append(PutBack(name, len(back), len(rows) - len(back)))
    return done


def columns_as_before(kind: str, row: Mapping[str, Any]) -> dict[str, Any]:
    """The columns of a removed record as they were; ``KeyError``, ``ValueError`` or ``TypeError`` if ``row`` does not hold them."""
    return {column.name: _value(column, row[column.name]) for column in KINDS[kind].table.columns}


def removal_days(connection: Connection, household: UUID) -> list[date]:
    """The days on which something was removed that can still be put back."""
    query = select(_OLD.removed_on).where(_OLD.household_id == household).distinct().order_by(_OLD.removed_on)
    return list(connection.execute(query).scalars())


def drop_removed_on(connection: Connection, household: UUID, day: date) -> int:
    """Delete for good what was removed on a day; how many records."""
    these = (_OLD.household_id == household, _OLD.removed_on == day)
    return connection.execute(delete(removed_records).where(*these)).rowcount


def forget_removed_naming(connection: Connection, household: UUID, record_id: UUID) -> None:
    """Delete for good what was removed and names a record that is deleted now; a school day stays, without a child that bought.

    What a lunch took from the stock only names the lunch, so it stays.
    """
    names = cast(_OLD.row, String).contains(str(record_id), autoescape=True)
    these = (_OLD.household_id == household, _OLD.kind != EVENTS, names)
    gone = []
    for row in connection.execute(select(_OLD.id, _OLD.kind, _OLD.record_id, _OLD.row).where(*these)).all():
        buys = row.row["body"].get("buys", []) if row.kind == SCHOOL_DAYS else []
        if str(record_id) in buys:
            body = {**row.row["body"], "buys": [one for one in buys if one != str(record_id)]}
            changed = {**row.row, "body": body}
            connection.execute(update(removed_records).where(_OLD.id == row.id).values(row=changed))
        else:
            gone.append(row.record_id)
            connection.execute(delete(removed_records).where(_OLD.id == row.id))
    for entry in gone:
        events = (_OLD.household_id == household, _OLD.kind == EVENTS)
        of_entry = cast(_OLD.row, String).contains(str(entry), autoescape=True)
        connection.execute(delete(removed_records).where(*events, of_entry))


def _apart(table: Table, row: Mapping[str, Any], removed_on: date) -> dict[str, Any]:
    return {
        "id": new_id(),
        "household_id": row["household_id"],
        "child_id": row.get("child_id"),
        "kind": table.name,
        "record_id": row["id"],
        "day": row.get("day") or row["updated_at"].date(),
        "removed_on": removed_on,
        "row": {name: _plain(value) for name, value in row.items()},
    }


def _put(connection: Connection, kind: Any, row: dict[str, Any]) -> bool:
    table: Table = kind.table
    if kind is STOCK_EVENT and not _is_there(connection, KINDS["stock"].table, UUID(row["stock_id"])):
        return False
    if _is_there(connection, table, UUID(row["id"])):
        return False
    return put_in(connection, kind, columns_as_before(table.name, row))


def _is_there(connection: Connection, table: Table, record_id: UUID) -> bool:
    return connection.execute(select(table.c.id).where(table.c.id == record_id)).first() is not None


def _plain(value: Any) -> Any:
    if isinstance(value, UUID):
        return str(value)
    return value.isoformat() if isinstance(value, date) else value


def _value(column: Column[Any], plain: Any) -> Any:
    read = next((read for of_type, read in _BACK if isinstance(column.type, of_type)), None)
    return plain if plain is None or read is None else read(plain)
