"""Logging a lunch against a bare insert of the same row: requests per second on SQLite, same run.

Ours recognises the key, reads the child, checks the lunch, screens it, keeps it and answers with all three; the yardstick
inserts the row through the same framework, driver and settings of the database. Both commit to the disk each time. The
two servers run side by side on stores of their own and are asked in turns.
"""

import json
import socket
import tempfile
import time
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from service.store.access.households import create_household, create_key
from service.store.household.kinds import CHILD
from service.store.household.records import create
from service.store.migrate import open_store
from tests.benchmarks.figure import Figure
from tests.benchmarks.lunch_check_rate import BODY
from tests.benchmarks.server import SERVED, connect, free_port, read_reply, serving

ROUNDS = 6
SECONDS = 1.5
CHILDREN = 40
FIRST, LAST = date(2022, 7, 4), date(2027, 6, 30)
"""Days for which the standard has rules; a child has one lunch a day, so each request is of another child or day."""

CHECK: dict[str, Any] = json.loads(BODY)
KEPT_CHILD: dict[str, Any] = {
    "nickname": "Juniper", "standard": "us-school-lunch", "birth_month": "2014-03", "age_group": "grades-k-5",
    "avoids": [{"allergen": "peanut", "threshold": "may_contain"}], "dislikes": [], "bans": [],
    "ban_threshold": "contains", "sex": None, "height_cm": None, "weight_kg": None, "activity": None,
}  # fmt: skip


def new_store(folder: str, name: str) -> tuple[str, str, str, list[str]]:
    """A store with a household and children: its address, the household's id, a key, the children's ids."""
    url = f"sqlite:///{Path(folder) / name}"
    store = open_store(url)
    with store.writing() as connection:
        household = create_household(connection, {})
        secret = create_key(connection, household, "benchmark", "keep")[1]
        children = [
            str(create(connection, CHILD, household, {**KEPT_CHILD, "nickname": name}, {"name": name}).id)
            for name in (f"child {number}" for number in range(CHILDREN))
        ]
    store.close()
    return url, str(household), secret, children


def lunches(children: list[str], row: dict[str, Any] | None = None) -> Iterator[dict[str, Any]]:
    """Lunches of every day and child; ``row``: with all that such a lunch has in the table."""
    for days in range((LAST - FIRST).days):
        on = (FIRST + timedelta(days=days)).isoformat()
        for child in children:
            yield {**(row or {"kind": "packed", **CHECK["lunch"]}), "child": child, "date": on}


def request(body: dict[str, Any], secret: str) -> bytes:
    """A keep-alive POST of a lunch."""
    sent = json.dumps(body).encode()
    head = "POST /v1/lunches HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: application/json\r\n"
    return f"{head}Authorization: Bearer {secret}\r\nContent-Length: {len(sent)}\r\n\r\n".encode() + sent


def rate(connection: socket.socket, bodies: Iterator[dict[str, Any]], secret: str, seconds: float) -> float:
    """How many lunches are kept a second."""
    count = 0
    spent = 0.0
    while spent < seconds:
        requests = [request(next(bodies), secret) for _ in range(20)]
        began = time.perf_counter()
        for one in requests:
            connection.sendall(one)
            status, reply = read_reply(connection)
            if status != 201:
                raise RuntimeError(f"answered {status}: {reply[:300]!r}")
        spent += time.perf_counter() - began
        count += len(requests)
    return count / spent


def figures() -> Iterator[Figure]:
    """The ratio, with both rates."""
    ours, bare = free_port(), free_port()
    with tempfile.TemporaryDirectory() as folder:
        url, _household, secret, children = new_store(folder, "ours.sqlite3")
        bare_url, bare_household, _secret, bare_children = new_store(folder, "bare.sqlite3")
        bare_settings = {"PACKED_LUNCH_DATABASE_URL": bare_url, "BENCHMARK_HOUSEHOLD": bare_household}
        with (
            serving(SERVED, ours, {"PACKED_LUNCH_DATABASE_URL": url}),
            serving("tests.benchmarks.bare_insert_app:app", bare, bare_settings),
        ):
            our_connection, bare_connection = connect(ours), connect(bare)
            our_lunches = lunches(children)
            our_connection.sendall(request(next(our_lunches), secret))
            status, reply = read_reply(our_connection)
            if status != 201:
                raise RuntimeError(reply.decode())
            row = {name: value for name, value in json.loads(reply)["lunch"].items() if name != "id"}
            row = {name: value for name, value in row.items() if not name.endswith("_at")}
            bare_lunches = lunches(bare_children, row)
            rate(our_connection, our_lunches, secret, 0.5)
            rate(bare_connection, bare_lunches, secret, 0.5)
            our_rates, bare_rates = [], []
            for _ in range(ROUNDS):
                our_rates.append(rate(our_connection, our_lunches, secret, SECONDS))
                bare_rates.append(rate(bare_connection, bare_lunches, secret, SECONDS))
    our, yardstick = sorted(our_rates)[ROUNDS // 2], sorted(bare_rates)[ROUNDS // 2]
    detail = f"{our:.0f}/s against {yardstick:.0f}/s, reply {len(reply)} bytes"
    yield Figure("logging a lunch against a bare insert", our / yardstick, 0.35, detail=detail)
