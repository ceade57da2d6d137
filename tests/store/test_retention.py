"""Promise: a lunch is kept for the months the household says, and not a day longer.

The retention of 13 months by default is ours; calendar months are counted as SQL's ``date - interval 'n months'`` does,
which PostgreSQL is asked for.
"""

from datetime import UTC, date, datetime, timedelta

import psycopg
import pytest
import time_machine
from sqlalchemy import select, update

from service.jobs.household.retention.purging import purge
from service.store.access.households import create_household
from service.store.database import Store
from service.store.household import kinds
from service.store.household.records import create
from service.store.kept_replies import fill_place, take_place
from service.store.retention import first_day_kept
from service.store.tables import kept_replies, lunches
from tests.postgres import PostgresServer


def _keep(store: Store, body: dict[str, object], days: list[date], made: date) -> None:
    with time_machine.travel(made), store.writing() as connection:
        household = create_household(connection, body)
        child = create(connection, kinds.CHILD, household, {}, {"name": "rowan"})
        for day in days:
            columns = {"child_id": child.id, "day": day, "kind": "packed"}
            create(connection, kinds.LUNCH, household, {"date": day.isoformat()}, columns)


def _days(store: Store) -> list[date]:
    with store.reading() as connection:
        return sorted(row.day for row in connection.execute(select(lunches.c.day)))


@pytest.mark.parametrize(
    ("body", "today", "first"),
    [
        ({}, date(2026, 11, 25), date(2025, 10, 25)),
        ({"retention_months": 13}, date(2026, 11, 25), date(2025, 10, 25)),
        ({"retention_months": 1}, date(2026, 3, 31), date(2026, 2, 28)),
        ({"retention_months": 1}, date(2028, 3, 31), date(2028, 2, 29)),
        ({"retention_months": 120}, date(2026, 1, 1), date(2016, 1, 1)),
    ],
)
def test_both_sides_of_the_day(store: Store, body: dict[str, object], today: date, first: date) -> None:
    """The day before goes, the day itself stays; a second purge finds nothing."""
    days = [first + timedelta(number) for number in (-400, -1, 0, 1, 30)]
    _keep(store, body, days, today)
    (done,) = purge(store, today)
    assert (done.first_day_kept, done.removed["lunches"]) == (first, 2)
    assert _days(store) == days[2:]
    assert [one.removed["lunches"] for one in purge(store, today)] == [0]


def test_each_household_by_its_own(store: Store) -> None:
    """One keeps a month, the other a year: the same day goes from one and stays with the other."""
    _keep(store, {"retention_months": 1}, [date(2026, 6, 1)], date(2026, 11, 20))
    _keep(store, {"retention_months": 12}, [date(2026, 6, 1)], date(2026, 11, 20))
    assert [one.removed["lunches"] for one in purge(store, date(2026, 11, 25))] == [1, 0]
    assert _days(store) == [date(2026, 6, 1)]


def test_replies_go_with_what_they_tell_of(store: Store) -> None:
    """A reply goes that was seen to be older than a day a day ago; a fresh one goes if it tells of a lunch that is removed, else it stays."""
    today = date(2026, 11, 25)
    with store.writing() as connection:
        household = create_household(connection, {"retention_months": 1})
        child = create(connection, kinds.CHILD, household, {}, {"name": "rowan"})
        made = [
            create(connection, kinds.LUNCH, household, {}, {"child_id": child.id, "day": day, "kind": "none"})
            for day in (date(2026, 1, 5), today)
        ]
        for name, told, age in (("old", made[1].id, 25), ("removed", made[0].id, 0), ("fresh", made[1].id, 0)):
            take_place(connection, household, name, "hash")
            fill_place(connection, household, name, 201, {}, f'{{"id":"{told}"}}'.encode())
            moment = datetime.now(UTC) - timedelta(hours=age)
            connection.execute(
                update(kept_replies)
                .where(kept_replies.c.idempotency_key == name)
                .values(created_at=moment, old_since=moment if age else None)
            )
    purge(store, today)
    with store.reading() as connection:
        assert connection.execute(select(kept_replies.c.idempotency_key)).scalars().all() == ["fresh"]
    assert _days(store) == [today]


@pytest.mark.postgres
def test_months_are_counted_as_sql_counts_them(postgres_server: PostgresServer) -> None:
    """Every day of five years, back by 1 to 30 months."""
    query = """
        SELECT day::date, months, (day - make_interval(months => months))::date
        FROM generate_series('2024-01-01'::date, '2028-12-31', '1 day') AS day, generate_series(1, 30) AS months
    """
    with psycopg.connect(postgres_server.url("postgres")) as connection:
        rows = connection.execute(query).fetchall()
    assert len(rows) == 1827 * 30
    assert [row for row in rows if first_day_kept(row[0], row[1]) != row[2]] == []
