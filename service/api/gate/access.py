"""The gate in front of every route: hosts, access keys, devices, the headers that replies carry (pages carry more),
HEAD, and the answer to a fault of our own.

Only hosts that are known here are answered. From this machine no key is needed unless the service was started with one.
Whoever comes from elsewhere needs the service's key, a household's, or a device that is signed in. A key that is sent
must be one of these in any case and at every address, also where none is needed: a household's key that was cut short is
not taken for no key. A device sends a cookie: what it changes must come from a page of ours, and one that may only take sees
nothing of the JSON API. Metrics have a key of their own, which opens nothing else.

Plain ASGI, so that it costs next to nothing. Nothing of a request's content is logged.
"""

import hmac
import logging
from collections.abc import Callable, Mapping
from typing import TypeVar

import anyio.to_thread
from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from service.api.gate.device_cookie import device_secret
from service.api.gate.wrong_keys import WrongKeys
from service.api.logs.exchanges import note_problem, peer_of, route_of
from service.api.logs.lines import places
from service.api.logs.metrics import PATH as METRICS
from service.api.media import best_of
from service.api.problems import ApiProblem, internal_error, of_api_problem, of_lunch_error, waits_of
from service.api.senders import CHANGING, Headers, KnownHosts, from_elsewhere, from_our_page
from service.domain.errors import AnyFault
from service.domain.messages import message
from service.jobs.household.access.opened import Caller, Households, KeyEnded

log = logging.getLogger("packed_lunch")
RefusalPage = Callable[[Scope, str], Response]
"""Makes the page for a request that is not carried out: from the request and the slug of the problem."""
Found = TypeVar("Found")
OPEN_PATHS = frozenset({"/v1/health"})
"""Answered without a key; a key that is sent all the same must be one."""

OPEN_PREFIX = "/problems/"
JSON_API = "/v1/"
HTML, JSON = "text/html", "application/json"
CHALLENGE = {"WWW-Authenticate": "Bearer"}

HEADERS: tuple[tuple[bytes, bytes], ...] = ((b"x-content-type-options", b"nosniff"),)
OVER_TLS_FROM_NOW_ON = (b"strict-transport-security", b"max-age=31536000")
"""For a year (RFC 6797); only said over TLS, since the service is also used without it at home."""
NOT_STORED = (b"cache-control", b"no-store")
"""For every reply that does not say itself how long it may be used."""
PAGE_HEADERS: tuple[tuple[bytes, bytes], ...] = (
    *HEADERS,
    (b"referrer-policy", b"no-referrer"),
    (
        b"content-security-policy",
        b"default-src 'none'; script-src 'self'; style-src 'self' 'unsafe-inline'; img-src 'self' data:; "
        b"connect-src 'self'; font-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
    ),
)


