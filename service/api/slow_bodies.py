"""Bodies come in time, or are answered 408: some seconds for each, and one more for so many bytes that have come."""

import asyncio

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from service.api.problems import ApiProblem
from service.domain.messages import message

CLOSED = {"Connection": "close"}
"""What is left of the body is not waited for (RFC 9110 section 15.5.9)."""


class SlowBodies:
    """Gives up on a body that does not come; only the time spent waiting for it counts.

    ``seconds``: for any body. ``bytes_a_second``: each so many bytes that have come give one second more.
    """

    def __init__(self, app: ASGIApp, seconds: float, bytes_a_second: int) -> None:
        self.app, self.seconds, self.bytes_a_second = app, seconds, bytes_a_second

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass on, with a ``receive`` that raises ``ApiProblem`` when it waited too long."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        loop = asyncio.get_running_loop()
        waited, read, whole = 0.0, 0, False

        async def receive_in_time() -> Message:
            nonlocal waited, read, whole
            if whole:
                return await receive()
            began = loop.time()
            left = self.seconds + read / self.bytes_a_second - waited
            try:
                async with asyncio.timeout(max(0.0, left)):
                    part = await receive()
            except TimeoutError as late:
                raise ApiProblem("body-too-slow", message("fault.body-too-slow", number=read), CLOSED) from late
            waited += loop.time() - began
            read += len(part.get("body", b""))
            whole = part["type"] != "http.request" or not part.get("more_body", False)
            return part

        await self.app(scope, receive_in_time, send)
