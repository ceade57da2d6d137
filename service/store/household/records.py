"""Records of a household: made, read, paged, edited and removed, always within one household.

Every function takes the household's id and looks at nothing else: a record of another household is not there. An edit
names the version it was made from, so that of two edits at once the second is refused instead of undoing the first.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime
from functools import lru_cache
from typing import Any, Literal, NamedTuple
from uuid import UUID

from sqlalchemy import Connection as Connection  # noqa: PLC0414 - jobs hand it on and ask it nothing
from sqlalchemy import (
    Row,
    Select,
    String,
    Table,
    UniqueConstraint,
    bindparam,
    case,
    cast,
    delete,
    func,
    literal,
    select,
    update,
)
from sqlalchemy.exc import IntegrityError
from uuid_utils.compat import uuid7

from service.domain.errors import AlreadyThere, NotThere, StaleEdit
from service.domain.messages import message
from service.store.wiping import note_removal

Columns = Mapping[str, Any]


class Record(NamedTuple):
    """One record. ``body``: what was asked to be stored, with its defaults."""

    id: UUID
    version: int
    created_at: datetime
    updated_at: datetime
    body: dict[str, Any]


class Kind(NamedTuple):
    """A kind of record: its table, what one is called, and what makes one the same as another."""

    table: Table
    noun: str
    unique: str

    def unique_columns(self, *, whole: bool = False) -> tuple[str, ...]:
        """The columns of which no two records of a household have the same values; ``whole``: with the household's.

        None where two records may be alike.
        """
        rule = next((one for one in self.table.constraints if isinstance(one, UniqueConstraint)), None)
        if rule is None:
            return ()
        return tuple(column.name for column in rule.columns if whole or column.name != "household_id")


def new_id() -> UUID:
    """An id that sorts by the time it was made."""
    return uuid7()


def now() -> datetime:
    """This moment, in UTC."""
    return datetime.now(UTC)


def now_or_later(table: Table) -> Any:
    """This moment for ``updated_at``, or what a row has there if that is later: where the clock was set back, it does not go back."""
    moment = literal(now(), table.c.updated_at.type)
    return case((table.c.updated_at > moment, table.c.updated_at), else_=moment)


def create(
    connection: Connection,
    kind: Kind,
    household: UUID,
    body: dict[str, Any],
    columns: Columns,
    record_id: UUID | None = None,
) -> Record:
    """Keep a new record; ``AlreadyThere`` with the other's id where one with the same name (day, ...) is kept.

    ``record_id``: its id, where that is fixed; otherwise a new one.
    """
    moment = now()
    record = Record(record_id or new_id(), 1, moment, moment, body)
    values = {**record._asdict(), "household_id": household, **columns}
    with _unique(kind):
        if not insert(connection, kind, values):
            raise already_there(kind, find_same(connection, kind, household, columns))
    return record


def insert(connection: Connection, kind: Kind, values: Columns) -> bool:
    """Put in a row unless one with the same name (day, ...) is there; whether it was put in."""
    # imported here: a service on SQLite then starts without what belongs to PostgreSQL
    if connection.dialect.name == "postgresql":
        from sqlalchemy.dialects import postgresql

        made: Any = postgresql.insert(kind.table)
    else:
        from sqlalchemy.dialects import sqlite

        made = sqlite.insert(kind.table)
    same = [kind.table.c[name] for name in kind.unique_columns(whole=True)]
    query = made.values(**values)
    if same:
        query = query.on_conflict_do_nothing(index_elements=same)
    return connection.execute(query.returning(kind.table.c.id)).first() is not None


def find_same(connection: Connection, kind: Kind, household: UUID, columns: Columns) -> Record | None:
    """The record that has the same name (day, ...) as these columns, or None."""
    if not kind.unique_columns():
        return None
    row = connection.execute(_same(kind), {**columns, "household": household}).first()
    return None if row is None else _record(row)


Hold = Literal["", "share", "alone"]
"""How a record is held until the transaction ends: so that nobody deletes it, or so that nobody else holds it.

