"""Ready replies, what they may be, and the documentation of every status that an operation can answer."""

import hashlib
from typing import Annotated, Any

import orjson
from fastapi import Depends, Query, Request, Response
from pydantic import BaseModel, ConfigDict, Field, TypeAdapter, ValidationError

from service.api.bodies import JSON
from service.api.conditions import Known
from service.api.media import accepted_of
from service.api.problems import MEDIA_TYPE, BadParameters
from service.jobs.requests.fields import FOOD_IDS, MOST_IDS, STORED_IDS

V1 = "/v1"
"""What the addresses of the JSON API begin with: the prefix of its routers."""
REFERENCE_FRESH = "private, max-age=3600"
"""How long a browser may use reference data without asking again: it changes with a new version of the service only."""

Responses = dict[int | str, dict[str, Any]]

WORDS = {
    304: "It is still what the caller has.",
    400: "The body is not JSON, or a header does not have the expected form.",
    401: "An access key is needed, or is not known; or the device is not signed in.",
    403: "The access key or device does not give that right, or another site sent what a device would change.",
    404: "There is nothing with that id or address.",
    406: "Nothing that is accepted can be answered.",
    409: "It does not fit what is stored.",
    412: "It was edited since it was read.",
    413: "The body is too large.",
    415: "The body is of another media type.",
    421: "The host is not one of this service.",
    422: "Something in the request is wrong; every fault is shown with its place, value and remedy.",
    428: "If-Match is missing.",
    429: "Too many unknown access keys came from this address (a known one is let in all the same), or too many requests wait.",
    500: "Something went wrong here.",
    501: "A part that this needs is not installed.",
    503: "The household store does not answer.",
}
RETRY_AFTER = {"Retry-After": {"description": "Seconds to wait.", "schema": {"type": "integer", "minimum": 1}}}
CHALLENGE = {"WWW-Authenticate": {"description": "How to send a key.", "schema": {"type": "string"}}}
ETAG = {"ETag": {"description": "Its version, for If-Match and If-None-Match.", "schema": {"type": "string"}}}
LOCATION = {"Location": {"description": "Its address.", "schema": {"type": "string", "format": "uri-reference"}}}
LOCATION_THERE = {
    "Location": {
        "description": "Where there is one already: its address. Its id is `existing_id` among the params of the fault.",
        "schema": {"type": "string", "format": "uri-reference"},
    }
}
BODY_FAULTS = (400, 413, 415)


def problems(*statuses: int) -> Responses:
    """Problems that an operation can answer, besides those that all can."""
    found: Responses = {}
    for status in sorted({*statuses, 401, 403, 406, 421, 422, 429, 500, 503}):
        found[status] = {
            "description": WORDS[status],
            "content": {MEDIA_TYPE: {"schema": {"$ref": "#/components/schemas/Problem"}}},
        }
    found[401]["headers"] = CHALLENGE
    found[429]["headers"] = RETRY_AFTER
    if 409 in found:
        found[409]["headers"] = LOCATION_THERE
    return found


def not_modified() -> Responses:
    """The answer to who has the thing already, and the tag of the good answer."""
    return {200: {"headers": ETAG}, 304: {"description": WORDS[304], "headers": ETAG}}


def json_reply(body: Any, status: int = 200, headers: dict[str, str] | None = None) -> Response:
    """A reply as it is written."""
    return Response(orjson.dumps(body), status, headers, JSON)


def reference_reply(body: Any, known: Known) -> Response:
    """A reply of reference data, with a tag of its content; 304 for who has it."""
    written = orjson.dumps(body)
    tag = f'"{hashlib.sha256(written).hexdigest()[:20]}"'
    headers = {"ETag": tag, "Cache-Control": REFERENCE_FRESH, "Vary": "Authorization"}
    if known(tag):
        return Response(status_code=304, headers=headers)
    return Response(written, headers=headers, media_type=JSON)


async def json_is_accepted(request: Request) -> None:
    """Refuse a caller that does not take JSON (RFC 9110 section 12.5.1)."""
    accept = request.headers.get("accept")
    if accept in (None, "*/*", JSON):
        return
    accepted_of(request, JSON)


async def each_parameter_once(request: Request) -> None:
    """Refuse a parameter that is given twice, of which only one would be read; other faults are reported with it.

    Where there is a body, every parameter is refused (``refuse_parameters``).
    """
    if not request.scope["query_string"]:
        return
    given = request.query_params
    twice = [name for name in given if len(given.getlist(name)) > 1]
    forms = [one.field_info.annotation for one in request.scope["route"].dependant.query_params]
    if twice and forms:
        faults: list[dict[str, Any]] = [
            {"type": "given_twice", "loc": ("query", name), "msg": "", "input": given.getlist(name)} for name in twice
        ]
        for form in forms:
            try:
                TypeAdapter(form).validate_python(dict(given))
            except ValidationError as found:
                faults += [{**one, "loc": ("query", *one["loc"])} for one in found.errors(include_url=False)]
        raise BadParameters(faults)


async def json_request(request: Request) -> None:
    """Both of these in one dependency: each costs a lunch check some per cent."""
    await json_is_accepted(request)
    await each_parameter_once(request)


AS_JSON = [Depends(json_request)]
"""Dependencies of every address that answers JSON only."""


class Parameters(BaseModel):
    """Query parameters; unknown ones are refused."""

    model_config = ConfigDict(extra="forbid")


Ids = Annotated[str, Field(min_length=1, max_length=MOST_IDS * 40, pattern=FOOD_IDS)]
StoredIds = Annotated[str, Field(max_length=MOST_IDS * 40, pattern=STORED_IDS)]
OF_IDS = f"Only those of these ids, separated by commas, {MOST_IDS} at most; ids that are not known are left out."

NoParameters = Annotated[Parameters, Query()]
