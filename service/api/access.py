"""The gate in front of every route: access keys, the headers that replies carry (pages carry more), HEAD, and
the answer to a fault of our own.

From this machine no key is needed unless the service was started with one. Whoever comes from elsewhere needs the
service's key or a household's; one that has the form of a household's must be one in any case.

Plain ASGI, so that it costs next to nothing. Nothing of a request's content is logged.
"""

import hmac
import logging
import traceback
from functools import lru_cache
from ipaddress import ip_address

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from service.api.household.opened import SECRET, Households
from service.api.problems import ApiProblem, internal_error, of_lunch_error, problem
from service.domain.errors import LunchError

log = logging.getLogger("packed_lunch")
OPEN_PATHS = frozenset({"/v1/health"})

HEADERS: tuple[tuple[bytes, bytes], ...] = (
    (b"x-content-type-options", b"nosniff"),
    (b"cache-control", b"no-store"),
)
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
                message["headers"].extend(PAGE_HEADERS if scope["path"].startswith("/docs") else HEADERS)
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
        if scope["path"] in OPEN_PATHS:
            return
        key = bearer(scope)
        closed = bool(self.expected) or from_elsewhere(scope)
        if key is None or not (closed or SECRET.fullmatch(key)):
            if closed:
                raise ApiProblem(
                    "access-key-needed",
                    "An access key is needed here. Send it as 'Authorization: Bearer <key>'.",
                    {"WWW-Authenticate": "Bearer"},
                )
            return
        address = scope["client"][0] if scope.get("client") else ""
        if self.expected and hmac.compare_digest(key, self.expected) and not self.households.shut_out(address):
            return
        scope["household"] = await self.households.caller(key, address)


def bearer(scope: Scope) -> bytes | None:
    """The key in Authorization (RFC 6750 section 2.1), or None."""
    for name, value in scope["headers"]:
        if name == b"authorization":
            scheme, _, key = value.partition(b" ")
            return bytes(key.strip()) or None if scheme.lower() == b"bearer" else None
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