SQLite has one writer at a time and needs neither.
"""


def find(connection: Connection, kind: Kind, household: UUID, record_id: UUID, hold: Hold = "") -> Record | None:
    """The record, or None."""
    row = connection.execute(_one(kind, hold), {"record_id": record_id, "household": household}).first()
    return None if row is None else _record(row)


def get(connection: Connection, kind: Kind, household: UUID, record_id: UUID, hold: Hold = "") -> Record:
    """The record; ``NotThere`` if this household has none of that id."""
    record = find(connection, kind, household, record_id, hold)
    if record is None:
        raise not_there(kind, record_id)
    return record


def with_ids(kind: Kind, ids: Sequence[UUID]) -> Any:
    """A condition for ``page``: only the records of these ids."""
    return kind.table.c.id.in_(ids)


def page(
    connection: Connection, kind: Kind, household: UUID, after: UUID | None, limit: int, where: Sequence[Any] = ()
) -> list[Record]:
    """Up to ``limit`` records in the order they were made, those after an id."""
    query = _in_order(kind)
    if where:
        query = query.where(*where)
    if after is not None:
        query = query.where(kind.table.c.id > after)
    return [_record(row) for row in connection.execute(query, {"household": household, "limit": limit})]


def replace(
    connection: Connection,
    kind: Kind,
    household: UUID,
    record_id: UUID,
    version: int,
    body: dict[str, Any],
    columns: Columns,
) -> Record:
    """Keep an edit made from a version.

    ``NotThere`` if there is no such record; ``StaleEdit`` if it was edited since; ``AlreadyThere`` if the edit would
    make it the same as another.
    """
    table = kind.table
    same = find_same(connection, kind, household, columns) if columns else None
    if same is not None and same.id != record_id:
        raise already_there(kind, same)
    with _unique(kind):
        row = connection.execute(
            update(table)
            .where(*_this(kind, household, record_id), table.c.version == version)
            .values(body=body, version=version + 1, updated_at=now_or_later(table), **columns)
            .returning(*_columns(kind))
        ).first()
    if row is None:
        raise _stale(connection, kind, household, record_id)
    return _record(row)


def remove(connection: Connection, kind: Kind, household: UUID, record_id: UUID, version: int | None = None) -> None:
    """Delete a record, with all that hangs on it; with ``version``, only if it was not edited since."""
    query = delete(kind.table).where(*_this(kind, household, record_id))
    if version is not None:
        query = query.where(kind.table.c.version == version)
    if connection.execute(query).rowcount == 0:
        raise _stale(connection, kind, household, record_id)
    note_removal(connection)


def change_naming(
    connection: Connection,
    kind: Kind,
    household: UUID,
    record_id: UUID,
    change: Callable[[dict[str, Any]], dict[str, Any]],
) -> None:
    """Change the body of every record of a kind that names an id anywhere in it."""
    table = kind.table
    naming = select(table).where(table.c.household_id == household, _names(table, record_id)).with_for_update()
    for row in connection.execute(naming).all():
        changed = {"body": change(row.body), "version": row.version + 1, "updated_at": now_or_later(table)}
        connection.execute(update(table).where(table.c.id == row.id).values(changed))


def forget_in(connection: Connection, kind: Kind, household: UUID, field: str, record_id: UUID) -> None:
    """An id stands in a list of no body any more; the records stay."""

    def without(body: dict[str, Any]) -> dict[str, Any]:
        return {**body, field: [one for one in body[field] if one != str(record_id)]}

    change_naming(connection, kind, household, record_id, without)


def count_naming(connection: Connection, kind: Kind, household: UUID, record_id: UUID) -> int:
    """How many records of a kind name an id anywhere in their body."""
    table = kind.table
    found = connection.execute(
        select(func.count()).where(table.c.household_id == household, _names(table, record_id))
    ).scalar()
    return int(found or 0)


def _names(table: Table, record_id: UUID) -> Any:
    return cast(table.c.body, String).contains(str(record_id), autoescape=True)


def not_there(kind: Kind, record_id: UUID | str) -> NotThere:
    """The fault for an id that this household has no record of."""
    return NotThere(
        pointer="/id",
        value=str(record_id),
        problem=message("fault.not-here", noun=kind.noun),
    )


def already_there(kind: Kind, there: Record | None) -> AlreadyThere:
    """The fault for a record that would be the same as another; ``there``: the other, where it is known."""
    fault = AlreadyThere(
        pointer=f"/{kind.unique}",
        value=f"(the {kind.unique})",
        problem=message("fault.already-there", noun=kind.noun, field=kind.unique)
        if there is None
        else message("fault.already-there-with-id", noun=kind.noun, field=kind.unique, id=str(there.id)),
    )
    fault.existing_id = None if there is None else str(there.id)
    return fault


def _stale(connection: Connection, kind: Kind, household: UUID, record_id: UUID) -> NotThere | StaleEdit:
    there = find(connection, kind, household, record_id)
    if there is None:
        return not_there(kind, record_id)
    return StaleEdit(
        pointer="/version",
        value=str(there.version),
        problem=message("fault.stale-edit", noun=kind.noun),
    )


@contextmanager
def _unique(kind: Kind) -> Iterator[None]:
    """Reports a record that another has made meanwhile as ``AlreadyThere``; the transaction is given up."""
    try:
        yield
    except IntegrityError as fault:
        if "FOREIGN KEY" in str(fault.orig).upper():
            raise NotThere(
                pointer="/id",
                value="(an id)",
                problem=message("fault.owner-gone", noun=kind.noun),
            ) from fault
        raise already_there(kind, None) from fault


def _columns(kind: Kind) -> list[Any]:
    return [kind.table.c[name] for name in Record._fields]


def _select(kind: Kind) -> Select[Any]:
    return select(*_columns(kind))


@lru_cache
def _same(kind: Kind) -> Select[Any]:
    """The query for the record with the same name (day, ...), made once."""
    same = [kind.table.c[name] == bindparam(name) for name in kind.unique_columns()]
    return _select(kind).where(kind.table.c.household_id == bindparam("household"), *same)


@lru_cache
def _in_order(kind: Kind) -> Select[Any]:
    """The query for the first records of a kind in the order they were made, made once."""
    table = kind.table
    query = _select(kind).where(table.c.household_id == bindparam("household"))
    return query.order_by(table.c.id).limit(bindparam("limit"))


@lru_cache
def _one(kind: Kind, hold: Hold) -> Select[Any]:
    """The query for one record, made once: most of what a page reads is read so."""
    query = _select(kind).where(*_this(kind, bindparam("household"), bindparam("record_id")))
    return query.with_for_update(read=hold == "share") if hold else query


def _this(kind: Kind, household: Any, record_id: Any) -> tuple[Any, Any]:
    return kind.table.c.id == record_id, kind.table.c.household_id == household


def _record(row: Row[Any]) -> Record:
    return Record._make(row)
