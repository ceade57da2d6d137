"""Routes of FastAPI that read one JSON body and answer one JSON object, in the way of ``json_route``.

FastAPI sees the models in the signature, so the documentation stays true; what is left out is building a model
of the reply only to take it apart again.
"""

import threading
from collections.abc import Callable, Coroutine
from typing import Any, get_type_hints

import anyio
import anyio.to_thread
import orjson
from fastapi import Request, Response
from fastapi.routing import APIRoute
from pydantic import TypeAdapter

from service.api.json_route import JSON, JsonAnswer, read_asked
from service.api.routes import WRITTEN_OUT

CLIENT_GONE = 499
"""Common among web servers for a caller that closed the connection; nobody reads it."""


class JsonBodyRoute(APIRoute):
    """A route whose endpoint is ``async def endpoint(asked: Model) -> dict``."""

    def __init__(self, *args: Any, **named: Any) -> None:
        super().__init__(*args, **named)
        hints = get_type_hints(self.endpoint)
        model = next(hint for name, hint in hints.items() if name != "return")
        self.app = JsonAnswer(model, self.endpoint, WRITTEN_OUT.get(self.path))


Work = Callable[[Callable[[], None]], dict[str, Any]]
"""Work that may take long: called with a ``tick`` that it calls now and then, gives the reply."""


class WorkerRoute(APIRoute):
    """A route whose endpoint is ``def endpoint(asked: Model) -> Work`` and may take long.

    The work runs in a worker thread, so other requests go on; when the caller closes the connection, the next
    ``tick`` of the work raises and the work stops.
    """

    def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        """Read, validate, work in a thread, write."""
        endpoint = self.endpoint
        hints = get_type_hints(endpoint)
        adapter: TypeAdapter[Any] = TypeAdapter(hints["asked"])
        write_out = WRITTEN_OUT.get(self.path)

        async def handle(request: Request) -> Response:
            asked = await read_asked(request.scope, request.receive, adapter.validate_json, write_out)
            gone = threading.Event()

            def tick() -> None:
                if gone.is_set():
                    raise ClientGone

            async def watch() -> None:
                while True:
                    message = await request.receive()
                    if message["type"] == "http.disconnect":
                        gone.set()
                        return

            reply: dict[str, Any] = {}
            fault: Exception | None = None
            async with anyio.create_task_group() as group:
                group.start_soon(watch)
                try:
                    reply = await anyio.to_thread.run_sync(endpoint(asked), tick)
                except Exception as found:  # carried out of the group, which would wrap it
                    fault = found
                finally:
                    group.cancel_scope.cancel()
            if isinstance(fault, ClientGone):
                return Response(status_code=CLIENT_GONE)  # nobody reads it
            if fault is not None:
                raise fault
            return Response(orjson.dumps(reply), media_type=JSON)

        return handle


class ClientGone(Exception):
    """The caller closed the connection; the work is not wanted any more."""
