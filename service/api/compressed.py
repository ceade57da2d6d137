"""Replies compressed for callers that take gzip; for one that refuses it they stay as they are."""

from starlette.datastructures import Headers
from starlette.middleware.gzip import GZipMiddleware
from starlette.types import Receive, Scope, Send

from service.api.media import best_of

ACCEPTED = b"accept-encoding"


class Compressed(GZipMiddleware):
    """Starlette's own, which looks for the word gzip alone: ``gzip;q=0`` refuses it (RFC 9110 section 12.5.3)."""

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on, without what it accepts where that refuses gzip."""
        if scope["type"] == "http" and best_of(("gzip",), Headers(scope=scope).get("accept-encoding", "")) is None:
            # In place, not in a copy: the log reads its route from here.
            scope["headers"] = [one for one in scope["headers"] if one[0] != ACCEPTED]
        await super().__call__(scope, receive, send)
