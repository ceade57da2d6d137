"""The gate in front of every route: access key, the headers that replies carry (pages carry more), HEAD, and
the answer to a fault of our own.

Plain ASGI, so that it costs next to nothing. Nothing of a request's content is logged.
"""

import hmac
import logging
import traceback

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from service.api.problems import internal_error, problem

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
    """Refuses callers without the key (where one is set) and adds the headers; HEAD is GET without the body."""

    def __init__(self, app: ASGIApp, access_key: str) -> None:
        self.app = app
        self.expected = access_key.encode()

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

        if self.expected and scope["path"] not in OPEN_PATHS and not self._has_key(scope):
            refused = problem(
                "access-key-needed",
                "This service was started with an access key. Send it as 'Authorization: Bearer <key>'.",
                headers={"WWW-Authenticate": "Bearer"},
                path=scope["path"],
            )
            await refused(scope, receive, send_with_headers)
            return
        try:
            await self.app({**scope, "method": "GET"} if bodiless else scope, receive, send_with_headers)
        except Exception as fault:  # whatever it is, nothing of the inside or of the request may get out
            if begun:
                raise
            where = "".join(traceback.format_tb(fault.__traceback__))  # lines of code, no values
            log.error("unexpected %s at %s\n%s", type(fault).__name__, scope["path"], where)
            await internal_error(scope["path"])(scope, receive, send_with_headers)

    def _has_key(self, scope: Scope) -> bool:
        for name, value in scope["headers"]:
            if name == b"authorization":
                scheme, _, key = value.partition(b" ")
                return scheme.lower() == b"bearer" and hmac.compare_digest(key.strip(), self.expected)
        return False
