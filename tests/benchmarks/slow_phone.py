"""How long a slow phone that has nothing of the pages yet waits until it can be used, and what it loads for that.

Emulated in Chromium by its DevTools protocol: a processor of a quarter of this one's speed, 1.6 Mbit/s down, 0.75 Mbit/s
up, 150 ms from a request to its answer (the "slow 4G" that web performance tools commonly emulate; common practice, no source).
The family is that of ``offers``, stored, its offer set out today.
"""

import tempfile
from collections.abc import Iterator
from dataclasses import dataclass, field
from statistics import median
from typing import Any
from urllib.parse import urlsplit

from playwright.sync_api import Browser, sync_playwright

from service.api.gate.device_cookie import COOKIE
from tests.benchmarks.everyday_household import EverydayHousehold, keep_everyday_household
from tests.benchmarks.figure import Figure
from tests.benchmarks.pages import MOST_KB, MOST_REQUESTS, taps
from tests.benchmarks.server import SERVED, connect, free_port, serving
from tests.browser.conftest import CHROMIUM, QUIET
from tests.browser.houses import PHONE
from tests.browser.looking import SHIFTS

ROUNDS = 5
SLOWER = 4
NETWORK = {
    "offline": False,
    "latency": 150,
    "downloadThroughput": 1_600_000 / 8,
    "uploadThroughput": 750_000 / 8,
}
MOST_SECONDS = 2.5
USABLE = """
addEventListener("load", () => requestAnimationFrame(() => setTimeout(() => { window.usable = performance.now(); })));
"""
"""Milliseconds after the page was asked for: all is loaded, every script has run, and the frame after that is painted."""


@dataclass
class Loaded:
    """What one visit took: seconds until the page can be used, kilobytes as sent, requests, and by how much the page moved."""

    seconds: float = 0.0
    shift: float = 0.0
    sizes: dict[str, float] = field(default_factory=dict)
    addresses: dict[str, str] = field(default_factory=dict)

    @property
    def pictures(self) -> float:
        """Kilobytes of pictures."""
        return sum(size for one, size in self.sizes.items() if self.addresses[one].endswith(".svg"))

    @property
    def others(self) -> float:
        """Kilobytes of all else."""
        return sum(self.sizes.values()) - self.pictures

    def sent(self, event: dict[str, Any]) -> None:
        """A request goes out; the stream of changes is none that the page waits for."""
        if not urlsplit(event["request"]["url"]).path.startswith("/events"):
            self.addresses[event["requestId"]] = urlsplit(event["request"]["url"]).path

    def came(self, event: dict[str, Any]) -> None:
        """An answer has come, whole."""
        if event["requestId"] in self.addresses:
            self.sizes[event["requestId"]] = event["encodedDataLength"] / 1000


def figures() -> Iterator[Figure]:
    """Today, a child's tiles and an offer: time, requests, kilobytes before pictures, and how much the page moves."""
    if CHROMIUM is None:
        raise SystemExit("slow_phone needs Chromium: apt-get install chromium")
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        url = f"sqlite:///{folder}/store.sqlite3"
        home = keep_everyday_household(url, holding=None)
        port = free_port()
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=QUIET)
        with serving(SERVED, port, {"PACKED_LUNCH_DATABASE_URL": url}):
            connect(port, seconds=300.0).close()
            pages = {"today": "/", "taking": taps(home)[0], "set out": f"/set-out/{home.offer}"}
            for name, path in pages.items():
                visits = [_visit(browser, f"http://127.0.0.1:{port}", path, home) for _round in range(ROUNDS + 1)]
                yield from _told(name, visits[1:])  # the first warms the server up
        browser.close()


def _visit(browser: Browser, origin: str, path: str, home: EverydayHousehold) -> Loaded:
    context = browser.new_context(viewport=PHONE, device_scale_factor=2, is_mobile=True, has_touch=True)
    context.add_cookies([{"name": COOKIE, "value": home.device, "url": origin}])
    page = context.new_page()
    page.add_init_script(SHIFTS + USABLE)
    loaded = Loaded()
    devtools = context.new_cdp_session(page)
    devtools.on("Network.requestWillBeSent", loaded.sent)
    devtools.on("Network.loadingFinished", loaded.came)
    devtools.send("Network.enable")
    devtools.send("Network.emulateNetworkConditions", NETWORK)
    devtools.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
    answer = page.goto(origin + path)
    if answer is None or answer.status != 200:
        raise RuntimeError(f"{path} was not answered with a page")
    page.wait_for_function("window.usable")
    loaded.seconds = page.evaluate("window.usable") / 1000
    loaded.shift = page.evaluate("window.shifted")
    context.close()
    return loaded


def _told(name: str, visits: list[Loaded]) -> Iterator[Figure]:
    seconds = median(one.seconds for one in visits)
    usual = visits[-1]
    told = f"{seconds:.2f} s; {min(one.seconds for one in visits):.2f} to {max(one.seconds for one in visits):.2f}"
    yield Figure(f"slow phone: {name}, of {MOST_SECONDS} s", seconds / MOST_SECONDS, 1.0, at_most=True, detail=told)
    requests = len(usual.addresses)
    told = f"{requests} requests: {', '.join(path.rpartition('/')[2] or path for path in usual.addresses.values())}"
    yield Figure(
        f"slow phone: {name}, of {MOST_REQUESTS} requests", requests / MOST_REQUESTS, 1.0, at_most=True, detail=told
    )
    told = f"{usual.others:.1f} kB and {usual.pictures:.1f} kB of pictures, with their headers"
    yield Figure(f"slow phone: {name}, of {MOST_KB} kB", usual.others / MOST_KB, 1.0, at_most=True, detail=told)
    most = max(one.shift for one in visits)
    yield Figure(f"slow phone: {name}, moves while it is loaded", most, 0.0, at_most=True)
