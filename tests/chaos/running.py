"""One run on one database: the family is made, writers write, servers are killed, faults come and go; then all is compared."""

import os
import random
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from datetime import UTC, datetime
from pathlib import Path
from statistics import median

from tests.chaos.asking import Caller
from tests.chaos.checks import check_file, check_log, check_store
from tests.chaos.clock import Clock
from tests.chaos.disk import Disk, small_disk
from tests.chaos.family import Family, new_family
from tests.chaos.faults import Faults
from tests.chaos.findings import Notes
from tests.chaos.others import Carer, Taker
from tests.chaos.records import Bodies
from tests.chaos.server import Servers, faketime_library
from tests.chaos.writers import Racer, RecordWriter, Working
from tests.postgres import PostgresServer, postgres_running
from tests.served import free_port

WRITERS, RACERS = 4, 2
EVERY = 6.0
"""Seconds from one kill to the next on the whole: 300 kills in half an hour."""
AT_WORK, BEHIND = 5.0, 1.0
"""Seconds that a server is left running at the most once it answers and writes; the second where there were too few kills so far."""
STARTS = 20.0
"""Seconds in which it should answer; one in eight is killed before."""
EACH, MOST_PATIENT = 2, 10.0
"""Writes acknowledged between two kills, and the seconds after which these are no longer waited for."""
TOLD_EVERY = 60.0
MEGABYTES = {"sqlite": 96, "postgresql": 600}
"""Of the disk that is filled."""
CALMING = 120.0
"""Seconds in which every writer must have its last answer once nothing is wrong any more."""


def run(database: str, minutes: float, seed: int) -> Notes:
    """So many minutes on ``sqlite`` or ``postgresql``."""
    notes = Notes()
    with ExitStack() as stack:
        log = stack.enter_context(tempfile.TemporaryFile(prefix="packed-lunch-chaos-log-"))
        disk = stack.enter_context(small_disk(MEGABYTES[database]))
        postgres = stack.enter_context(_postgres_on(disk)) if database == "postgresql" else None
        url = (
            postgres.new_database() if postgres is not None else f"sqlite:///{disk.folder / 'store' / 'store.sqlite3'}"
        )
        family = new_family(url)
        servers = Servers(free_port(), url, log, Path(stack.enter_context(tempfile.TemporaryDirectory())) / "clock")
        stack.callback(servers.close)
        House(notes, disk, postgres, url, family, servers, seed).run(minutes)
        servers.close()
        log.seek(0)
        check_log(log.read().decode("utf-8", "replace"), [family.key, family.device.secret], notes)
    return notes


@contextmanager
def _postgres_on(disk: Disk) -> Iterator[PostgresServer]:
    before = tempfile.tempdir
    tempfile.tempdir = str(disk.folder)  # its data is on the disk that is filled
    try:
        running = postgres_running(durable=True)
        server = running.__enter__()
    finally:
        tempfile.tempdir = before
    try:
        yield server
    finally:
        running.__exit__(None, None, None)


