"""Errors as RFC 9457 problem details: the one table from kinds of fault to status.

Every problem names the place (a JSON pointer into the body, or a parameter), the value and the remedy.
"""

import logging
from collections.abc import Mapping, Sequence
from typing import Any
from urllib.parse import quote

import orjson
from fastapi import FastAPI, Request, Response
from fastapi.exceptions import RequestValidationError
from pydantic import ValidationError
from starlette.exceptions import HTTPException
from starlette.routing import Match

from service.api.logs.exchanges import note_problem, request_id
from service.domain.errors import AlreadyThere, AnyFault
from service.domain.messages import Message, message
from service.jobs.request_faults import fault_of, request_fault, shown
from service.reference.fault_words import fault_sentence, fault_words, problem_words
from service.reference.messages import json_of, say

MEDIA_TYPE = "application/problem+json"
SENT = "packed_lunch.sent"
"""Where the scope of a request has the bytes of its body, if it is JSON whose faults are pointed at."""
OF_A_PATH = "/:@!$&'()*+,;=~"
"""What besides letters, digits and ``-._`` stands for itself in a path (RFC 3986 section 3.3)."""

PROBLEMS: dict[str, int] = {
    "malformed-json": 400,
    "access-key-needed": 401,
    "malformed-header": 400,
    "access-key-refused": 401,
    "access-key-ended": 401,
    "not-signed-in": 401,
    "cross-site-request": 403,
    "forbidden-right": 403,
    "not-there": 404,
    "not-found": 404,
    "unknown-resource": 404,
    "method-not-allowed": 405,
    "not-acceptable": 406,
    "body-too-slow": 408,
    "already-there": 409,
    "still-used": 409,
    "last-keep-key": 409,
    "must-not-be-packed": 409,
    "stale-edit": 412,
    "body-too-large": 413,
    "not-json": 415,
    "not-merge-patch": 415,
    "not-fhir": 415,
    "host-not-known": 421,
    "invalid-request": 422,
    "many-faults": 422,
    "unknown-name": 422,
    "bad-amount": 422,
    "bad-input": 422,
    "outside-dates": 422,
    "outside-age-groups": 422,
    "idempotency-key-reused": 422,
    "precondition-required": 428,
    "too-many-failures": 429,
    "too-busy": 429,
    "not-installed": 501,
    "store-fault": 503,
    "reference-fault": 500,
    "internal-error": 500,
}
"""The status of each kind; its title is in the catalogue, under ``problem-title``."""

OURS = 500
STORE_AGAIN_S = "5"
"""Retry-After where the store does not answer: about as long as whoever wrote to it takes; our choice."""
MOST_IN_DETAIL = 5
"""How many faults the detail of an ill-formed request names; each has its error."""

log = logging.getLogger("packed_lunch")


class BadParameters(Exception):
    """Parameters of an address that do not fit; ``errors`` as pydantic gives them."""

    def __init__(self, errors: Sequence[Any]) -> None:
        self.errors = errors
        super().__init__(f"{len(errors)} parameters do not fit")


class ApiProblem(Exception):
    """A fault of the HTTP exchange itself.

    ``problem``: what is wrong, a message of the group ``fault`` that is a sentence without its full stop; what to do is in the
    catalogue under the same name, in the group ``remedy``.
    """

    def __init__(self, slug: str, problem: Message, headers: dict[str, str] | None = None) -> None:
        self.slug = slug
        self.problem = problem
        self.headers = headers
        super().__init__(f"{slug}: {problem.code}")


def of_api_problem(fault: ApiProblem, path: str) -> Response:
    """The problem for a fault of the exchange: its code and values stand beside the detail."""
    said = problem_words(fault.problem)
    code = fault.problem.code.removeprefix("fault.")
    beside = {"code": code, "params": json_of(fault.problem.params)}
    return _problem(fault.slug, f"{said.problem}. {said.remedy}", beside, fault.headers, path)


def _problem(
    slug: str, detail: str, beside: Mapping[str, Any], headers: Mapping[str, str] | None = None, path: str = ""
) -> Response:
    """A problem reply; ``beside``: what else its body has."""
    status = PROBLEMS[slug]
    note_problem(slug)
    body: dict[str, Any] = {"type": f"/problems/{slug}", "title": title_of(slug), "status": status, "detail": detail}
    if path:
        body["instance"] = quote(path, safe=OF_A_PATH)
    if status == OURS:
        body["request_id"] = request_id()
    return Response(orjson.dumps({**body, **beside}), status_code=status, media_type=MEDIA_TYPE, headers=headers)


