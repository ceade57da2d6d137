"""What each type of problem means and what to do about it, at the address that is its ``type``: as JSON or as a page."""

from html import escape

from fastapi import APIRouter, Request, Response
from starlette.responses import HTMLResponse

from service.api.answers import json_reply, problems
from service.api.bodies import JSON
from service.api.media import best_of
from service.api.problems import PROBLEMS, ApiProblem, title_of
from service.api.replies import ProblemExplained

router = APIRouter(tags=["service"])

HTML = "text/html"

EXPLAINED: dict[str, tuple[str, str]] = {
    "malformed-json": ("The bytes of the body cannot be read as JSON in UTF-8.", "Send well-formed JSON."),
    "access-key-needed": (
        "What was asked for needs an access key and none was sent.",
        "Send the key as 'Authorization: Bearer <key>'.",
    ),
    "malformed-header": ("A header does not have the form that its standard gives it.", "See the detail for its form."),
    "access-key-refused": (
        "The key in Authorization belongs to no household here, is incomplete, or was revoked.",
        "Send the whole key, or ask whoever runs this service for one.",
    ),
    "not-signed-in": (
        "The device was signed out, was not used for 90 days, or never was signed in here.",
        "Open a new sign-in link on it: from a device that may do everything, or from 'packed-lunch devices add'.",
    ),
    "cross-site-request": (
        "The request carries a device's cookie, and its Sec-Fetch-Site or Origin does not name this service's own pages.",
        "Send it from a page of this service, or with an access key in place of the cookie.",
    ),
    "forbidden-right": ("The key is known and may not do this.", "Use a key with the rights 'keep'."),
    "not-there": ("This household has nothing with that id.", "List the records for their ids."),
    "not-found": ("The service has no such address.", "See /docs for all addresses."),
    "unknown-resource": ("The tables have nothing with that id.", "See the remedy for near names."),
    "method-not-allowed": ("The address is there and does not answer that method.", "Use a method named in Allow."),
    "not-acceptable": ("The caller's Accept names nothing that this address answers.", "Accept application/json."),
    "already-there": ("Only one of these may be stored, and there is one.", "Edit the one that is there."),
    "still-used": ("Another stored record names it.", "Edit or delete what names it first."),
    "last-keep-key": ("Without this key nobody could make another.", "Make another key with the rights 'keep' first."),
    "must-not-be-packed": (
        "The lunch holds what the child must not have, or is cut in a form it must not have.",
        "Remove it, or send acknowledged.reason: why it is packed all the same.",
    ),
    "stale-edit": (
        "Somebody else edited it after it was read, so the edit was not made.",
        "Read it again, make the edit on what it holds now, and send the new ETag as If-Match.",
    ),
    "body-too-large": ("The body has more bytes than this service reads.", "Send less in one request."),
    "not-json": ("The Content-Type is not application/json.", "Send Content-Type: application/json."),
    "not-merge-patch": (
        "The Content-Type of an edit is not that of a JSON Merge Patch (RFC 7396).",
        "Send Content-Type: application/merge-patch+json.",
    ),
    "host-not-known": (
        "The Host of the request is a name that this service was not told is its own: another site may have led here.",
        "Use one of its names, or have the name added to PACKED_LUNCH_ALLOWED_HOSTS.",
    ),
    "invalid-request": ("Fields or parameters are missing, unknown or of another form.", "Correct each of the errors."),
    "many-faults": ("There are several faults of different kinds.", "Correct each of the errors."),
    "unknown-name": ("A name is not in the list it should be in.", "See the remedy for near names."),
    "bad-amount": ("An amount is not possible for a lunch.", "Give an amount in the range that the remedy names."),
    "bad-input": ("A value cannot be used, or does not fit another.", "Do what the remedy says."),
    "outside-dates": ("No rules are in force on that day.", "Give a day from the range that the remedy names."),
    "outside-age-groups": ("The standard has no rules for that age.", "Give another standard, or an age group."),
    "idempotency-key-reused": (
        "The same Idempotency-Key came with another address or body in the last 24 hours.",
        "Give each creation a different key.",
    ),
    "precondition-required": (
        "An edit must name the version it was made from, so that it does not overwrite anyone else's.",
        "Send the ETag of the record as If-Match.",
    ),
    "too-many-failures": ("Too many unknown keys came from one address.", "Wait the seconds of Retry-After."),
    "too-busy": ("As many requests of this kind wait as may wait.", "Wait the seconds of Retry-After."),
    "not-installed": ("An optional part of the service is not installed.", "Install the extra that the detail names."),
    "store-fault": (
        "The database cannot be opened, read or written just now; what was there is unchanged.",
        "Try again, and look at the service's log.",
    ),
    "reference-fault": ("A file of the service's own tables is wrong.", "Install the service again."),
    "internal-error": ("A fault of the service's own.", "Report it with the time; the log has the place."),
}
"""Slug -> what it means, what to do."""

PAGE = """<!doctype html>
<html lang="en">
<head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1"><title>{title}</title></head>
<body><main><h1>{title}</h1><p>Status {status}. {meaning}</p><p>{remedy}</p></main></body>
</html>
"""


@router.get(
    "/{slug}",
    response_model=ProblemExplained,
    responses=problems(404) | {200: {"content": {HTML: {"schema": {"type": "string"}}}}},
    summary="What a problem means",
    operation_id="explain-problem",
)
def get_problem(slug: str, request: Request) -> Response:
    """What a type of problem means and what to do: the address that stands as `type` in every problem."""
    form = best_of((JSON, HTML), request.headers.get("accept", ""))
    if form is None:
        raise ApiProblem("not-acceptable", f"This answers {JSON} or {HTML}.")
    if slug not in EXPLAINED:
        raise ApiProblem("not-found", f"There is no type of problem called {slug[:60]!r}.")
    status, title = PROBLEMS[slug], title_of(slug)
    meaning, remedy = EXPLAINED[slug]
    headers = {"Vary": "Accept", "Cache-Control": "public, max-age=3600"}
    if form == HTML:
        page = PAGE.format(title=escape(title), status=status, meaning=escape(meaning), remedy=escape(remedy))
        return HTMLResponse(page, headers=headers)
    told = {"type": f"/problems/{slug}", "title": title, "status": status, "meaning": meaning, "remedy": remedy}
    return json_reply(told, headers=headers)
