"""Bodies: their bytes are read and validated by a dependency, once, with the checks that FastAPI's own lacks.

A field that appears twice is refused, text is UTF-8 and nothing else, and a large body is validated in a worker. The
documentation finds the model in the dependency (``openapi.py``).
"""

from collections.abc import Callable
from typing import Any, NamedTuple

from fastapi import Request
from pydantic import BaseModel, TypeAdapter
from starlette.datastructures import QueryParams
from starlette.requests import ClientDisconnect

from service.api.patches import patch_of
from service.api.problems import SENT, ApiProblem, BadParameters
from service.domain.messages import message
from service.jobs.household.access.opened import Caller
from service.jobs.household.stored.stored_ids import with_ids_resolved
from service.jobs.request_faults import refuse_doubled_fields

JSON = "application/json"
MERGE_PATCH = "application/merge-patch+json"
FHIR = "application/fhir+json"
LINKED = "application/ld+json"
LONGEST_COUNT = 18
"""Digits of a content length that are read; more of them is over any limit anyway."""
LARGE = 16_000
"""Bytes from which on a body is validated in a worker: some milliseconds of work; our choice."""


class Sent(NamedTuple):
    """A body as it was sent, and validated."""

    body: bytes
    asked: Any


class JsonBody:
    """A dependency that gives a body validated by a model.

    ``with_ids``: the same model with ids of stored records allowed, for callers with a household's key; they are resolved,
    and what the household stores of foods comes with the request.
    """

    media = JSON

    def __init__(self, model: type[BaseModel], with_ids: type[BaseModel] | None = None) -> None:
        self.documented = with_ids or model
        self.validate: Callable[[bytes], Any] = TypeAdapter(model).validate_json
        self.validate_with_ids = None if with_ids is None else TypeAdapter(with_ids).validate_json

    async def __call__(self, request: Request) -> Any:
        """The body; ``ApiProblem``, ``ValidationError`` or ``LunchError`` for one that does not fit."""
        refuse_parameters(request)
        body = request.scope[SENT] = await read_body(request)
        caller: Caller | None = request.scope.get("household")
        if caller is not None and self.validate_with_ids is not None:
            return await request.app.state.workers.bodies.run(self._resolved, caller, body)
        if len(body) >= LARGE:
            return await request.app.state.workers.bodies.run(self._validated, body)
        return self._validated(body)

    def _validated(self, body: bytes) -> Any:
        asked = self.validate(body)
        refuse_doubled_fields(body)
        return asked

    def _resolved(self, caller: Caller, body: bytes) -> Any:
        resolve: Callable[..., Any] = with_ids_resolved  # one of its overloads, by the model
        assert self.validate_with_ids is not None  # noqa: S101 - looked at by the caller
        asked = self.validate_with_ids(body)
        refuse_doubled_fields(body)
        with caller.store.reading() as connection:
            return resolve(connection, caller.household, asked)


class SentJson(JsonBody):
    """A dependency that gives a body both as it was sent and validated."""

    async def __call__(self, request: Request) -> Sent:
        """The body."""
        refuse_parameters(request)
        body = request.scope[SENT] = await read_body(request)
        if len(body) >= LARGE:
            return Sent(body, await request.app.state.workers.bodies.run(self._validated, body))
        return Sent(body, self._validated(body))


class FhirBody(JsonBody):
    """A dependency that gives a FHIR resource as JSON, validated."""

    media = FHIR

    async def __call__(self, request: Request) -> Any:
        """The resource."""
        refuse_parameters(request)
        body = await read_body(request, FHIR, "not-fhir")
        return await request.app.state.workers.bodies.run(self._validated, body)


class MergePatch:
    """A dependency that gives the bytes of a JSON Merge Patch (RFC 7396); the edited whole is validated by the job.

    ``model``: what is edited; the documentation shows the form of its patch.
    """

    media = MERGE_PATCH

    def __init__(self, model: type[BaseModel]) -> None:
        self._model = model

    @property
    def documented(self) -> type[BaseModel]:
        """The form of the patch; nothing but the documentation needs it."""
        return patch_of(self._model)

    async def __call__(self, request: Request) -> bytes:
        """The body."""
        refuse_parameters(request)
        return await read_body(request, MERGE_PATCH, "not-merge-patch")


def refuse_parameters(request: Request) -> None:
    """Refuse parameters in the address: a body says everything, and they would be passed over without a word."""
    query = request.scope["query_string"]
    if query:
        raise BadParameters(
            [
                {"type": "extra_forbidden", "loc": ("query", name), "msg": "", "input": value}
                for name, value in QueryParams(query).items()
            ]
        )


async def read_body(request: Request, media: str = JSON, slug: str = "not-json") -> bytes:
    """The body's bytes; ``ApiProblem`` (``slug``) for another content type or more bytes than allowed."""
    content_type = request.headers.get("content-type", "")
    if content_type != media and content_type.split(";", 1)[0].strip().lower() != media:
        said = (
            message("fault.other-content-type", given=content_type[:80], media=media)
            if content_type
            else message("fault.no-content-type", media=media)
        )
        raise ApiProblem(slug, said, {"Accept-Patch": media} if slug == "not-merge-patch" else None)
    limit: int = request.app.state.settings.max_body_bytes
    announced = announced_bytes(request)
    if announced is not None and announced > limit:
        raise _too_large(limit)
    parts = bytearray()
    try:
        async for part in request.stream():
            parts += part
            if len(parts) > limit:
                raise _too_large(limit)
    except ClientDisconnect as gone:
        raise ApiProblem("malformed-json", message("fault.body-ended-early")) from gone
    return bytes(parts)


def announced_bytes(request: Request) -> int | None:
    """The bytes that Content-Length announces; None where there is none, or no number in it."""
    announced = request.headers.get("content-length", "")
    return int(announced[:LONGEST_COUNT]) if announced.isdecimal() else None


def _too_large(limit: int) -> ApiProblem:
    return ApiProblem("body-too-large", message("fault.too-many-bytes", most=limit))
