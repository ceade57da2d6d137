"""A PostgreSQL store with many households, each with the demo family's weeks: made inside the database, so it is quick."""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, timedelta
from uuid import UUID

import orjson
from sqlalchemy import Connection, event, text

from service.jobs.household.demo import DemoHousehold, keep_demo_household
from service.jobs.household.kinds import CHILDREN, PLANS
from service.jobs.household.records import keep_record, read_asked
from service.jobs.household.weeks.child_week import child_week
from service.store.database import Store
from service.store.household.kinds import OFFER
from service.store.household.records import page
from service.store.tables import METADATA

TODAY = date(2026, 11, 25)
WEEKS_OF_DEMO = 4
COPIED = (
    "children",
    "foods",
    "packets",
    "recipes",
    "offers",
    "prices",
    "lunches",
    "school_days",
    "stock",
    "stock_events",
    "plans",
)


def one_family(store: Store, weeks: int) -> DemoHousehold:
    """The demo family, its four weeks again and again, going back from this one; and a plan of the week to come."""
    kept = keep_demo_household(store, TODAY)
    with store.writing() as connection:
        _keep_plan(connection, kept)
        for number in range(1, weeks // WEEKS_OF_DEMO):
            _copy(connection, "lunches", {
                "id": f"md5(id::text || 'w{number}')::uuid",
                "day": f"day - {number * WEEKS_OF_DEMO * 7}",
                "body": f"jsonb_set(body::jsonb, '{{date}}', to_jsonb((day - {number * WEEKS_OF_DEMO * 7})::text))::json",
            }, f"day >= '{kept.first_monday}'")  # fmt: skip
    return kept


def _keep_plan(connection: Connection, kept: DemoHousehold) -> None:
    monday = kept.first_monday + timedelta(weeks=WEEKS_OF_DEMO)
    asked = {
        "days": [(monday + timedelta(day)).isoformat() for day in range(5)],
        "children": [str(child) for child in kept.children.values()],
        "offers": [{"id": "usual", "offer": str(page(connection, OFFER, kept.household, None, 1)[0].id)}],
    }
    body = read_asked(PLANS, orjson.dumps({"name": "the week to come", "asked": asked}))
    keep_record(connection, PLANS, kept.household, body, None)


def many_families(store: Store, count: int) -> None:
    """The one family that is there, so many times."""
    series = f"generate_series(1, {count - 1}) AS n"

    def other(column: str) -> str:
        return f"md5({column}::text || n)::uuid"

    with store.writing() as connection:
        _copy(connection, "households", {"id": other("id")}, "true", series)
        for table in COPIED:
            changed = {"id": other("id"), "household_id": other("household_id")}
            if table == "lunches":
                changed["child_id"] = other("child_id")
            if table == "stock_events":
                changed["stock_id"] = other("stock_id")
            _copy(connection, table, changed, "true", series)
    with store.engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
        connection.execute(text("VACUUM ANALYZE"))


def _copy(connection: Connection, table: str, changed: dict[str, str], where: str, also: str = "") -> None:
    names = [column.name for column in METADATA.tables[table].columns]
    values = ", ".join(changed.get(name, name) for name in names)
    source = f"{table}, {also}" if also else table
    connection.execute(text(f"INSERT INTO {table} ({', '.join(names)}) SELECT {values} FROM {source} WHERE {where}"))  # noqa: S608


def week_of(store: Store, household: UUID, child: UUID, week: str) -> dict[str, object]:
    """A child's week as the service sums it up."""
    with store.reading() as connection:
        return child_week(connection, CHILDREN, household, str(child), week)


@contextmanager
def plans(store: Store) -> Iterator[list[str]]:
    """Collects how PostgreSQL goes about each query asked meanwhile."""
    asked: list[tuple[str, object]] = []
    found: list[str] = []

    def note(_c: object, _cursor: object, statement: str, parameters: object, _x: object, _many: bool) -> None:
        if statement.startswith("SELECT"):
            asked.append((statement, parameters))

    event.listen(store.engine, "before_cursor_execute", note)
    try:
        yield found
    finally:
        event.remove(store.engine, "before_cursor_execute", note)
    with store.engine.connect() as connection:
        for statement, parameters in asked:
            rows = connection.exec_driver_sql("EXPLAIN " + statement, parameters)  # type: ignore[arg-type]
            found.append("\n".join(str(row[0]) for row in rows))


def whole_tables_read(found: list[str]) -> list[str]:
    """Tables that any of these plans reads from end to end."""
    return sorted({table for plan in found for table in re.findall(r"Seq Scan on (\w+)", plan)})


def monday_before(weeks: int) -> date:
    """A Monday so many weeks ago."""
    return TODAY - timedelta(days=TODAY.weekday(), weeks=weeks)
