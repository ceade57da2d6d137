"""Each request and its answer: the id that both have, a line in the log, and what is counted of them.

Nothing that a caller sent is written down: of the address the template of its route, of the method one that is known.
"""

import logging
import re
import secrets
import time
from contextvars import ContextVar
from typing import Protocol

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from service.api.senders import Proxies

log = logging.getLogger("packed_lunch.requests")
REQUEST_ID = b"x-request-id"
WELL_FORMED = re.compile(rb"[A-Za-z0-9._-]{8,64}", re.ASCII)
"""What a proxy may call a request."""
METHODS = frozenset({"GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS"})
NO_ROUTE = "-"
"""In the place of a template where the request was refused before, or there is no such address."""
ID_BYTES = 8


class Exchange:
    """A request at hand. ``id``: its id; ``problem``: the kind of problem it was answered with, or empty."""

    __slots__ = ("id", "problem")

    def __init__(self, request_id: str) -> None:
        self.id = request_id
        self.problem = ""


AT_HAND: ContextVar[Exchange | None] = ContextVar("exchange", default=None)


def request_id() -> str:
    """The id of the request at hand; empty where there is none."""
    exchange = AT_HAND.get()
    return "" if exchange is None else exchange.id


def note_problem(slug: str) -> None:
    """Note the kind of problem that the request at hand is answered with."""
    exchange = AT_HAND.get()
    if exchange is not None:
        exchange.problem = slug


class Counts(Protocol):
    """Whoever counts requests."""

    def answered(self, method: str, route: str, status: int, seconds: float, problem: str) -> None:
        """One more."""


class Exchanges:
    """Gives each request its id, which is in the answer too, and writes a line when it has been answered.

    ``proxies``: those that may name a request themselves. ``counts``: None: nothing is counted.
    """

    def __init__(self, app: ASGIApp, proxies: Proxies, counts: Counts | None = None) -> None:
        self.app = app
        self.proxies = proxies
        self.counts = counts

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer as the application does, with the id among the headers."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        exchange = Exchange(self._named(scope) or secrets.token_hex(ID_BYTES))
        named = (REQUEST_ID, exchange.id.encode())
        status = 0

        async def send_named(sent: Message) -> None:
            nonlocal status
            if sent["type"] == "http.response.start":
                status = sent["status"]
                sent["headers"] = [*sent["headers"], named]
            await send(sent)

        method = scope["method"] if scope["method"] in METHODS else NO_ROUTE
        began = time.perf_counter()
        at_hand = AT_HAND.set(exchange)
        try:
            await self.app(scope, receive, send_named)
        finally:
            if self.counts is not None or log.isEnabledFor(logging.INFO):
                self._answered(scope, method, status, time.perf_counter() - began, exchange)
            AT_HAND.reset(at_hand)

    def _named(self, scope: Scope) -> str:
        """What a proxy calls the request; empty if none does, or in another form."""
        if not self.proxies or not self.proxies.has(peer_of(scope)):
            return ""
        given = [value for name, value in scope["headers"] if name == REQUEST_ID]
        return given[0].decode() if len(given) == 1 and WELL_FORMED.fullmatch(given[0]) else ""

    def _answered(self, scope: Scope, method: str, status: int, seconds: float, exchange: Exchange) -> None:
        route = route_of(scope)
        if self.counts is not None:
            self.counts.answered(method, route, status, seconds, exchange.problem)
        if not log.isEnabledFor(logging.INFO):
            return
        told = {
            "method": method,
            "route": route,
            "status": status,
            "duration_ms": round(seconds * 1000, 1),
            "peer": peer_of(scope),
        }
        if exchange.problem:
            told["problem"] = exchange.problem
        log.info("request", extra=told)


def route_of(scope: Scope) -> str:
    """The template of the address, so that no id and no key gets into a log."""
    return str(getattr(scope.get("route"), "path", "") or NO_ROUTE)


def peer_of(scope: Scope) -> str:
    """The address of who asks; empty over a local socket."""
    client = scope.get("client")
    return client[0] if client else ""
