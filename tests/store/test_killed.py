"""Promise: nothing acknowledged is lost, and nothing is half there, however often the server is killed while it is written to.

A real server process takes lunches over HTTP from several writers at once and is killed with SIGKILL fifty times; on
PostgreSQL the database server is killed too, every tenth time. A writer whose answer did not come asks again with the same
Idempotency-Key, and must find the lunch kept once.
"""

import http.client
import json
import os
import random
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from sqlalchemy import select, text

from service.store.access.households import all_households, create_household, create_key
from service.store.database import Store
from service.store.household import kinds
from service.store.household.records import create, replace
from service.store.kept_replies import fill_place, take_place
from service.store.migrate import open_store
from service.store.tables import kept_replies, lunches
from tests.postgres import PostgresServer, postgres_running
from tests.served import GENEROUS, ROOT, free_port

KILLS = 50
EACH = 2
"""Lunches that are acknowledged before each kill, however slow the machine is."""
WRITERS = 4
FIRST_DAY = date(2022, 7, 4)


@pytest.fixture(scope="module")
def durable_server() -> Iterator[PostgresServer]:
    """A PostgreSQL server of this module's own, with every commit on the disk."""
    with postgres_running(durable=True) as server:
        yield server


class Writer(threading.Thread):
    """Logs one lunch after the other for a child of its own; ``asked``: day -> quantities; ``kept``: id -> day."""

    def __init__(self, port: int, secret: str, child: UUID, stop: threading.Event) -> None:
        super().__init__()
        self.port, self.secret, self.child, self.stop = port, secret, child, stop
        self.asked: dict[date, list[float]] = {}
        self.kept: dict[UUID, date] = {}
        self.repeated = 0
        self.refused: list[str] = []

    def run(self) -> None:
        """Write until told to stop; what was not answered is asked again."""
        number = 0
        while not self.stop.is_set():
            day = FIRST_DAY + timedelta(number)
            self.asked[day] = [1 + number / 8, 2.5]
            first = True
            while not self.stop.is_set():
                try:
                    status, answer = self._log(day)
                except (OSError, http.client.HTTPException):
                    first = False
                    time.sleep(0.005)
                    continue
                if status == 201:
                    self.kept[UUID(answer["lunch"]["id"])] = day
                    self.repeated += not first
                    break
                if status != 503:  # 503: the store does not answer just now
                    self.refused.append(f"{status} {answer}")
                    return
                first = False
                time.sleep(0.02)
            number += 1

    def _log(self, day: date) -> tuple[int, Any]:
        one, other = self.asked[day]
        body = {
            "child": str(self.child), "date": day.isoformat(), "kind": "packed",
            "items": [
                {"food": "apple", "quantity": one, "unit": "g"}, {"food": "milk-1-percent", "quantity": other, "unit": "g"},
            ],
        }  # fmt: skip
        headers = {
            "Content-Type": "application/json", "Authorization": f"Bearer {self.secret}",
            "Idempotency-Key": f"{self.child}/{day}",
        }  # fmt: skip
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=GENEROUS)
        try:
            connection.request("POST", "/v1/lunches", json.dumps(body), headers)
            answer = connection.getresponse()
            return answer.status, json.loads(answer.read())
        finally:
            connection.close()


def _family(store: Store) -> tuple[str, list[UUID]]:
    """A key, and a child for every writer."""
    with store.writing() as connection:
        household = create_household(connection, {})
        _, secret = create_key(connection, household, "first", "keep")
        children = [
            create(
                connection, kinds.CHILD, household,
                {"nickname": f"child {number}", "standard": "us-school-lunch", "birth_month": "2012-05"}, {"name": f"child {number}"},
            ).id
            for number in range(WRITERS)
        ]  # fmt: skip
    return secret, children


def _kill_again_and_again(url: str, database: PostgresServer | None) -> list[Writer]:
    """Have the writers write while the server is killed; what they were told."""
    store = open_store(url)
    secret, children = _family(store)
    store.close()
    port, chance, stop = free_port(), random.Random(7), threading.Event()  # noqa: S311 - moments to kill at
    writers = [Writer(port, secret, child, stop) for child in children]
    clean = {name: value for name, value in os.environ.items() if not name.startswith("PACKED_LUNCH_")}
    with subprocess.Popen(
        [sys.executable, "-m", "tests.store.warm_server", str(port), url],
        cwd=ROOT, env=clean, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, bufsize=1,
    ) as forker:  # fmt: skip
        assert forker.stdin is not None
        assert forker.stdout is not None
        try:
            assert forker.stdout.readline() == "ready\n"
            for writer in writers:
                writer.start()
            for number in range(KILLS):
                print("serve", file=forker.stdin)
                server = int(forker.stdout.readline())
                before = sum(len(writer.kept) for writer in writers)
                until = time.monotonic() + GENEROUS
                while sum(len(one.kept) for one in writers) < before + EACH and not any(one.refused for one in writers):
                    assert time.monotonic() < until, f"fewer than {EACH} lunches were logged in {GENEROUS:.0f} s"
                    time.sleep(0.002)
                time.sleep(chance.uniform(0, 0.12))
                if database is not None and number % 10 == 9:
                    database.kill()
                os.kill(server, signal.SIGKILL)
                if database is not None and number % 10 == 9:
                    database.start()
        finally:
            stop.set()
            for writer in writers:
                if writer.ident is not None:
                    writer.join()
            forker.stdin.close()
    return writers


