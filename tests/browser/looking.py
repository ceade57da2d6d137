"""Looks at pages as a careful person would: rules of accessibility, room, sizes, what is sent, what the console says."""

import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any
from urllib.parse import urlsplit

from playwright.sync_api import ConsoleMessage, Page, Request

from tests.browser.axe import violations
from tests.served import GENEROUS

MOST_REQUESTS = 12
MOST_BYTES = 60_000
MOST_SHIFT = 0.1
"""A layout shift that is called good (Web Vitals, Cumulative Layout Shift)."""
SMALLEST_TARGET = 24
SMALLEST_TILE = 44

SHIFTS = """
window.shifted = 0;
new PerformanceObserver((list) => { for (const one of list.getEntries()) if (!one.hadRecentInput) window.shifted += one.value; })
  .observe({ type: "layout-shift", buffered: true });
"""
WIDER = """
() => {
  const room = document.documentElement.clientWidth;
  if (document.documentElement.scrollWidth <= room) return [];
  return [...document.body.querySelectorAll("*")].filter((one) => one.getBoundingClientRect().right > room + 1
    && !one.closest(".wide")).slice(-3).map((one) => one.outerHTML.slice(0, 160));
}
"""
SMALL = """
(least) => {
  const found = [];
  for (const one of document.querySelectorAll("button, input, select, textarea, summary, .button, nav a")) {
    if (one.type === "hidden" || !one.checkVisibility({ visibilityProperty: true })) continue;
    const target = (one.type === "checkbox" || one.type === "radio") && one.closest("label") || one;
    const box = target.getBoundingClientRect();
    if (Math.min(box.width, box.height) < least - 0.5) found.push(`${box.width}x${box.height} ${one.outerHTML.slice(0, 140)}`);
  }
  return found;
}
"""


@dataclass
class Looking:
    """A page that is watched: everything it asks for and everything its console says since the last page was opened."""

    page: Page
    address: str
    requests: list[Request] = field(default_factory=list)
    under_way: set[Request] = field(default_factory=set)
    said: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        """Watch from now on."""
        self.page.add_init_script(SHIFTS)
        self.page.on("request", self._keep)
        for ended in ("requestfinished", "requestfailed"):
            self.page.on(ended, self._end)
        self.page.on("console", self._hear)
        self.page.on("pageerror", lambda error: self.said.append(f"page error: {error}"))

    def _keep(self, request: Request) -> None:
        self.requests.append(request)
        if not _is_stream(request):
            self.under_way.add(request)

    def _end(self, request: Request) -> None:
        self.under_way.discard(request)

    def _hear(self, message: ConsoleMessage) -> None:
        if message.type in ("error", "warning"):
            self.said.append(f"{message.type}: {message.text}")

    def open(self, path: str) -> int:
        """Open a page of the house as a new visitor does who has nothing of it yet; its status."""
        self.requests.clear()
        self.under_way.clear()
        self.said.clear()
        answer = self.page.goto(self.address + path)
        assert answer is not None
        self.settle()
        return answer.status

    def settle(self) -> None:
        """Wait until all that the page asks for by itself is there: what it puts in its place is looked at too."""
        until = time.monotonic() + GENEROUS
        while self.under_way:
            assert time.monotonic() < until, [one.url for one in self.under_way]
            self.page.evaluate("new Promise((done) => requestAnimationFrame(() => setTimeout(done, 0)))")

    def wrong(self, least: int = SMALLEST_TARGET, expected: int = 200) -> Iterator[str]:
        """All that is wrong with the page as it is shown now."""
        yield from violations(self.page)
        yield from self.out_of_room()
        yield from (f"target under {least} px: {one}" for one in self.page.evaluate(SMALL, least))
        for said in self.said:
            if expected == 200 or f"the server responded with a status of {expected}" not in said:
                yield f"console: {said}"
        shifted = self.page.evaluate("window.shifted")
        if shifted >= MOST_SHIFT:
            yield f"moves by {shifted:.3f} while it is loaded"

    def out_of_room(self) -> list[str]:
        """What makes the page wider than the screen."""
        return [f"wider than the screen: {one}" for one in self.page.evaluate(WIDER)]

    def sent_too_much(self) -> Iterator[str]:
        """More requests or bytes than a page may take, and requests that leave the house."""
        asked = [one for one in self.requests if not _is_stream(one)]
        yield from (f"asks another origin: {one.url}" for one in asked if not one.url.startswith(self.address))
        pictures = [one for one in asked if _is_picture(one)]
        others = [one for one in asked if one not in pictures]
        size = sum(_bytes_of(one) for one in others if one.failure is None)
        if size > MOST_BYTES:
            yield f"{size} bytes before pictures"
        if len(asked) > MOST_REQUESTS:
            yield f"{len(asked)} requests, {len(pictures)} of them for pictures"


def _is_stream(request: Request) -> bool:
    return urlsplit(request.url).path.startswith("/events")


def _is_picture(request: Request) -> bool:
    return urlsplit(request.url).path.endswith(".svg")


def _bytes_of(request: Request) -> int:
    sizes: Any = request.sizes()
    return int(sizes["responseBodySize"]) + int(sizes["responseHeadersSize"])
