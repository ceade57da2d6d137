"""How much slower a signed-in family is answered while the service is flooded: ``python -m tests.load``.

A real server with the demo family is asked for a page and for a lunch check, by a browser that is signed in: first in quiet, then while
another process keeps 2,000 connections that say nothing or half a head, 200 bodies that trickle in and 45 heavy audits under way,
all from the family's own address, and opens again what the server closes. A small audit is asked for too, which waits in one queue with the
heavy ones: its figures are only told. Prints the medians, the 95th percentiles and their ratios, and how many of the connections were
really open; ends with 1 where a median of page or check is more than ten times its quiet one. No question takes more than a minute and no
kind more than two, so that it ends on a busy machine, too.
"""

import asyncio
import http.client
import multiprocessing
import resource
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from statistics import median, quantiles
from typing import Any

import orjson

from service.api.gate.device_cookie import COOKIE
from service.jobs.household.access.households import today
from service.jobs.household.access.sign_in_links import link_of_this_computer, redeem
from service.jobs.household.access.store import open_household_store
from service.jobs.household.demo import keep_demo_household
from tests.benchmarks.lunch_check_rate import BODY
from tests.benchmarks.offers import family
from tests.served import Server, served

IDLE, TRICKLED, AUDITS = 2_000, 200, 45
QUIET_ROUNDS, FLOODED_ROUNDS = 15, 20
AGAIN_S = 5
"""How long the flood waits before it opens again what was closed."""
SETTLES_S = 8
"""How long the flood is left to itself before the family asks."""
MOST = 10
"""Times the quiet median that a flooded one may take."""
PAGE = "/"
CHECK = "/v1/lunch-checks"
AUDIT = "/v1/offer-audits"
SMALL_AUDIT = orjson.dumps(
    {
        "offer": {"groups": [{"id": "fruit", "items": [{"food": "apple"}, {"food": "banana"}]}]},
        "children": [{"nickname": "Ash", "standard": "us-school-lunch", "age_group": "grades-k-5"}],
        "on": "2026-12-01",
    }
)
LONGEST_ASK_S, LONGEST_KIND_S = 60, 120
TOLD_ONLY = frozenset({"small audit"})
Asking = Callable[[], None]


def main() -> int:
    """Measure and print; 1 where the goal is missed."""
    with tempfile.TemporaryDirectory() as folder:
        url = f"sqlite:///{Path(folder) / 'family.sqlite3'}"
        cookie = _signed_in_family(url)
        with served(PACKED_LUNCH_DATABASE_URL=url) as server:
            asked = {
                "page": _page(server, cookie),
                "check": _post_of(server, cookie, CHECK, BODY),
                "small audit": _post_of(server, cookie, AUDIT, SMALL_AUDIT),
            }
            for ask in asked.values():
                ask()
            quiet = {name: _times(ask, QUIET_ROUNDS) for name, ask in asked.items()}
            spawned = multiprocessing.get_context("spawn")
            begun, held = spawned.Event(), spawned.Array("l", 2)
            flood = spawned.Process(target=_flood, args=(server.port, begun, held), daemon=True)
            flood.start()
            assert begun.wait(120)
            time.sleep(SETTLES_S)
            open_before = held[OPEN]
            try:
                flooded = {name: _times(ask, FLOODED_ROUNDS) for name, ask in asked.items()}
                open_after, opened = held[OPEN], held[OPENED]
            finally:
                flood.kill()
                flood.join()
            missed = max(_told(name, quiet[name], flooded[name]) for name in asked)
            print(
                f"of {IDLE} silent connections {open_before} were open when the asking began and {open_after} when it ended;"
            )
            print(f"    {opened} were opened in all, so {max(0, opened - IDLE)} of them again")
        print(f"log of the service: {len(server.output):,} characters")
    return missed


def _signed_in_family(url: str) -> str:
    store = open_household_store(url)
    try:
        keep_demo_household(store, today())
        signed_in = redeem(store, link_of_this_computer(store).secret)
        assert signed_in is not None
        return f"{COOKIE}={signed_in.secret}"
    finally:
        store.close()


def _page(server: Server, cookie: str) -> Asking:
    return lambda: _ask(server, "GET", PAGE, b"", {"Cookie": cookie, "Accept": "text/html"})


def _post_of(server: Server, cookie: str, path: str, body: bytes) -> Asking:
    headers = {"Cookie": cookie, "Sec-Fetch-Site": "same-origin", "Content-Type": "application/json"}
    return lambda: _ask(server, "POST", path, body, headers)