def _see_that_all_is_there(store: Store, writers: list[Writer]) -> None:
    with store.reading() as connection:
        there = {row.id: row for row in connection.execute(select(lunches))}
        replies = [row.status for row in connection.execute(select(kept_replies.c.status))]
        if connection.dialect.name == "sqlite":
            assert connection.execute(text("PRAGMA integrity_check")).scalar() == "ok"
            assert connection.execute(text("PRAGMA foreign_key_check")).all() == []
    asked = {(writer.child, day): amounts for writer in writers for day, amounts in writer.asked.items()}
    kept = {lunch: (writer.child, day) for writer in writers for lunch, day in writer.kept.items()}
    assert [lunch for lunch in kept if lunch not in there] == []
    for lunch, row in there.items():
        assert [item["quantity"] for item in row.body["items"]] == asked[row.child_id, row.day]
        assert row.body["found"]["verdict"]
        assert kept.get(lunch, (row.child_id, row.day)) == (row.child_id, row.day)
    assert len({(row.child_id, row.day) for row in there.values()}) == len(there)
    assert len(there) - len(kept) <= WRITERS  # answered or not, each writer has one under way at most
    assert replies == [201] * len(there)


@pytest.mark.parametrize("backend", ["sqlite", pytest.param("postgresql", marks=pytest.mark.postgres)])
def test_fifty_kills(backend: str, request: pytest.FixtureRequest, tmp_path: Path) -> None:
    """Every acknowledged lunch is there as it was sent; every lunch there was sent, once, and is whole."""
    database: PostgresServer | None = None
    if backend == "postgresql":
        database = request.getfixturevalue("durable_server")
        url = database.new_database()
    else:
        url = f"sqlite:///{tmp_path / 'store.sqlite3'}"
    writers = _kill_again_and_again(url, database)
    assert [writer.refused for writer in writers if writer.refused] == []
    store = open_store(url)
    _see_that_all_is_there(store, writers)
    store.close()
    acknowledged = sum(len(writer.kept) for writer in writers)
    assert acknowledged >= EACH * KILLS
    assert sum(writer.repeated for writer in writers) >= KILLS // 2  # the kills hit writers in the middle of it


def test_what_is_lost_or_half_would_be_told(store: Store) -> None:
    """The comparison itself: one acknowledged lunch that is not there, one with an item too few, one nobody sent."""
    _, children = _family(store)
    with store.reading() as connection:
        household = all_households(connection)[0][0]
    writer = Writer(0, "", children[0], threading.Event())
    writer.asked = {FIRST_DAY: [1.0, 2.5], FIRST_DAY + timedelta(1): [1.125, 2.5]}
    items = [{"food": "apple", "quantity": 1.0}, {"food": "milk-1-percent", "quantity": 2.5}]
    body = {"items": items, "found": {"verdict": "adjust"}}
    columns = {"child_id": children[0], "day": FIRST_DAY, "kind": "packed"}
    with store.writing() as connection:
        lunch = create(connection, kinds.LUNCH, household, body, columns)
        take_place(connection, household, "one", "hash")
        fill_place(connection, household, "one", 201, {}, b"{}")
    writer.kept = {lunch.id: FIRST_DAY}
    _see_that_all_is_there(store, [writer])
    writer.kept = {lunch.id: FIRST_DAY, UUID(int=1): FIRST_DAY + timedelta(1)}
    with pytest.raises(AssertionError):
        _see_that_all_is_there(store, [writer])
    writer.kept = {lunch.id: FIRST_DAY}
    with store.writing() as connection:
        replace(connection, kinds.LUNCH, household, lunch.id, 1, {**body, "items": items[:1]}, columns)
    with pytest.raises(AssertionError):
        _see_that_all_is_there(store, [writer])
    with store.writing() as connection:
        replace(connection, kinds.LUNCH, household, lunch.id, 2, body, {**columns, "day": FIRST_DAY + timedelta(9)})
    with pytest.raises((AssertionError, KeyError)):
        _see_that_all_is_there(store, [writer])
