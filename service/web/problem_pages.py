"""Faults as pages: what happened and what to do, in words; under ``/v1`` they stay problems (RFC 9457)."""

from collections.abc import Awaitable, Callable
from typing import Any

from fastapi import FastAPI, Request, Response
from pydantic import ValidationError
from starlette.exceptions import HTTPException

from service.api.problems import PROBLEMS, ApiProblem
from service.domain.errors import LunchError
from service.reference.fault_words import fault_sentence
from service.reference.messages import LANGUAGE
from service.web.pages import go, page
from service.web.refusals import ChangedMeanwhile, FormNotOurs, FormTooLarge, NotForThisDevice, SignInFirst
from service.web.viewer import anybody

NOT_PAGES = ("/v1/", "/docs", "/openapi.json", "/problems/")
Handler = Callable[[Request, Any], Response | Awaitable[Response]]
STATUS = {NotForThisDevice: 403, FormNotOurs: 403, FormTooLarge: 413, ChangedMeanwhile: 409}
KINDS = {
    403: "forbidden",
    404: "not-there",
    405: "not-there",
    409: "changed",
    413: "too-large",
    429: "busy",
    503: "no-store",
}


def install_problem_pages(app: FastAPI) -> None:
    """Answer the faults of pages with pages; those of the API go on as before."""
    for kind in (LunchError, ApiProblem, HTTPException, ValidationError):
        app.add_exception_handler(kind, _page_or(app.exception_handlers[kind]))
    for refused in STATUS:
        app.add_exception_handler(refused, _problem_page)
    app.add_exception_handler(SignInFirst, _to_sign_in)


def is_page(path: str) -> bool:
    """Whether an address is one of the pages."""
    return not path.startswith(NOT_PAGES)


def _page_or(otherwise: Handler) -> Handler:
    async def answer(request: Request, fault: Exception) -> Response:
        if is_page(request.url.path):
            return await _problem_page(request, fault)
        answered = otherwise(request, fault)
        return answered if isinstance(answered, Response) else await answered

    return answer


async def _problem_page(request: Request, fault: Exception) -> Response:
    """A page that says what to do; what a fault says of itself stands below it."""
    status = _status(fault)
    code = KINDS.get(status, "other")
    sentences = fault_sentence(fault, LANGUAGE.get()).splitlines() if isinstance(fault, LunchError) else []
    if isinstance(fault, FormNotOurs):
        code = "stale"
    view = {"code": code, "sentences": sentences}
    return page(request, await anybody(request), "problem.html", view, status)


async def _to_sign_in(_request: Request, _fault: Exception) -> Response:
    return go("/sign-in")


def _status(fault: Exception) -> int:
    if isinstance(fault, LunchError):
        return PROBLEMS[fault.slug][0]
    if isinstance(fault, ApiProblem):
        return PROBLEMS[fault.slug][0]
    if isinstance(fault, HTTPException):
        return fault.status_code
    return STATUS.get(type(fault), 422)