def title_of(slug: str) -> str:
    """What a kind of problem is called, in the language of the request at hand."""
    return say(Message(f"problem-title.{slug}", {}))


OF_THE_RECORD = {
    "/id": "",
    "/version": "If-Match",
    "/if-none-match": "If-None-Match",
    "/idempotency_key": "Idempotency-Key",
}
"""Places outside the body, with their names: what a record's own faults point at."""


def of_lunch_error(
    fault: AnyFault,
    path: str,
    address: Mapping[str, Any] | None = None,
    *,
    bodiless: bool = False,
    collection: str = "",
) -> Response:
    """The problem for a fault of the input.

    ``collection``: the address of the records asked about; where one is there already, Location is its address.
    ``address``: the parameters in its path. For a request without a body (``bodiless``) a fault of one of them is one
    of the address, any other one of the query. There a pointer is the parameter's name.
    """
    of_address = {str(value): name for name, value in (address or {}).items()}
    errors = [
        {
            "pointer": _place(one, of_address, bodiless),
            "value": shown(one.value),
            "detail": said.problem,
            "remedy": said.remedy,
            "slug": one.slug,
            "code": one.code,
            "params": json_of(one.params) | _existing(one),
        }
        for one, said in ((one, fault_words(one)) for one in fault.faults())
    ]
    of_one = bodiless and str(fault.value) in of_address
    slug = "unknown-resource" if fault.slug == "unknown-name" and of_one else fault.slug
    if slug == "reference-fault":
        log.error("reference data is faulty: %s", fault_sentence(fault))
    elif slug == "store-fault":
        log.error("the store does not answer: %s", fault.code)
    there = _existing(fault).get("existing_id")
    headers = {"Location": f"{collection}/{there}"} if there and collection else waits_of(fault)
    return _problem(slug, fault_sentence(fault), {"errors": errors}, headers, path)


def point_into_what_was_sent(fault: AnyFault, body: bytes) -> None:
    """Let the fault of a stored record point at the id that stands for it: what is within it was not sent."""
    try:
        sent = orjson.loads(body)
    except orjson.JSONDecodeError:  # a body that is no JSON for orjson has no faults within it
        return
    for one in fault.faults():
        one.pointer = _as_sent(one.pointer, sent)


def _as_sent(pointer: str, sent: Any) -> str:
    """As much of a pointer as leads to an id in what was sent; all of it where it meets none.

    >>> _as_sent("/child/age_months", {"child": "01900000-0000-7000-8000-000000000001"})
    '/child'
    >>> _as_sent("/child/age_months", {"child": {"age_months": 3}})
    '/child/age_months'
    """
    parts = pointer.split("/")
    for length, part in enumerate(parts[1:], 1):
        if isinstance(sent, str):
            return "/".join(parts[:length])
        key: Any = (
            int(part) if isinstance(sent, list) and part.isdecimal() else part.replace("~1", "/").replace("~0", "~")
        )
        try:
            sent = sent[key]
        except (KeyError, IndexError, TypeError):
            break
    return pointer


def waits_of(fault: AnyFault | ApiProblem) -> dict[str, str]:
    """The headers that say what to wait for: those of the problem, or Retry-After where the store does not answer."""
    if isinstance(fault, ApiProblem):
        return fault.headers or {}
    return {"Retry-After": STORE_AGAIN_S} if fault.slug == "store-fault" else {}


def _existing(fault: AnyFault) -> dict[str, str]:
    """The id of the record that is there already, where it is known."""
    there = fault.existing_id if isinstance(fault, AlreadyThere) else None
    return {} if there is None else {"existing_id": there}


def _place(fault: AnyFault, of_address: Mapping[str, str], bodiless: bool) -> str:
    """Where a fault is: a pointer into the body, or the name of a parameter or header."""
    if bodiless or fault.pointer in OF_THE_RECORD:
        part = fault.pointer[1:].partition("/")[0]
        of_record = f"{part}_id" if f"{part}_id" in of_address.values() else fault.pointer[1:]
        return of_address.get(str(fault.value)) or OF_THE_RECORD.get(fault.pointer) or of_record
    return "#" + fault.pointer


