"""The pages against lunch checks asked of the same server over HTTP, and what a browser loads for each page.

The family is that of ``offers``, stored: four children, an offer of 4,320 lunches each may take at the most, set out today.
"""

import gzip
import re
import socket
import tempfile
import time
from collections.abc import Callable, Iterator
from statistics import median
from urllib.parse import urlencode, urljoin

from service.api.gate.device_cookie import COOKIE
from service.jobs.household.access.households import today
from service.jobs.household.access.store import open_household_store
from service.jobs.household.offers.set_out import audit_for_family
from tests.benchmarks.everyday_household import EverydayHousehold, keep_everyday_household
from tests.benchmarks.figure import Figure
from tests.benchmarks.lunch_check_rate import BODY
from tests.benchmarks.offers import GROUPS, least_seconds
from tests.benchmarks.server import API_ALONE, SERVED, connect, free_port, http_request, read_reply, serving

ROUNDS = 15
COLD_ROUNDS = 7
CHECKS = 10
"""Lunch checks a turn: they are short, so that the clock and the machine's mood count less."""
MOST_KB = 60
MOST_REQUESTS = 12
LOADED = re.compile(r'<(?:link rel="(?:stylesheet|icon)" href|script type="module" src|img [^>]*?src)="([^"]+)"')
IMPORTED = re.compile(r'^import (?:[^"]* from )?"(\./[^"]+)"', re.MULTILINE)


def figures() -> Iterator[Figure]:
    """A tap, an offer's page after a change, signing in, the first page of a cold server, and what each page weighs."""
    with tempfile.TemporaryDirectory() as folder:
        url = f"sqlite:///{folder}/store.sqlite3"
        home = keep_everyday_household(url, holding=None)
        kept_cold = keep_everyday_household(url)
        environment = {"PACKED_LUNCH_DATABASE_URL": url}
        port = free_port()
        with serving(SERVED, port, environment):
            # A connection each: the server closes one that is quiet for some seconds.
            yield from _in_lunch_checks(connect(port), home)
            yield from _signed_in(connect(port), home)
            yield from _weights(connect(port), home)
        yield _search_for_changes(url, kept_cold)
        yield _first_page(environment, home)


def taps(home: EverydayHousehold) -> list[str]:
    """What a child's page asks for as one item of each group is tapped after another: one request a tap."""
    tiles = ["~".join((name, str(items[0].get("key", items[0]["food"])))) for name, items in GROUPS]
    base = [("day", today().isoformat()), ("offer", home.offer)]
    return [
        f"/take/{home.children[2]}?" + urlencode([*base, *(("take", one) for one in tiles[:count]), ("tapped", tile)])
        for count, tile in enumerate(tiles)
    ]


def page_request(address: str, home: EverydayHousehold, packed: str = "identity") -> bytes:
    """A GET of a page or a file by the parent's browser."""
    return (
        f"GET {address} HTTP/1.1\r\nHost: 127.0.0.1\r\nAccept: text/html\r\nAccept-Encoding: {packed}\r\n"
        f"Accept-Language: en\r\nCookie: {COOKIE}={home.device}\r\n\r\n"
    ).encode()


def asked(connection: socket.socket, request: bytes) -> bytes:
    """The body of an answer that must be 200."""
    connection.sendall(request)
    status, body = read_reply(connection)
    if status != 200:
        raise RuntimeError(f"answered {status}: {body[:300]!r}")
    return body


def _seconds(work: Callable[[], object], times: int = 1) -> float:
    began = time.perf_counter()
    for _ in range(times):
        work()
    return (time.perf_counter() - began) / times


def _in_turns(*works: tuple[Callable[[], object], int]) -> list[list[float]]:
    """Seconds of each, asked in turns, so that a change of the machine's mood meets all; a first turn warms them up."""
    turns = [[_seconds(work, times) for work, times in works] for _ in range(ROUNDS + 1)]
    return [list(each) for each in zip(*turns[1:], strict=True)]


def _ratio(ours: list[float], yardstick: list[float]) -> float:
    return median(one / other for one, other in zip(ours, yardstick, strict=True))


def _in_lunch_checks(connection: socket.socket, home: EverydayHousehold) -> Iterator[Figure]:
    check = http_request(BODY)
    tapped = [page_request(address, home) for address in taps(home)]
    offer = page_request(f"/set-out/{home.offer}", home)
    checks, of_taps, of_offer = _in_turns(
        (lambda: asked(connection, check), CHECKS),
        (lambda: [asked(connection, one) for one in tapped], 1),
        (lambda: asked(connection, offer), 1),
    )
    a_tap = [seconds / len(tapped) for seconds in of_taps]
    told = f"{median(a_tap) * 1e3:.1f} ms, a lunch check {median(checks) * 1e3:.2f} ms"
    yield Figure("pages: a tap, in lunch checks", _ratio(a_tap, checks), 2.0, at_most=True, detail=told)
    told = f"{median(of_offer) * 1e3:.0f} ms; not said how lunches are kept, so without the search for changes"
    name = "pages: an offer after a change, in lunch checks"
    yield Figure(name, _ratio(of_offer, checks), 10.0, at_most=True, detail=told)


