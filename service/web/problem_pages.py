"""Faults as pages: what happened and what to do, in words; under ``/v1`` they stay problems (RFC 9457).

A form that was sent is shown again where it can be sent again: what was typed is not lost.
"""

from collections.abc import Awaitable, Callable
from dataclasses import dataclass, field
from typing import Any
from urllib.parse import quote

from fastapi import FastAPI, Request, Response
from fastapi.exceptions import RequestValidationError
from pydantic import ValidationError
from starlette.exceptions import HTTPException
from starlette.types import Scope

from service.api.logs.exchanges import note_problem, request_id
from service.api.problems import OF_A_PATH, OURS, PROBLEMS, ApiProblem, BadParameters, waits_of
from service.domain.errors import AnyFault
from service.web.forms.form import Form, faults_of, form_sent_with
from service.web.language.chosen import language_of
from service.web.pages import go, page
from service.web.refusals import ChangedMeanwhile, FormNotOurs, FormTooLarge, NotForThisDevice, SignInFirst
from service.web.viewer import Viewer, viewer_of

NOT_PAGES = ("/v1/", "/docs", "/openapi.json", "/problems/")
SIGN_IN = "/sign-in"
Handler = Callable[[Request, Any], Response | Awaitable[Response]]
STATUS = {NotForThisDevice: 403, FormNotOurs: 403, FormTooLarge: 413, ChangedMeanwhile: 409}
KINDS = {
    401: "signed-out",
    403: "forbidden",
    404: "not-there",
    405: "not-there",
    408: "slow",
    409: "changed",
    412: "changed",
    413: "too-large",
    421: "host",
    429: "busy",
    500: "ours",
    503: "no-store",
}
OF_SLUGS = {
    "cross-site-request": "cross-site",
    "already-there": "already-there",
    "still-used": "still-used",
    "last-keep-key": "last-keep-key",
    "must-not-be-packed": "must-not-be-packed",
    "too-many-failures": "too-many",
    "access-key-refused": "wrong-key",
    "access-key-ended": "wrong-key",
}
"""Kinds of problem that have words of their own, whatever their status."""
SENT_AGAIN = frozenset({"stale", "changed", "busy", "no-store"})
"""Where the same form, sent again, may do what it should."""
VERSION = "version"
"""The field of a form that says from which version of a record it was made."""


@dataclass(frozen=True)
class SentAgain:
    """A form that may be sent again. ``fields``: name and value of each; ``typed``: what a person is shown of them."""

    action: str
    fields: list[tuple[str, str]]
    typed: list[str]
    had_file: bool


@dataclass(frozen=True)
class ProblemView:
    """The context of ``problem.html``. ``code``: of its words; ``sentences``: what the fault says of itself; ``request_id``: what
    the log calls the request, where the fault is ours.
    """

    code: str
    sentences: list[str] = field(default_factory=list)
    again: SentAgain | None = None
    request_id: str = ""


def install_problem_pages(app: FastAPI) -> None:
    """Answer the faults of pages with pages; those of the API go on as before."""
    for kind in (AnyFault, ApiProblem, HTTPException, ValidationError, RequestValidationError, BadParameters):
        app.add_exception_handler(kind, _page_or(app.exception_handlers[kind]))
    for refused in STATUS:
        app.add_exception_handler(refused, _problem_page)
    app.add_exception_handler(SignInFirst, _to_sign_in)


def is_page(path: str) -> bool:
    """Whether an address is one of the pages."""
    return not path.startswith(NOT_PAGES)


def refusal_page(scope: Scope, slug: str) -> Response:
    """The page for a request that the gate does not let through (``api.gate.access.Gate``); without any key, to where one signs in."""
    request = Request(scope)
    status = PROBLEMS[slug]
    if status == 401 and scope["method"] in ("GET", "HEAD") and "authorization" not in request.headers:
        return go(SIGN_IN)
    view = ProblemView(OF_SLUGS.get(slug) or KINDS[status], request_id=request_id() if status == OURS else "")
    return page(request, Viewer(language_of(request)), "problem.html", view, status)


def _page_or(otherwise: Handler) -> Handler:
    async def answer(request: Request, fault: Exception) -> Response:
        if is_page(request.scope["path"]):
            return await _problem_page(request, fault)
        answered = otherwise(request, fault)
        return answered if isinstance(answered, Response) else await answered

    return answer


async def _problem_page(request: Request, fault: Exception) -> Response:
    """A page that says what to do; what a fault says of itself stands below it."""
    status = _status(request, fault)
    slug = fault.slug if isinstance(fault, AnyFault | ApiProblem) else ""
    looked = status == 422 and request.method in ("GET", "HEAD")  # nothing was typed: what is stored is at fault
    otherwise = "not-shown" if looked else "other"
    code = "stale" if isinstance(fault, FormNotOurs) else OF_SLUGS.get(slug) or KINDS.get(status, otherwise)
    sentences: list[str] = []
    if isinstance(fault, AnyFault) and status < 500:
        sentences = [one.sentence() for one in faults_of(fault)]
    note_problem(slug or code)
    form = form_sent_with(request) if code in SENT_AGAIN else None
    again = None if form is None else _again(request, form, fault)
    answer = page(
        request,
        viewer_of(request),
        "problem.html",
        ProblemView(code, sentences, again, request_id() if status == OURS else ""),
        status,
    )
    if isinstance(fault, AnyFault | ApiProblem):
        answer.headers.update(waits_of(fault))
    return answer


def _again(request: Request, form: Form, fault: Exception) -> SentAgain:
    """The form as it was sent; after an edit elsewhere, as one made from what is there now."""
    fields = [(name, value) for name in form.names() for value in form.texts(name)]
    if isinstance(fault, ChangedMeanwhile):
        now = str(fault.theirs.get(VERSION, ""))
        fields = [(name, now if name == VERSION else value) for name, value in fields]
    query = request.scope["query_string"].decode("latin-1")
    action = quote(request.scope["path"], safe=OF_A_PATH) + (f"?{query}" if query else "")
    return SentAgain(action, fields, form.typed(), bool(form.files))


async def _to_sign_in(request: Request, _fault: Exception) -> Response:
    if request.method in ("GET", "HEAD"):
        return go(SIGN_IN)
    return page(request, Viewer(language_of(request)), "problem.html", ProblemView(KINDS[401]), 401)


def _status(request: Request, fault: Exception) -> int:
    if isinstance(fault, AnyFault | ApiProblem):
        return PROBLEMS[fault.slug]
    if isinstance(fault, HTTPException):
        return fault.status_code
    if isinstance(fault, RequestValidationError | BadParameters) and request.method in ("GET", "HEAD"):
        return 404  # nothing is at an address of such parts
    return STATUS.get(type(fault), 422)