def of_validation(found: Sequence[Any], path: str, *, query: bool = False) -> Response:
    """The problem for a body (or, with ``query``, for parameters) that does not fit the model."""
    faults = [request_fault(error, 1 if query else 0) for error in found]
    if found[0]["type"] == "json_invalid":
        return of_api_problem(
            ApiProblem("malformed-json", message("fault.body-not-json", reason=fault_of(faults[0]))), path
        )
    errors = [
        {
            "pointer": fault["pointer"][1:] if query else "#" + fault["pointer"],
            "value": fault["value"],
            "detail": fault["problem"],
            "remedy": fault["remedy"],
            "slug": "invalid-request",
            "code": fault["code"],
            "params": fault["params"],
        }
        for fault in faults
    ]
    named = [f"{one['pointer'] or '/'} {one['problem']}" for one in faults[:MOST_IN_DETAIL]]
    more = len(faults) - len(named)
    detail = message("text.faults-and-more", faults=named, more=more) if more else message("text.faults", faults=named)
    return _problem("invalid-request", say(detail), {"errors": errors}, path=path)


def internal_error(path: str) -> Response:
    """The problem for a fault of our own: nothing of the inside is shown but the id by which the log has it."""
    said = message("fault.internal-error", request=request_id() or "-")
    return of_api_problem(ApiProblem("internal-error", said), path)


def install_problems(app: FastAPI) -> None:
    """Answer every error of the request with a problem; for faults of our own see access.py."""

    async def lunch_error(request: Request, fault: Exception) -> Response:
        assert isinstance(fault, AnyFault)  # noqa: S101 - registered for this class
        bodiless = request.method in ("GET", "HEAD", "DELETE")
        if (body := request.scope.get(SENT)) is not None:
            point_into_what_was_sent(fault, body)
        collection = _collection(getattr(request.scope.get("route"), "path", ""))
        return of_lunch_error(fault, request.url.path, request.path_params, bodiless=bodiless, collection=collection)

    async def invalid_parameters(request: Request, fault: Exception) -> Response:
        assert isinstance(fault, BadParameters | RequestValidationError)  # noqa: S101 - registered for these classes
        errors = fault.errors if isinstance(fault, BadParameters) else fault.errors()
        return of_validation(errors, request.url.path, query=True)

    async def invalid(request: Request, fault: Exception) -> Response:
        assert isinstance(fault, ValidationError)  # noqa: S101 - registered for this class
        return of_validation(fault.errors(include_url=False), request.url.path)

    async def api_problem(request: Request, fault: Exception) -> Response:
        assert isinstance(fault, ApiProblem)  # noqa: S101 - registered for this class
        return of_api_problem(fault, request.url.path)

    async def http_error(request: Request, fault: Exception) -> Response:
        assert isinstance(fault, HTTPException)  # noqa: S101 - registered for this class
        path, headers = request.url.path, dict(fault.headers or {})
        if fault.status_code == 405:
            headers["Allow"] = ", ".join(_allowed(request))
            said = message("fault.method-not-answered", method=request.method, path=path)
            return of_api_problem(ApiProblem("method-not-allowed", said, headers), path)
        if fault.status_code != 404:
            raise fault  # nothing here raises another: it is a fault of ours
        return of_api_problem(ApiProblem("not-found", message("fault.not-an-address", path=path), headers), path)

    app.add_exception_handler(AnyFault, lunch_error)
    app.add_exception_handler(BadParameters, invalid_parameters)
    app.add_exception_handler(RequestValidationError, invalid_parameters)
    app.add_exception_handler(ValidationError, invalid)
    app.add_exception_handler(ApiProblem, api_problem)
    app.add_exception_handler(HTTPException, http_error)


def _collection(template: str) -> str:
    """The address of all the records of which the address of a route names one, or makes one.

    >>> _collection("/v1/children/{child_id}/lunches/{date}")
    '/v1/lunches'
    """
    names = [part for part in template.split("/") if part and not part.startswith("{")]
    return f"/v1/{names[-1]}" if names else ""


def _allowed(request: Request) -> list[str]:
    """The methods that the address of a request answers, on whichever routers they are."""
    found = [
        method
        for method in ("DELETE", "GET", "PATCH", "POST", "PUT")
        if any(route.matches({**request.scope, "method": method})[0] is Match.FULL for route in request.app.routes)
    ]
    return sorted([*found, "HEAD"] if "GET" in found else found)
