"""Errors as RFC 9457 problem details: the one table from kinds of fault to status and title.

Every problem names the place (a JSON pointer into the body, or a parameter), the value and the remedy.
"""

import logging
from collections.abc import Mapping, Sequence
from typing import Any
from urllib.parse import quote

import orjson
from pydantic import ValidationError
from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from service.domain.errors import LunchError
from service.jobs.request_faults import request_fault, shown

MEDIA_TYPE = "application/problem+json"
OF_A_PATH = "/:@!$&'()*+,;=~"
"""What besides letters, digits and ``-._`` stands for itself in a path (RFC 3986 section 3.3)."""

PROBLEMS: dict[str, tuple[int, str]] = {
    "malformed-json": (400, "The body is no JSON"),
    "access-key-needed": (401, "An access key is needed"),
    "not-found": (404, "There is nothing at this address"),
    "unknown-resource": (404, "There is no such thing"),
    "method-not-allowed": (405, "This address does not answer that method"),
    "body-too-large": (413, "The body is too large"),
    "not-json": (415, "The body must be application/json"),
    "invalid-request": (422, "The request does not have the expected form"),
    "many-faults": (422, "Several things in the request are wrong"),
    "unknown-name": (422, "A name is not known"),
    "bad-amount": (422, "An amount is not usable"),
    "bad-input": (422, "A value is not usable"),
    "outside-dates": (422, "No rules are known for that day"),
    "outside-age-groups": (422, "No age group of the standard covers that age"),
    "reference-fault": (500, "The reference data of this installation is faulty"),
    "internal-error": (500, "Something went wrong here"),
}

log = logging.getLogger("packed_lunch")


class BadParameters(Exception):
    """Parameters of an address that do not fit; ``errors`` as pydantic gives them."""

    def __init__(self, errors: Sequence[Any]) -> None:
        self.errors = errors
        super().__init__(f"{len(errors)} parameters do not fit")


class ApiProblem(Exception):
    """A fault of the HTTP exchange itself."""

    def __init__(self, slug: str, detail: str, headers: dict[str, str] | None = None) -> None:
        self.slug = slug
        self.detail = detail
        self.headers = headers
        super().__init__(detail)


def problem(
    slug: str, detail: str, errors: Sequence[dict[str, Any]] = (), headers: dict[str, str] | None = None, path: str = ""
) -> Response:
    """A problem reply."""
    status, title = PROBLEMS[slug]
    body: dict[str, Any] = {"type": f"/problems/{slug}", "title": title, "status": status, "detail": detail}
    if path:
        body["instance"] = quote(path, safe=OF_A_PATH)
    if errors:
        body["errors"] = list(errors)
    return Response(orjson.dumps(body), status_code=status, media_type=MEDIA_TYPE, headers=headers)


def of_lunch_error(fault: LunchError, path: str, address: Mapping[str, Any] | None = None) -> Response:
    """The problem for a fault of the input.

    ``address``: for a request without a body, the parameters in its path: a fault of one of them is one of
    the address, any other one of the query. There a pointer is the parameter's name.
    """
    of_address = {str(value): name for name, value in (address or {}).items()}
    errors = [
        {
            "pointer": "#" + one.pointer if address is None else of_address.get(str(one.value), one.pointer[1:]),
            "value": shown(one.value),
            "detail": one.problem,
            "remedy": one.remedy,
            "slug": one.slug,
        }
        for one in fault.faults()
    ]
    slug = "unknown-resource" if fault.slug == "unknown-name" and str(fault.value) in of_address else fault.slug
    if slug == "reference-fault":
        log.error("reference data is faulty: %s", fault.sentence())
    return problem(slug, fault.sentence(), errors, path=path)


def of_validation(found: Sequence[Any], path: str, *, query: bool = False) -> Response:
    """The problem for a body (or, with ``query``, for parameters) that does not fit the model."""
    faults = [request_fault(error, 1 if query else 0) for error in found]
    if found[0]["type"] == "json_invalid":
        return problem("malformed-json", f"The body {faults[0]['problem']}.", path=path)
    errors = [
        {
            "pointer": fault["pointer"][1:] if query else "#" + fault["pointer"],
            "value": fault["value"],
            "detail": fault["problem"],
            "remedy": fault["remedy"],
            "slug": "invalid-request",
        }
        for fault in faults
    ]
    detail = "; ".join(f"{one['pointer'] or '/'} {one['problem']}" for one in faults[:5])
    detail += f"; and {len(faults) - 5} more." if len(faults) > 5 else "."
    return problem("invalid-request", detail, errors, path=path)


def internal_error(path: str) -> Response:
    """The problem for a fault of our own: nothing of the inside is told."""
    return problem("internal-error", "The fault was logged here; the request was not carried out.", path=path)


def install_problems(app: Starlette) -> None:
    """Answer every error of the request with a problem; for faults of our own see access.py."""

    async def lunch_error(request: Request, fault: Exception) -> Response:
        assert isinstance(fault, LunchError)  # noqa: S101 - registered for this class
        bodiless = request.method in ("GET", "HEAD")
        return of_lunch_error(fault, request.url.path, request.path_params if bodiless else None)

    async def invalid(request: Request, fault: Exception) -> Response:
        if isinstance(fault, BadParameters):
            return of_validation(fault.errors, request.url.path, query=True)
        assert isinstance(fault, ValidationError)  # noqa: S101 - registered for this class
        return of_validation(fault.errors(include_url=False), request.url.path)

    async def api_problem(request: Request, fault: Exception) -> Response:
        assert isinstance(fault, ApiProblem)  # noqa: S101 - registered for this class
        return problem(fault.slug, fault.detail, headers=fault.headers, path=request.url.path)

    async def http_error(request: Request, fault: Exception) -> Response:
        assert isinstance(fault, HTTPException)  # noqa: S101 - registered for this class
        slug = {405: "method-not-allowed", 404: "not-found", 413: "body-too-large", 400: "malformed-json"}.get(
            fault.status_code, "not-found"
        )
        detail = {
            "not-found": f"{request.url.path} is no address of this service; see /docs.",
            "method-not-allowed": f"{request.method} is not answered at {request.url.path}; see Allow and /docs.",
        }.get(slug, str(fault.detail))
        headers = dict(fault.headers or {})
        if "Allow" in headers:
            allowed = {method.strip() for method in headers["Allow"].split(",")}
            headers["Allow"] = ", ".join(sorted(allowed | ({"HEAD"} if "GET" in allowed else set())))
        return problem(slug, detail, headers=headers, path=request.url.path)

    app.add_exception_handler(LunchError, lunch_error)
    app.add_exception_handler(BadParameters, invalid)
    app.add_exception_handler(ValidationError, invalid)
    app.add_exception_handler(ApiProblem, api_problem)
    app.add_exception_handler(HTTPException, http_error)