class House:
    """All that works at the same time."""

    def __init__(
        self,
        notes: Notes,
        disk: Disk,
        postgres: PostgresServer | None,
        url: str,
        family: Family,
        servers: Servers,
        seed: int,
    ) -> None:
        self.notes, self.disk, self.postgres, self.url, self.family, self.servers = (
            notes,
            disk,
            postgres,
            url,
            family,
            servers,
        )
        self.draw = random.Random(f"{seed}/kills")  # noqa: S311 - moments to kill at
        self.seed, self.stop, self.out_of_time = seed, threading.Event(), threading.Event()
        self.clock = Clock(servers.clock)
        self.api = self._caller({"Authorization": f"Bearer {family.key}"})
        self.shared: dict[int, str] = {}

    def _caller(self, headers: dict[str, str]) -> Caller:
        return Caller(self.servers.port, self.notes, headers, self.out_of_time.is_set)

    def run(self, minutes: float) -> None:
        """Work, break, calm down, compare."""
        self.servers.start()
        writers, others, racing = self._workers()
        faults = Faults(
            self.url,
            self.servers.port,
            self.api,
            self.disk,
            self.clock if faketime_library() else None,
            self.postgres,
            self.notes,
            self.seed,
        )
        workers: list[Working] = [*writers, *others]
        try:
            for worker in workers:
                worker.start()
            faults.start()
            self._kill_again_and_again(time.monotonic() + 60 * minutes)
        finally:
            faults.over.set()
            faults.join(CALMING)
            if faults.is_alive():
                self.notes.found("this script: a fault does not end", self.notes.fault)
            self.servers.kill()  # with what was still asked of it
            self.servers.start()
            self.stop.set()
            self._calm(workers)
        self.servers.kill()
        check_file(self.url, self.notes)
        takers = [one for one in others if isinstance(one, Taker)]
        check_store(self.url, self.family.household, [*writers, *takers], racing, self.shared, self.notes)

    def _workers(self) -> tuple[list[RecordWriter], list[Working], str]:
        today = datetime.now(UTC).date()
        writers = [
            RecordWriter(self.api, Bodies(number, WRITERS + 1, today), self.clock, self.notes, self.stop, self.seed)
            for number in range(WRITERS)
        ]  # fmt: skip
        for writer in writers:
            writer.begin()
        first = writers[0]
        child = first.kept("children", first.bodies.new_child())
        offer = first.kept("offers", first.bodies.make("offers"))
        racing = first.kept("recipes", first.bodies.make("recipes"))
        first.base |= {child.id, offer.id}
        del first.known[racing.id]
        browser = self._caller(self.family.device.headers)
        folder = self.disk.folder / "backups"
        folder.mkdir()
        others: list[Working] = [
            Taker(browser, self.api, self.clock, child.id, offer.id, today, self.notes, self.stop),
            Carer(self.api, writers, self.family.empty, self.url, folder, self.notes, self.stop),
            *(Racer(number, self.api, racing.path, self.shared, self.notes, self.stop) for number in range(RACERS)),
        ]
        return writers, others, racing.id

    def _kill_again_and_again(self, until: float) -> None:
        begun = told = time.monotonic()
        while time.monotonic() < until:
            before = self.notes.counts["writes acknowledged"]
            if self.draw.random() < 1 / 8:
                self._wait_for_answers(self.draw.uniform(0, 1))
            else:
                self._wait_for_answers(STARTS)
                self._wait_for_writes()
            behind = self.notes.counts["kills of the server"] * EVERY < time.monotonic() - begun
            end = min(until, time.monotonic() + self.draw.uniform(0, BEHIND if behind else AT_WORK))
            while time.monotonic() < end:
                time.sleep(0.02)
                if not self.servers.runs():
                    self.notes.found("a server ended by itself", "see its log")
                    break
            self.servers.kill()
            self.notes.count("kills of the server")
            if self.notes.counts["writes acknowledged"] >= before + EACH:
                self.notes.count(f"  after {EACH} writes and more since the kill before")
            self.servers.start()
            if time.monotonic() - told > TOLD_EVERY:
                told = time.monotonic()
                check_file(self.url, self.notes)
                counts = self.notes.counts
                print(
                    f"{(until - told) / 60:.0f} minutes left: {counts['writes acknowledged']:,} writes acknowledged, "
                    f"{counts['kills of the server']} kills, {len(self.notes.findings)} kinds of findings",
                    flush=True,
                )

    def _wait_for_answers(self, most: float) -> None:
        begun = time.monotonic()
        end = begun + most
        while time.monotonic() < end and self.servers.runs():
            if self.servers.answers():
                self.notes.started(time.monotonic() - begun)
                return
            time.sleep(0.05)
        self.notes.count("kills before the server answered")

    def _wait_for_writes(self) -> None:
        """On a busy machine too, something is acknowledged between two kills; unless a fault forbids it."""
        before, end = self.notes.counts["writes acknowledged"], time.monotonic() + MOST_PATIENT
        while time.monotonic() < end and self.notes.counts["writes acknowledged"] < before + EACH:
            time.sleep(0.02)

    def _calm(self, workers: list[Working]) -> None:
        """Wait for every last answer, of a server that nothing is done to."""
        end = time.monotonic() + CALMING
        for worker in workers:
            while worker.is_alive() and time.monotonic() < end:
                worker.join(0.2)
                if not self.servers.runs():
                    self.servers.start()
            if worker.is_alive():
                self.notes.found(f"{worker.name} had no answer {CALMING:.0f} s after all was right again", "")
        self.out_of_time.set()
        for worker in workers:
            worker.join(5)


def shown(database: str, minutes: float, notes: Notes, seed: int) -> str:
    """The table of counts, and what was found."""
    lines = [f"\n{database}, {minutes:g} minutes, seed {seed}, process {os.getpid()}"]
    lines += [f"  {count:>8,}  {what}" for what, count in sorted(notes.counts.items(), key=lambda one: one[0].strip())]
    lines.append(f"  {notes.longest_s:>8.1f}  seconds: the longest wait for an answer")
    if notes.starts_s:
        lines.append(f"  {median(notes.starts_s):>8.1f}  seconds: the usual time from a start to the first answer")
    for one in sorted(notes.findings.values(), key=lambda one: -one.count):
        lines.append(f"\nFOUND {one.count} times: {one.kind}\n{one.first}")
    lines.append(f"\n{database}: {len(notes.findings)} kinds of findings")
    return "\n".join(lines)
