"""Routes that read one JSON body and answer one JSON object, with no detour.

The body's bytes are validated once by the endpoint's model, the endpoint answers a plain dictionary,
and that is written as it is. FastAPI still sees the models in the signature, so the documentation
stays true; what is left out is building a model of the reply only to take it apart again.
"""

from collections.abc import Callable, Coroutine
from typing import Any

import anyio.to_thread
import orjson
from pydantic import TypeAdapter
from starlette.datastructures import QueryParams
from starlette.types import Receive, Scope, Send

from service.api.problems import ApiProblem, BadParameters
from service.jobs.request_faults import refuse_doubled_fields

JSON = "application/json"
JSON_BYTES = JSON.encode()
LONGEST_COUNT = 18
"""Digits of a content length that are read; more of them is over any limit anyway."""


class JsonAnswer:
    """An ASGI application that reads a body of a model, asks the endpoint, and writes its answer.

    ``write_out``: name of the function of ``stored_ids`` that writes out ids of kept things, for callers with a
    household's key; None where the body takes none.

    Plain ASGI: what Starlette puts around a handler (request and response objects, a second net for exceptions)
    costs a tenth of a lunch check. Exceptions go to the handlers of ``problems.py`` all the same.
    """

    def __init__(
        self,
        model: Any,
        endpoint: Callable[[Any], Coroutine[Any, Any, dict[str, Any]]],
        write_out: str | None = None,
    ) -> None:
        self.validate = TypeAdapter(model).validate_json
        self.endpoint = endpoint
        self.write_out = write_out

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Read, validate, answer, write."""
        asked = await read_asked(scope, receive, self.validate, self.write_out)
        reply = orjson.dumps(await self.endpoint(asked))
        headers = [(b"content-length", b"%d" % len(reply)), (b"content-type", JSON_BYTES)]
        await send({"type": "http.response.start", "status": 200, "headers": headers})
        await send({"type": "http.response.body", "body": reply})


async def read_asked(
    scope: Scope, receive: Receive, validate: Callable[[bytes], Any], write_out: str | None = None
) -> Any:
    """What a request asks: its body read, ids of kept things written out (see ``JsonAnswer``), validated."""
    if scope["query_string"]:
        refuse_parameters(scope)
    body = await read_body(scope, receive)
    if write_out is not None and "household" in scope:
        body = await written_out(scope["household"], write_out, body)
    asked = validate(body)
    refuse_doubled_fields(body)
    return asked


def refuse_parameters(scope: Scope) -> None:
    """A body says everything: parameters in the address would be passed over without a word."""
    raise BadParameters(
        [
            {"type": "extra_forbidden", "loc": ("query", name), "msg": "", "input": value}
            for name, value in QueryParams(scope["query_string"]).items()
        ]
    )


async def written_out(caller: Any, write_out: str, body: bytes) -> bytes:
    """A body with the ids of what the caller's household keeps written out; one that names none stays as it is."""
    from service.api.household.bodies import names_kept_things, write_out_body

    if not names_kept_things(body):
        return body
    return await anyio.to_thread.run_sync(write_out_body, caller, write_out, body)


async def read_body(scope: Scope, receive: Receive, media: bytes = JSON_BYTES, slug: str = "not-json") -> bytes:
    """The body's bytes; ``ApiProblem`` (``slug``) for another content type or more bytes than allowed."""
    content_type = announced = b""
    for name, value in scope["headers"]:
        if name == b"content-type":
            content_type = value
        elif name == b"content-length":
            announced = value
    if content_type != media and content_type.split(b";", 1)[0].strip().lower() != media:
        shown = content_type[:80].decode("latin-1")
        named = f"Content-Type is {shown!r}" if content_type else "There is no Content-Type"
        accepted = None if slug == "not-json" else {"Accept-Patch": media.decode()}
        raise ApiProblem(slug, f"{named}. Send {media.decode()}.", accepted)
    limit: int = scope["app"].state.max_body_bytes
    if announced.isdigit() and int(announced[:LONGEST_COUNT]) > limit:
        raise too_large(limit)
    parts: list[bytes] = []
    size = 0
    more = True
    while more:
        message = await receive()
        if message["type"] != "http.request":
            raise ApiProblem("malformed-json", "The body ended early.")
        part = message.get("body", b"")
        more = message.get("more_body", False)
        size += len(part)
        if size > limit:
            raise too_large(limit)
        parts.append(part)
    return parts[0] if len(parts) == 1 else b"".join(parts)


def too_large(limit: int) -> ApiProblem:
    """The problem for a body over the limit."""
    return ApiProblem("body-too-large", f"The body has more than {limit:,} bytes. Send fewer items a call.")
