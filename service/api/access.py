"""The gate in front of every route: access keys, the headers that replies carry (pages carry more), HEAD, and
the answer to a fault of our own.

From this machine no key is needed unless the service was started with one. Whoever comes from elsewhere needs the
service's key or a household's. A key that is sent must be one of these in any case: a household's key that was cut
short is not taken for no key.

Plain ASGI, so that it costs next to nothing. Nothing of a request's content is logged.
"""

import hmac
import logging
import traceback
from functools import lru_cache
from ipaddress import ip_address

import anyio.to_thread
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from service.api.failures import Failures
from service.api.problems import ApiProblem, internal_error, of_lunch_error, problem
from service.domain.errors import LunchError
from service.jobs.household.access.opened import Caller, Households

log = logging.getLogger("packed_lunch")
OPEN_PATHS = frozenset({"/v1/health"})

OPEN_PREFIX = "/problems/"
MOST_FAILURES = "10/minute"

HEADERS: tuple[tuple[bytes, bytes], ...] = ((b"x-content-type-options", b"nosniff"),)
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

    ``scope["household"]`` is the ``Caller`` of a request that carries a household's key.
    """

    def __init__(self, app: ASGIApp, access_key: str, households: Households) -> None:
        self.app = app
        self.expected = access_key.encode()
        self.households = households
        self.failures = Failures(MOST_FAILURES)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let the request through, or answer 401."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        begun = False
        bodiless = scope["method"] == "HEAD"

        async def send_with_headers(message: Message) -> None:
            nonlocal begun
            if message["type"] == "http.response.start":
                begun = True
                headers = message["headers"]
                headers.extend(PAGE_HEADERS if scope["path"].startswith("/docs") else HEADERS)
                if not any(name == b"cache-control" for name, _value in headers):
                    headers.append(NOT_STORED)
            elif bodiless:
                message = {**message, "body": b""}
            await send(message)

        try:
            await self._let_in(scope)
        except ApiProblem as refused:
            reply = problem(refused.slug, refused.detail, headers=refused.headers, path=scope["path"])
            await reply(scope, receive, send_with_headers)
            return
        except LunchError as fault:  # the store cannot be read
            await of_lunch_error(fault, scope["path"], bodiless=True)(scope, receive, send_with_headers)
            return
        try:
            await self.app({**scope, "method": "GET"} if bodiless else scope, receive, send_with_headers)
        except Exception as fault:  # whatever it is, nothing of the inside or of the request may get out
            if begun:
                raise
            where = "".join(traceback.format_tb(fault.__traceback__))  # lines of code, no values
            log.error("unexpected %s at %s\n%s", type(fault).__name__, scope["path"], where)
            await internal_error(scope["path"])(scope, receive, send_with_headers)

    async def _let_in(self, scope: Scope) -> None:
        """Raise for a request that may not go on; remember whose it is."""
        if scope["path"] in OPEN_PATHS or scope["path"].startswith(OPEN_PREFIX):
            return
        key = bearer(scope)
        if key is None:
            if self.expected or from_elsewhere(scope):
                raise ApiProblem(
                    "access-key-needed",
                    "An access key is needed here. Send it as 'Authorization: Bearer <key>'.",
                    {"WWW-Authenticate": "Bearer"},
                )
            return
        address = scope["client"][0] if scope.get("client") else ""
        if self.failures.too_many(address):
            raise self.failures.problem(address)
        if self.expected and hmac.compare_digest(key, self.expected):
            return
        scope["household"] = await self._caller(key, address)

    async def _caller(self, key: bytes, address: str) -> Caller:
        """Whose key this is; ``ApiProblem`` if it is nobody's."""
        found = await anyio.to_thread.run_sync(self.households.caller, key)
        if found is None:
            self.failures.count(address)
            log.warning("an unknown access key was refused")
            raise ApiProblem(
                "access-key-refused",
                "The access key in Authorization is not known, or was revoked. Ask whoever runs this service for one.",
                {"WWW-Authenticate": "Bearer"},
            )
        return found


def bearer(scope: Scope) -> bytes | None:
    """The key in Authorization (RFC 6750 section 2.1), or None."""
    for name, value in scope["headers"]:
        if name == b"authorization":
            scheme, _, key = value.partition(b" ")
            return bytes(key.strip()) if scheme.lower() == b"bearer" else None
    return None


def from_elsewhere(scope: Scope) -> bool:
    """Whether a request comes from another machine; one over a local socket or in this process does not."""
    client = scope.get("client")
    return client is not None and not _on_this_machine(client[0])


@lru_cache(maxsize=1024)
def _on_this_machine(address: str) -> bool:
    try:
        return ip_address(address).is_loopback
    except ValueError:
        return True
