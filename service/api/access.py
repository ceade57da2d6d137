"""The gate in front of every route: access key, and the headers that every reply carries.

Plain ASGI, so that it costs next to nothing. Nothing of a request's content is logged.
"""

import hmac

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from service.api.problems import problem

OPEN_PATHS = frozenset({"/v1/health"})

HEADERS: tuple[tuple[bytes, bytes], ...] = (
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"no-referrer"),
    (b"cache-control", b"no-store"),
    (
        b"content-security-policy",
        b"default-src 'none'; script-src 'self'; style-src 'self' 'unsafe-inline'; img-src 'self' data:; "
        b"connect-src 'self'; font-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
    ),
)


class Gate:
    """Refuses callers without the key (where one is set) and adds the headers."""

    def __init__(self, app: ASGIApp, access_key: str) -> None:
        self.app = app
        self.expected = f"Bearer {access_key}".encode() if access_key else b""

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let the request through, or answer 401."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                present = {name for name, _value in message["headers"]}
                message["headers"] = [*message["headers"], *(pair for pair in HEADERS if pair[0] not in present)]
            await send(message)

        if self.expected and scope["path"] not in OPEN_PATHS and not self._has_key(scope):
            refused = problem(
                "access-key-needed",
                "This service was started with an access key. Send it as 'Authorization: Bearer <key>'.",
                headers={"WWW-Authenticate": "Bearer"},
            )
            await refused(scope, receive, send_with_headers)
            return
        await self.app(scope, receive, send_with_headers)

    def _has_key(self, scope: Scope) -> bool:
        for name, value in scope["headers"]:
            if name == b"authorization":
                return hmac.compare_digest(value, self.expected)
        return False