class Gate:
    """Refuses callers without a key who need one, and adds the headers; HEAD is GET without the body.

    ``scope["household"]`` is the ``Caller`` of a request that carries a household's key or comes from a device that is
    signed in. ``behind_proxy``: proxies hand requests on, so nobody counts as coming from this machine. ``metrics_key``: reads
    the metrics; empty: there are none. ``tracebacks``: unexpected faults are logged in full. ``open_prefixes``: addresses that begin so need no key. ``refusal_page``: answers a
    browser that asked for a page; everybody else gets the problem.
    """

    def __init__(
        self,
        app: ASGIApp,
        access_key: str,
        households: Households,
        hosts: KnownHosts,
        wrong_keys: WrongKeys,
        *,
        behind_proxy: bool = False,
        metrics_key: str = "",
        tracebacks: bool = False,
        open_prefixes: tuple[str, ...] = (),
        refusal_page: RefusalPage | None = None,
    ) -> None:
        self.app = app
        self.expected = access_key.encode()
        self.households = households
        self.hosts = hosts
        self.wrong_keys = wrong_keys
        self.all_need_a_key = bool(access_key) or behind_proxy
        self.metrics_key = metrics_key.encode()
        self.tracebacks = tracebacks
        self.open_prefixes = (OPEN_PREFIX, *open_prefixes)
        self.refusal_page = refusal_page

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let the request through, or answer 401."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        begun = False
        bodiless = scope["method"] == "HEAD"

        async def send_with_headers(sent: Message) -> None:
            nonlocal begun
            if sent["type"] == "http.response.start":
                begun = True
                headers = sent["headers"]
                headers.extend(PAGE_HEADERS if scope["path"].startswith("/docs") else HEADERS)
                if scope.get("scheme") == "https":
                    headers.append(OVER_TLS_FROM_NOW_ON)
                if not any(name == b"cache-control" for name, _value in headers):
                    headers.append(NOT_STORED)
            elif bodiless:
                sent = {**sent, "body": b""}
            await send(sent)

        headers = Headers(scope)
        try:
            await self._let_in(scope, headers)
        except ApiProblem as refused:
            reply = self._page(scope, refused.slug, refused.headers) or of_api_problem(refused, scope["path"])
            await reply(scope, receive, send_with_headers)
            return
        except AnyFault as fault:  # the store cannot be read
            reply = self._page(scope, fault.slug, waits_of(fault)) or of_lunch_error(
                fault, scope["path"], bodiless=True
            )
            await reply(scope, receive, send_with_headers)
            return
        if bodiless:
            scope["method"] = "GET"
        try:
            await self.app(scope, receive, send_with_headers)
        except Exception as fault:  # whatever it is, nothing of the inside or of the request may get out
            if begun:
                raise
            told = {"method": scope["method"], "route": route_of(scope), "raised_at": places(fault.__traceback__)}
            shown = fault if self.tracebacks else None  # its own words may hold what was sent or stored
            log.error("unexpected %s", type(fault).__name__, extra=told, exc_info=shown)
            reply = self._page(scope, "internal-error") or internal_error(scope["path"])
            await reply(scope, receive, send_with_headers)
        caller: Caller | None = scope.get("household")
        if caller is not None and caller.unnoted is not None:
            await anyio.to_thread.run_sync(self.households.note_use, caller.unnoted)

    async def _let_in(self, scope: Scope, headers: Headers) -> None:
        """Raise for a request that may not go on; remember whose it is."""
        if not self.hosts.has(headers.host):
            raise ApiProblem("host-not-known", message("fault.host-not-known"))
        path = scope["path"]
        key = bearer(headers.authorization)
        secret = device_secret(headers.cookie) if key is None and headers.cookie is not None else None
        if secret is not None and scope["method"] in CHANGING and not from_our_page(scope, headers):
            raise ApiProblem("cross-site-request", message("fault.not-from-our-page"))
        if headers.keys > 1:
            raise ApiProblem("access-key-refused", message("fault.two-authorizations"), CHALLENGE)
        if self.metrics_key and path == METRICS:
            self._metrics(key, peer_of(scope))
            return
        is_open = path in OPEN_PATHS or path.startswith(self.open_prefixes)
        if key is not None:
            caller = await self._whose(key, peer_of(scope))
            if caller is not None and not is_open:
                scope["household"] = caller
            return
        if is_open:
            return
        if secret is not None and await self._signed_in(scope, secret):
            return
        if headers.authorization is not None:
            raise ApiProblem("access-key-refused", message("fault.not-a-bearer-key"), CHALLENGE)
        if self.all_need_a_key or from_elsewhere(scope, headers):
            raise ApiProblem("access-key-needed", message("fault.no-access-key"), CHALLENGE)

    async def _whose(self, key: bytes, peer: str) -> Caller | None:
        """Whose household's key this is, None for the service's own; ``ApiProblem`` for any other.

        It is compared before anything is counted: no number of wrong keys keeps a right one out.
        """
        if self.expected and hmac.compare_digest(key, self.expected):
            return None
        try:
            caller = await self._looked_up(peer, self.households.caller, key)
        except KeyEnded as ended:
            raise ApiProblem("access-key-ended", message("fault.access-key-ended"), CHALLENGE) from ended
        if caller is None:
            self.wrong_keys.wrong(peer, key)
            raise ApiProblem("access-key-refused", message("fault.access-key-not-known"), CHALLENGE)
        return caller

    def _metrics(self, key: bytes | None, peer: str) -> None:
        """``ApiProblem`` unless this is the key that reads the metrics."""
        if key is None:
            raise ApiProblem("access-key-needed", message("fault.no-access-key"), CHALLENGE)
        if not hmac.compare_digest(key, self.metrics_key):
            self.wrong_keys.wrong(peer, key, "key for metrics")
            raise ApiProblem("access-key-refused", message("fault.access-key-not-known"), CHALLENGE)

    async def _looked_up(self, peer: str, look_up: Callable[[bytes], Found], secret: bytes) -> Found:
        """What the store knows of a secret, looked up in a thread: few at a time for whoever sent many wrong ones."""
        lane = self.wrong_keys.slow_lane if self.wrong_keys.slowed(peer) else None
        return await anyio.to_thread.run_sync(look_up, secret, limiter=lane)

    async def _signed_in(self, scope: Scope, secret: bytes) -> bool:
        """Whether a request comes from a device that is signed in; ``ApiProblem`` if it may not go on.

        A cookie that is not known counts as none, but the JSON API says so. It is not counted as a guess: nobody guesses
        256 random bits, and a device that was signed out should not keep others of its house out.
        """
        caller = await self._looked_up(peer_of(scope), self.households.signed_in, secret)
        of_api = scope["path"].startswith(JSON_API)
        if caller is None:
            if of_api:
                raise ApiProblem("not-signed-in", message("fault.device-not-signed-in"), CHALLENGE)
            return False
        if of_api and caller.rights == "take":
            raise ApiProblem("forbidden-right", message("fault.device-only-takes"))
        scope["household"] = caller
        return True

    def _page(self, scope: Scope, slug: str, headers: Mapping[str, str] | None = None) -> Response | None:
        """The page for a browser that asked for a page or sent a form; None for everybody else."""
        if self.refusal_page is None or scope["path"].startswith(JSON_API):
            return None
        accept = next((value.decode("latin-1") for name, value in scope["headers"] if name == b"accept"), "")
        if HTML not in accept or best_of((JSON, HTML), accept) != HTML:
            return None
        note_problem(slug)
        page = self.refusal_page(scope, slug)
        page.headers.update(headers or {})
        return page


def bearer(authorization: bytes | None) -> bytes | None:
    """The key in Authorization (RFC 6750 section 2.1), or None."""
    if authorization is None:
        return None
    scheme, _, key = authorization.partition(b" ")
    return key.strip() if scheme.lower() == b"bearer" else None
