"""Routes that read one JSON body and answer one JSON object, with no detour.

The body's bytes are validated once by the endpoint's model, the endpoint answers a plain dictionary,
and that is written as it is. FastAPI still sees the models in the signature, so the documentation
stays true; what is left out is building a model of the reply only to take it apart again.
"""

from collections.abc import Callable, Coroutine
from typing import Any

import orjson
from pydantic import TypeAdapter
from starlette.requests import ClientDisconnect, Request
from starlette.responses import Response

from service.api.problems import ApiProblem, BadParameters
from service.jobs.request_faults import refuse_doubled_fields

JSON = "application/json"
LONGEST_COUNT = 18
"""Digits of a content length that are read; more of them is over any limit anyway."""


def json_handler(
    model: Any, endpoint: Callable[[Any], Coroutine[Any, Any, dict[str, Any]]]
) -> Callable[[Request], Coroutine[Any, Any, Response]]:
    """A handler that reads a body of a model, asks the endpoint, and writes its answer."""
    validate = TypeAdapter(model).validate_json

    async def handle(request: Request) -> Response:
        if request.scope["query_string"]:
            refuse_parameters(request)
        body = await read_body(request)
        asked = validate(body)
        refuse_doubled_fields(body)
        return Response(orjson.dumps(await endpoint(asked)), media_type=JSON)

    return handle


def refuse_parameters(request: Request) -> None:
    """A body says everything: parameters in the address would be passed over without a word."""
    raise BadParameters(
        [
            {"type": "extra_forbidden", "loc": ("query", name), "msg": "", "input": value}
            for name, value in request.query_params.items()
        ]
    )


async def read_body(request: Request) -> bytes:
    """The body's bytes; ``ApiProblem`` for another content type or more bytes than allowed."""
    content_type = request.headers.get("content-type", "")
    if content_type.split(";", 1)[0].strip().lower() != JSON:
        named = f"Content-Type is {content_type[:80]!r}" if content_type else "There is no Content-Type"
        raise ApiProblem("not-json", f"{named}. Send {JSON}.")
    limit: int = request.app.state.max_body_bytes
    announced = request.headers.get("content-length", "")
    if announced.isascii() and announced.isdigit() and int(announced[:LONGEST_COUNT]) > limit:
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
