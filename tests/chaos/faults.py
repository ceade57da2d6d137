"""What is done to the service: each fault begins, lasts a short while, and ends whatever happens."""

import http.client
import json
import os
import random
import signal
import socket
import sqlite3
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, ExitStack, contextmanager, suppress
from pathlib import Path

import psycopg
from sqlalchemy import make_url

from tests.chaos.asking import Caller, NoAnswer
from tests.chaos.clock import Clock
from tests.chaos.disk import Disk
from tests.chaos.findings import Notes
from tests.postgres import PostgresServer

OFFSETS = ("+90s", "-90s", "+2h", "-2h", "+30h", "-30h", "+40d", "-40d", "+3y", "-3y")
IDLE, TRICKLING, AUDITS = 200, 60, 8
CALM = (0.3, 2.0)
"""Seconds between two faults."""
ENTRY_S = 30.0
"""Seconds in which another program gets into PostgreSQL, which may be recovering from the fault before."""
Wait = Callable[[float], None]


class Faults(threading.Thread):
    """One fault after the other until told to stop."""

    def __init__(
        self,
        url: str,
        port: int,
        api: Caller,
        disk: Disk,
        clock: Clock | None,
        database: PostgresServer | None,
        notes: Notes,
        seed: int,
    ) -> None:
        super().__init__(name="faults", daemon=True)
        self.url, self.port, self.api, self.disk, self.clock, self.database, self.notes = (
            url,
            port,
            api,
            disk,
            clock,
            database,
            notes,
        )
        self.draw = random.Random(f"{seed}/faults")  # noqa: S311 - faults to make
        self.over = threading.Event()
        self.kinds = [self.idle_connections, self.trickled_bodies, self.heavy_audits]
        self.kinds += [self.full_disk] * 2 if disk.can_be_filled else []
        self.kinds += [self.wrong_clock] * 3 if clock is not None else []
        if database is None:
            self.kinds += [self.sqlite_lock] * 3
        else:
            self.kinds += [
                self.database_killed,
                self.database_stopped,
                self.database_frozen,
                self.tables_locked,
                self.rows_locked,
            ]

    def run(self) -> None:
        """Make them: each once in every round, in another order each time, so that none is left out of a short run."""
        round_: list[Callable[[], AbstractContextManager[float]]] = []
        try:
            while not self.over.wait(self.draw.uniform(*CALM)):
                if not round_:
                    round_ = self.draw.sample(self.kinds, len(self.kinds))
                with round_.pop()() as seconds:
                    self.over.wait(seconds)
                self.notes.fault = "nothing"
                if not round_:
                    self.notes.count("whole rounds of all faults")
        except Exception as fault:  # a thread that ends without a word would look like calm
            self.notes.found("this script: the faults broke", repr(fault))

    def _begin(self, name: str, seconds: float) -> float:
        self.notes.fault = f"{name} ({seconds:.1f} s)"
        self.notes.count(f"fault: {name}")
        return seconds

    @contextmanager
    def full_disk(self) -> Iterator[float]:
        """No room, or next to none."""
        left = self.draw.choice((0, 0, 20_000, 200_000))
        self.disk.fill(left)
        try:
            yield self._begin("disk full", self.draw.uniform(2, 8))
        finally:
            self.disk.free()
            if self.database is not None and (
                self.database.process is None or self.database.process.poll() is not None
            ):
                self.notes.count("databases that ended for want of room, started again")
                self.database.start()

    @contextmanager
    def wrong_clock(self) -> Iterator[float]:
        """The clock of the server is off."""
        assert self.clock is not None
        offset = self.draw.choice(OFFSETS)
        self.clock.move(offset)
        try:
            yield self._begin(f"clock {offset}", self.draw.uniform(3, 9))
        finally:
            self.clock.right()

    @contextmanager
    def sqlite_lock(self) -> Iterator[float]:
        """Another program holds the lock for writing."""
        how = self.draw.choice(("IMMEDIATE", "EXCLUSIVE"))
        connection = sqlite3.connect(str(make_url(self.url).database), timeout=20, isolation_level=None)
        try:
            with suppress(sqlite3.OperationalError):  # not to be had: somebody else has it
                connection.execute(f"BEGIN {how}")
            yield self._begin(f"SQLite lock {how}", self.draw.choice((1.0, 3.0, 8.0, 15.0)))
        finally:
            connection.close()

    def _other_program(self) -> psycopg.Connection:
        until = time.monotonic() + ENTRY_S
        while True:
            try:
                return psycopg.connect(self.url, connect_timeout=5)
            except psycopg.OperationalError:
                if time.monotonic() > until:
                    raise
                time.sleep(0.1)

    @contextmanager
    def tables_locked(self) -> Iterator[float]:
        """Another program holds tables."""
        with self._other_program() as connection:
            with suppress(psycopg.Error):
                connection.execute("SET lock_timeout = '5s'")
                connection.execute("LOCK TABLE lunches, children, foods, kept_replies IN ACCESS EXCLUSIVE MODE")
            yield self._begin("PostgreSQL tables locked", self.draw.choice((1.0, 3.0, 8.0, 15.0)))
            connection.rollback()

    @contextmanager
    def rows_locked(self) -> Iterator[float]:
        """A long transaction that does nothing holds the households and their keys."""
        with self._other_program() as connection:
            with suppress(psycopg.Error):
                connection.execute("SET lock_timeout = '5s'")
                connection.execute("SELECT id FROM households FOR UPDATE")
                connection.execute("SELECT id FROM stock FOR UPDATE")
            yield self._begin("PostgreSQL rows locked, idle", self.draw.choice((1.0, 3.0, 8.0, 15.0)))
            connection.rollback()

    @contextmanager
    def database_killed(self) -> Iterator[float]:
        """All its processes at once, for a while."""
        assert self.database is not None
        for process in family_of(self.database):
            _send(process, signal.SIGKILL)
        self.database.kill()
        try:
            yield self._begin("PostgreSQL killed", self.draw.uniform(0, 3))
        finally:
            self.database.start()

    @contextmanager
    def database_stopped(self) -> Iterator[float]:
        """As pg_ctl stop -m immediate does."""
        assert self.database is not None
        assert self.database.process is not None
        self.database.process.send_signal(signal.SIGQUIT)
        self.database.process.wait()
        try:
            yield self._begin("PostgreSQL stopped at once", self.draw.uniform(0, 3))
        finally:
            self.database.start()

    @contextmanager
    def database_frozen(self) -> Iterator[float]:
        """It neither answers nor closes a connection."""
        assert self.database is not None
        processes = family_of(self.database)
        for process in processes:
            _send(process, signal.SIGSTOP)
        try:
            yield self._begin("PostgreSQL frozen", self.draw.choice((1.0, 3.0, 8.0, 15.0)))
        finally:
            for process in processes:
                _send(process, signal.SIGCONT)

    @contextmanager
    def idle_connections(self) -> Iterator[float]:
        """Hundreds of connections that send nothing."""
        with ExitStack() as stack:
            for _ in range(IDLE):
                with suppress(OSError):
                    stack.enter_context(socket.create_connection(("127.0.0.1", self.port), timeout=2))
            yield self._begin("idle connections", self.draw.uniform(3, 6))

    @contextmanager
    def trickled_bodies(self) -> Iterator[float]:
        """Bodies that come byte by byte."""
        head = (
            f"POST /v1/lunches HTTP/1.1\r\nHost: localhost\r\nAuthorization: {self.api.headers['Authorization']}\r\n"
            "Content-Type: application/json\r\nContent-Length: 5000\r\n\r\n{"
        )
        sockets: list[socket.socket] = []
        done = threading.Event()

        def trickle() -> None:
            while not done.wait(0.3):
                for one in sockets:
                    with suppress(OSError):
                        one.send(b" ")

        for _ in range(TRICKLING):
            with suppress(OSError):
                one = socket.create_connection(("127.0.0.1", self.port), timeout=2)
                sockets.append(one)
                one.sendall(head.encode())
        thread = threading.Thread(target=trickle, daemon=True)
        thread.start()
        try:
            yield self._begin("bodies byte by byte", self.draw.uniform(3, 8))
        finally:
            done.set()
            thread.join()
            for one in sockets:
                one.close()

    @contextmanager
    def heavy_audits(self) -> Iterator[float]:
        """Several audits at once, each of an offer with more than a hundred lunches and a search for changes."""
        foods = ("apple", "egg-hard-boiled", "carrots-baby-raw", "milk-1-percent", "bread-whole-wheat")
        groups = [{"id": f"group {number}", "items": [{"food": food} for food in foods]} for number in range(3)]
        child = {"standard": "us-school-lunch", "age_years": 8}
        body = json.dumps({"offer": {"groups": groups}, "children": [child], "on": "2026-11-02"}).encode()
        threads = [threading.Thread(target=self._audit, args=(body,), daemon=True) for _ in range(AUDITS)]
        for thread in threads:
            thread.start()
        try:
            yield self._begin("heavy audits", self.draw.uniform(2, 5))
        finally:
            for thread in threads:
                thread.join()

    def _audit(self, body: bytes) -> None:
        with suppress(NoAnswer, http.client.HTTPException):
            heard = self.api.once("POST", "/v1/offer-audits", body, {"Content-Type": "application/json"})
            self.notes.count(f"heavy audits answered {heard.status}")


def family_of(server: PostgresServer) -> list[int]:
    """The server's process and its children: each has a session of its own."""
    assert server.process is not None
    first = server.process.pid
    children = Path(f"/proc/{first}/task/{first}/children")
    found = children.read_text().split() if children.exists() else []
    return [first, *map(int, found)]


def _send(process: int, sent: signal.Signals) -> None:
    with suppress(ProcessLookupError):
        os.kill(process, sent)