def _ask(server: Server, method: str, path: str, body: bytes, headers: dict[str, str]) -> None:
    connection = http.client.HTTPConnection("127.0.0.1", server.port, timeout=LONGEST_ASK_S)
    try:
        connection.request(method, path, body or None, headers)
        answer = connection.getresponse()
        said = answer.read()
    finally:
        connection.close()
    if answer.status == 429:
        time.sleep(1)
        raise ConnectionError("every place was taken")
    assert answer.status == 200, (answer.status, said[:500])


def _times(ask: Asking, rounds: int) -> list[float]:
    """Seconds of each round; one that was closed or refused for want of a place counts as long as it took, and is asked again."""
    times: list[float] = []
    while len(times) < rounds and sum(times) < LONGEST_KIND_S:
        began = time.perf_counter()
        while True:
            try:
                ask()
            except (OSError, http.client.HTTPException):
                if time.perf_counter() - began > LONGEST_ASK_S:
                    break
            else:
                break
        times.append(time.perf_counter() - began)
    return times


def _told(name: str, quiet: list[float], flooded: list[float]) -> int:
    ratio = median(flooded) / median(quiet)
    slow, slow_quiet = (quantiles(times, n=20)[-1] if len(times) > 1 else times[0] for times in (flooded, quiet))
    print(
        f"{name}: quiet median {median(quiet) * 1e3:.1f} ms, p95 {slow_quiet * 1e3:.1f} ms; flooded median "
        f"{median(flooded) * 1e3:.1f} ms ({ratio:.1f} times), p95 {slow * 1e3:.1f} ms ({slow / slow_quiet:.1f} times); "
        f"{len(flooded)} asked"
    )
    return int(ratio > MOST and name not in TOLD_ONLY)


OPEN, OPENED = 0, 1
"""Places of what the flood counts of its silent connections: those that are open, and all that were ever opened."""


def _flood(port: int, begun: Any, held: Any) -> None:
    _soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    resource.setrlimit(resource.RLIMIT_NOFILE, (hard, hard))
    asyncio.run(_flooding(port, begun, held))


async def _flooding(port: int, begun: Any, held: Any) -> None:
    audit = _post("/v1/offer-audits", orjson.dumps(family().model_dump(mode="json", exclude_unset=True)))
    async with asyncio.TaskGroup() as group:
        for number in range(IDLE):
            group.create_task(_again(port, _counted(held), b"GET / HTTP/1.1\r\nHost: 127" if number % 2 else b""))
        for _ in range(TRICKLED):
            group.create_task(_again(port, _trickle, _post(CHECK, BODY)))
        for _ in range(AUDITS):
            group.create_task(_again(port, _whole, audit))
        begun.set()


def _post(path: str, body: bytes) -> bytes:
    head = f"POST {path} HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: application/json\r\nContent-Length: {len(body)}"
    return head.encode() + b"\r\n\r\n" + body


async def _again(port: int, how: Any, sent: bytes) -> None:
    """One connection after the other."""
    while True:
        try:
            reader, writer = await asyncio.open_connection("127.0.0.1", port)
            try:
                await how(reader, writer, sent)
            finally:
                writer.transport.abort()
        except OSError:
            pass
        await asyncio.sleep(0 if how is _whole else AGAIN_S)


def _counted(held: Any) -> Any:
    async def idle(reader: asyncio.StreamReader, writer: asyncio.StreamWriter, sent: bytes) -> None:
        held[OPEN] += 1
        held[OPENED] += 1
        try:
            await _idle(reader, writer, sent)
        finally:
            held[OPEN] -= 1

    return idle


async def _idle(reader: asyncio.StreamReader, writer: asyncio.StreamWriter, sent: bytes) -> None:
    writer.write(sent)
    while await reader.read(65_536):
        pass


async def _trickle(reader: asyncio.StreamReader, writer: asyncio.StreamWriter, sent: bytes) -> None:
    head, _, body = sent.partition(b"\r\n\r\n")
    writer.write(head + b"\r\n\r\n")
    for place in range(len(body)):
        writer.write(body[place : place + 1])
        await writer.drain()
        try:
            async with asyncio.timeout(0.5):
                if not await reader.read(65_536):
                    return
        except TimeoutError:
            continue


async def _whole(reader: asyncio.StreamReader, writer: asyncio.StreamWriter, sent: bytes) -> None:
    """A request answered on a connection of its own; the next follows at once."""
    writer.write(sent.replace(b"\r\n", b"\r\nConnection: close\r\n", 1))
    answer = await reader.read()
    if answer and not answer.startswith((b"HTTP/1.1 200", b"HTTP/1.1 429")):
        raise RuntimeError(answer[:500])


if __name__ == "__main__":
    sys.exit(main())
