"""What each type of problem means and what to do about it, at the address that is its ``type``: as JSON or as a page."""

from html import escape

from fastapi import APIRouter, Request, Response
from starlette.responses import HTMLResponse

from service.api.answers import json_reply, problems
from service.api.bodies import JSON
from service.api.media import accepted_of
from service.api.problems import PROBLEMS, ApiProblem, title_of
from service.api.replies import ProblemExplained
from service.domain.messages import Message, message
from service.reference.messages import LANGUAGE, say

router = APIRouter(prefix="/problems", tags=["service"])

HTML = "text/html"

PAGE = """<!doctype html>
<html lang="{language}">
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
    form = accepted_of(request, JSON, HTML)
    if slug not in PROBLEMS:
        raise ApiProblem("not-found", message("fault.no-type-of-problem", name=slug[:60]))
    status, title = PROBLEMS[slug], title_of(slug)
    meaning = say(Message(f"problem-meaning.{slug}", {}))
    remedy = say(Message(f"problem-remedy.{slug}", {}))
    headers = {"Vary": "Accept", "Cache-Control": "public, max-age=3600"}
    if form == HTML:
        words = {name: escape(text) for name, text in (("title", title), ("meaning", meaning), ("remedy", remedy))}
        return HTMLResponse(PAGE.format(language=LANGUAGE.get(), status=status, **words), headers=headers)
    told = {"type": f"/problems/{slug}", "title": title, "status": status, "meaning": meaning, "remedy": remedy}
    return json_reply(told, headers=headers)
