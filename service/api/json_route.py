"""Routes that read one JSON body and answer one JSON object, with no detour.

The body's bytes are validated once by the endpoint's model, the endpoint answers a plain dictionary,
and that is written as it is. FastAPI still sees the models in the signature, so the documentation
stays true; what is left out is building a model of the reply only to take it apart again.
"""

from collections.abc import Callable, Coroutine
from typing import Any, get_type_hints

import orjson
from fastapi import Request, Response
from fastapi.routing import APIRoute
from pydantic import TypeAdapter
from starlette.requests import ClientDisconnect

from service.api.problems import ApiProblem
from service.settings import settings

JSON = "application/json"


class JsonBodyRoute(APIRoute):
    """A route whose endpoint is ``async def endpoint(asked: Model) -> dict``."""

    def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        """Read, validate, answer, write."""
        endpoint = self.endpoint
        hints = get_type_hints(endpoint)
        adapter: TypeAdapter[Any] = TypeAdapter(next(hint for name, hint in hints.items() if name != "return"))
        validate = adapter.validate_json

        async def handle(request: Request) -> Response:
            asked = validate(await read_body(request))
            return Response(orjson.dumps(await endpoint(asked)), media_type=JSON)

        return handle


async def read_body(request: Request) -> bytes:
    """The body's bytes; ``ApiProblem`` for another content type or more bytes than allowed."""
    content_type = request.headers.get("content-type", "")
    if content_type.split(";", 1)[0].strip().lower() != JSON:
        raise ApiProblem("not-json", f"Content-Type is {content_type[:80]!r}. Send {JSON}.")
    limit = settings().max_body_bytes
    announced = request.headers.get("content-length", "")
    if announced.isascii() and announced.isdigit() and int(announced) > limit:
        raise too_large(limit)
    parts: list[bytes] = []
    size = 0
    try:
        async for part in request.stream():
            size += len(part)
            if size > limit:
                raise too_large(limit)
            parts.append(part)
    except ClientDisconnect as gone:
        raise ApiProblem("malformed-json", "The body ended early.") from gone
    return parts[0] if len(parts) == 1 else b"".join(parts)


def too_large(limit: int) -> ApiProblem:
    """The problem for a body over the limit."""
    return ApiProblem("body-too-large", f"The body has more than {limit:,} bytes. Send fewer items a call.")