def _search_for_changes(url: str, home: EverydayHousehold) -> Figure:
    """What the search for changes adds to the audit that the offer's page shows, in this process."""
    store = open_household_store(url)
    try:
        with store.reading() as connection:

            def audit(most: int) -> object:
                return audit_for_family(connection, home.household, home.offer, today(), max_changes=most)

            without, with_changes = least_seconds(lambda: audit(0), lambda: audit(3), rounds=2)
    finally:
        store.close()
    told = f"{with_changes * 1e3:.0f} ms with, {without * 1e3:.0f} ms without, in the same process"
    return Figure(
        "pages: an offer's audit with changes to without", with_changes / without, 2.0, at_most=True, detail=told
    )


def _signed_in(connection: socket.socket, home: EverydayHousehold) -> Iterator[Figure]:
    """A lunch check on the API by whoever asks, by a program with a key, and by a device's page; and the API alone."""
    plain = http_request(BODY)
    line = b"Content-Type: application/json\r\n"
    with_key = plain.replace(line, line + f"Authorization: Bearer {home.key}\r\n".encode())
    cookie = f"Cookie: {COOKIE}={home.device}\r\nSec-Fetch-Site: same-origin\r\n".encode()
    with_cookie = plain.replace(line, line + cookie)
    port = free_port()
    with serving(API_ALONE, port):
        alone = connect(port)
        ours, key, device, api = _in_turns(
            *((lambda one=one: asked(connection, one), CHECKS) for one in (plain, with_key, with_cookie)),
            (lambda: asked(alone, plain), CHECKS),
        )
    told = f"{median(ours) * 1e3:.2f} ms against {median(api) * 1e3:.2f} ms of the API without pages"
    yield Figure("pages: a lunch check with pages to without", _ratio(ours, api), 1.1, at_most=True, detail=told)
    told = f"{median(device) * 1e3:.2f} ms with a device's cookie, {median(key) * 1e3:.2f} ms with a key"
    yield Figure("pages: a lunch check by a device to by a key", _ratio(device, key), 1.1, at_most=True, detail=told)


def _weights(connection: socket.socket, home: EverydayHousehold) -> Iterator[Figure]:
    """What a browser that has nothing yet loads for each page."""
    for address in (
        *("/", taps(home)[-1], "/set-out", f"/set-out/{home.offer}", "/packets", "/children"),
        *("/foods", "/dishes", "/prices", "/bought", "/week", "/more", "/care", "/devices", "/sign-in"),
    ):
        kilobytes, pictures, requests = _weight(connection, home, address)
        name = re.sub(r"/[0-9a-f-]{36}.*", "/...", address)
        told = f"{kilobytes:.1f} kB and {pictures:.1f} kB of pictures"
        yield Figure(f"pages: {name}, of {MOST_KB} kB", kilobytes / MOST_KB, 1.0, at_most=True, detail=told)
        told = f"{requests} requests"
        yield Figure(
            f"pages: {name}, of {MOST_REQUESTS} requests", requests / MOST_REQUESTS, 1.0, at_most=True, detail=told
        )


def _weight(connection: socket.socket, home: EverydayHousehold, address: str) -> tuple[float, float, int]:
    """Kilobytes as sent before pictures, of pictures, and the number of requests."""
    sent = {address: asked(connection, page_request(address, home, "gzip"))}
    waiting = LOADED.findall(_unpacked(sent[address]).decode())
    while waiting:
        one = waiting.pop()
        if one in sent or one.startswith("data:"):
            continue
        sent[one] = asked(connection, page_request(one, home, "gzip"))
        if one.endswith(".js"):
            waiting += [urljoin(one, found) for found in IMPORTED.findall(_unpacked(sent[one]).decode())]
    pictures = sum(len(body) for name, body in sent.items() if "/pictures/" in name)
    return (sum(map(len, sent.values())) - pictures) / 1000, pictures / 1000, len(sent)


def _unpacked(body: bytes) -> bytes:
    return gzip.decompress(body) if body.startswith(b"\x1f\x8b") else body


def _first_page(environment: dict[str, str], home: EverydayHousehold) -> Figure:
    """From the start of the process to the first page; today's page of the family, which has most to do."""
    ours, bare = [], []
    for _ in range(COLD_ROUNDS + 1):  # the first turn of each compiles the modules and warms the disk
        ours.append(_first_answer(SERVED, page_request("/", home), environment))
        bare.append(_first_answer("tests.benchmarks.bare_pages_app:app", page_request("/", home), {}))
    told = f"{median(ours[1:]) * 1e3:.0f} ms against {median(bare[1:]) * 1e3:.0f} ms"
    name = "pages: first page of a cold server to a bare one's"
    return Figure(name, _ratio(ours[1:], bare[1:]), 3.0, at_most=True, detail=told)


def _first_answer(app: str, request: bytes, environment: dict[str, str]) -> float:
    port = free_port()
    began = time.perf_counter()
    with serving(app, port, environment):
        asked(connect(port), request)
        return time.perf_counter() - began
