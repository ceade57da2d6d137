"""The run: request after request, the family put back now and then, and what was found told at the end."""

import asyncio
import logging
import random
import tempfile
import time
from pathlib import Path
from unittest import mock

from service.api.docs.openapi import openapi_document
from tests.fuzz.api_requests import ApiRequests
from tests.fuzz.asking import Answer, Asked, ask
from tests.fuzz.judging import Judge
from tests.fuzz.kitchen import Family, new_family
from tests.fuzz.page_requests import PageRequests

PUT_BACK_EVERY = 400
TOLD_EVERY = 30.0
"""Seconds between two lines that say how far it is."""
PAGES = 0.5
"""The part of the requests that goes to the pages."""
READ = 0.4
"""The part of the pages that forms and links are taken from."""
KNOWN_NAMES = [
    "apple",
    "egg-hard-boiled",
    "milk-1-percent",
    "bread-whole-wheat",
    "peanut",
    "grades-k-5",
    "us-school-lunch",
]


class Log(logging.Handler):
    """Hands on what the application writes to its log as a fault."""

    def __init__(self, lines: list[str]) -> None:
        super().__init__(logging.ERROR)
        self.lines = lines

    def emit(self, record: logging.LogRecord) -> None:
        """Keep the line."""
        self.lines.append(record.getMessage())


def run(requests: int, seed: int, first: int = 0) -> int:
    """Make up so many requests, from the one of a number on; 1 if anything was found."""
    with (
        tempfile.TemporaryDirectory(prefix="packed-lunch-fuzz-") as folder,
        # wrong keys are sent by the hundred
        mock.patch("service.api.gate.wrong_keys.MOST_OF_A_KEY", 1_000_000),
        mock.patch("service.api.gate.wrong_keys.MOST_OF_AN_ADDRESS", 1_000_000),
    ):
        family = new_family(Path(folder))
        try:
            return asyncio.run(_run(requests, seed, first, family))
        finally:
            family.app.state.households.close()


async def _run(requests: int, seed: int, first: int, family: Family) -> int:
    judge = Judge(openapi_document(), family.app)
    log = logging.getLogger("packed_lunch")
    log.propagate = False
    handler = Log(judge.logged)
    log.addHandler(handler)
    of_api, of_pages = ApiRequests(judge.document, family), PageRequests(family)
    ids = [*KNOWN_NAMES, *(one for some in family.ids.values() for one in some[-30:])]
    slowest: list[tuple[float, Asked]] = []
    begun = told = time.monotonic()
    last_put_back = first
    try:
        for number in range(first, first + requests):
            draw = random.Random(f"{seed}/{number}")  # noqa: S311 - requests are made up, not secrets
            asked = (of_pages if draw.random() < PAGES else of_api).make(draw, ids)
            moment = time.monotonic()
            answer = await ask(family.app, asked)
            took = time.monotonic() - moment
            judge.look(asked, answer)
            slowest = sorted([*slowest, (took, asked)], key=lambda one: -one[0])[:5]
            if answer.status == 200 and answer.media == "text/html" and draw.random() < READ:
                of_pages.saw(answer.body.decode())
            if number - last_put_back >= PUT_BACK_EVERY or (
                number - last_put_back > 20 and _shut_out(asked, answer, family)
            ):
                family.put_back()
                of_pages.forget()
                last_put_back = number
            if moment - told > TOLD_EVERY:
                told = moment
                rate = (number - first) / (moment - begun)
                print(
                    f"{number - first:,} requests, {rate:.0f} a second, {len(judge.findings)} kinds of findings",
                    flush=True,
                )
    finally:
        log.removeHandler(handler)
        log.propagate = True
    _tell(judge, slowest, requests, time.monotonic() - begun, seed)
    return 1 if judge.findings else 0


def _shut_out(asked: Asked, answer: Answer, family: Family) -> bool:
    """Whether the family's key or device is no longer let in: something that was sent before has signed it out."""
    headers = dict(asked.headers)
    if answer.status == 401:
        return headers.get(b"authorization") == f"Bearer {family.keys[0]}".encode()
    of_device = headers.get(b"cookie") == family.devices["keep"].cookie
    return of_device and answer.status == 303 and answer.headers.get("location") == "/sign-in"


def _tell(judge: Judge, slowest: list[tuple[float, Asked]], requests: int, seconds: float, seed: int) -> None:
    print(f"\n{requests:,} requests in {seconds:.0f} s ({requests / max(seconds, 0.001):.0f} a second), seed {seed}")
    for room in ("API", "pages"):
        counts = {status: count for (where, status), count in sorted(judge.statuses.items()) if where == room}
        print(
            f"  {room}: {sum(counts.values()):,}  "
            + "  ".join(f"{status}: {count:,}" for status, count in counts.items())
        )
    print("  slowest: " + ", ".join(f"{took:.1f} s {one.method} {one.template}" for took, one in slowest))
    for finding in sorted(judge.findings.values(), key=lambda one: one.kind):
        print(f"\nFOUND {finding.count} times: {finding.kind}\n{finding.first}")
    print(f"\n{len(judge.findings)} kinds of findings")
