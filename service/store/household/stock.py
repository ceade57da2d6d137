"""The stock of a household: its entries held for a change, what a lunch took, and what is removed in time."""

from collections.abc import Collection, Iterable
from uuid import UUID

from sqlalchemy import Connection, select, update

from service.store.household.records import Record
from service.store.tables import lunches, stock, stock_events

_ENTRY = [stock.c[name] for name in Record._fields]
_EVENT = [stock_events.c[name] for name in Record._fields]


def entries_of(connection: Connection, household: UUID, foods: Collection[str] | None = None) -> list[Record]:
    """The entries of some foods, or of all, in the order they were made."""
    query = select(*_ENTRY).where(stock.c.household_id == household).order_by(stock.c.id)
    if foods is not None:
        query = query.where(stock.c.food.in_(list(foods)))
    return [Record._make(row) for row in connection.execute(query)]


def hold_entries(
    connection: Connection, household: UUID, foods: Collection[str], ids: Iterable[UUID] = ()
) -> list[Record]:
    """The entries of some foods, and those of some ids, held until the transaction ends.

    They are taken in the order of their ids by everybody, so that two who hold several never wait for each other.
    """
    query = (
        select(*_ENTRY)
        .where(stock.c.household_id == household, stock.c.food.in_(list(foods)) | stock.c.id.in_(list(ids)))
        .order_by(stock.c.id)
        .with_for_update()
    )
    return [Record._make(row) for row in connection.execute(query)]


def has_stock_of(connection: Connection, household: UUID, foods: Collection[str]) -> bool:
    """Whether a household has, or had, any of these foods in its stock."""
    query = select(stock.c.id).where(stock.c.household_id == household, stock.c.food.in_(list(foods))).limit(1)
    return connection.execute(query).first() is not None


def events_of_entry(connection: Connection, household: UUID, entry: UUID) -> list[Record]:
    """What happened to an entry, oldest first."""
    return events_of_entries(connection, household, [entry])


def events_of_entries(connection: Connection, household: UUID, entries: Collection[UUID]) -> list[Record]:
    """What happened to some entries, oldest first."""
    query = (
        select(*_EVENT)
        .where(stock_events.c.household_id == household, stock_events.c.stock_id.in_(list(entries)))
        .order_by(stock_events.c.id)
    )
    return [Record._make(row) for row in connection.execute(query)]


def events_of_lunch(connection: Connection, household: UUID, lunch: UUID) -> list[Record]:
    """What a lunch took and gave back, oldest first."""
    query = (
        select(*_EVENT)
        .where(stock_events.c.household_id == household, stock_events.c.lunch_id == lunch)
        .order_by(stock_events.c.id)
    )
    return [Record._make(row) for row in connection.execute(query)]


def events_of_lunches(connection: Connection, household: UUID) -> list[Record]:
    """What all lunches took and gave back, oldest first."""
    query = (
        select(*_EVENT)
        .where(stock_events.c.household_id == household, stock_events.c.lunch_id.is_not(None))
        .order_by(stock_events.c.id)
    )
    return [Record._make(row) for row in connection.execute(query)]


def events_of_uses(connection: Connection, household: UUID, made: Collection[UUID]) -> list[Record]:
    """What was taken for entries of what was made, and given back, oldest first."""
    body = stock_events.c.body
    query = (
        select(*_EVENT)
        .where(
            stock_events.c.household_id == household,
            body["event"].as_string().in_(["used", "given_back"]),
            body["other"].as_string().in_([str(one) for one in made]),
        )
        .order_by(stock_events.c.id)
    )
    return [Record._make(row) for row in connection.execute(query)]


def forget_lunches_of(connection: Connection, household: UUID, child: UUID) -> None:
    """What the lunches of a child took from the stock stays taken, and no event says any more which lunch it was."""
    of_child = select(lunches.c.id).where(lunches.c.child_id == child)
    events = select(stock_events).where(stock_events.c.household_id == household, stock_events.c.lunch_id.in_(of_child))
    for row in connection.execute(events.with_for_update()).all():
        connection.execute(
            update(stock_events)
            .where(stock_events.c.id == row.id)
            .values(body={**row.body, "lunch": None}, lunch_id=None)
        )
