"""The address that sums up a week; as JSON, as a page to print or as CSV, whichever is accepted. Loaded when first asked for."""

from collections.abc import Callable, Coroutine
from typing import Any

import anyio.to_thread
import orjson
from fastapi import APIRouter, Request, Response
from fastapi.routing import APIRoute
from pydantic import TypeAdapter

from service.api.access import HEADERS, PAGE_HEADERS
from service.api.json_route import JSON, read_body, refuse_parameters
from service.api.routes import problems
from service.jobs.request_faults import refuse_doubled_fields
from service.jobs.sum_up_week import sum_up_week
from service.jobs.week_requests import WeekRequest

HTML, CSV = "text/html", "text/csv"
OFFERED = (JSON, HTML, CSV)


def accepted(header: str) -> str:
    """The media type to answer with: the one most wanted of those there are; JSON where none is named (RFC 9110)."""
    wanted: dict[str, float] = {}
    for part in header.lower().split(","):
        media, *parameters = (one.strip() for one in part.split(";"))
        quality = 1.0
        for parameter in parameters:
            name, _, value = parameter.partition("=")
            if name.strip() == "q":
                try:
                    quality = float(value)
                except ValueError:
                    quality = 0.0
        wanted[media] = quality

    def quality_of(media: str) -> float:
        return next(
            (wanted[name] for name in (media, media.split("/", maxsplit=1)[0] + "/*", "*/*") if name in wanted), 0.0
        )

    return max(OFFERED, key=quality_of)


def rendered(asked: WeekRequest, media: str) -> Response:
    """The answer in a media type."""
    reply = sum_up_week(asked)
    if media == HTML:
        from service.jobs.week_page import week_page

        page = Response(week_page(reply), media_type=f"{HTML}; charset=utf-8")
        page.raw_headers.extend(header for header in PAGE_HEADERS if header not in HEADERS)
        return page
    if media == CSV:
        from service.jobs.week_csv import week_csv

        named = {"Content-Disposition": f'attachment; filename="week-{asked.week}.csv"'}
        return Response(week_csv(reply), media_type=f"{CSV}; charset=utf-8; header=present", headers=named)
    return Response(orjson.dumps(reply), media_type=JSON)


class WeekRoute(APIRoute):
    """Reads a week's request and answers in the media type accepted, in a worker thread."""

    def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        """Read, validate, sum up, write."""
        adapter: TypeAdapter[WeekRequest] = TypeAdapter(WeekRequest)

        async def handle(request: Request) -> Response:
            if request.scope["query_string"]:
                refuse_parameters(request.scope)
            body = await read_body(request.scope, request.receive)
            asked = adapter.validate_json(body)
            refuse_doubled_fields(body)
            media = accepted(request.headers.get("accept", ""))
            answer = await anyio.to_thread.run_sync(rendered, asked, media)
            answer.headers["Vary"] = "Accept"
            return answer

        return handle


router = APIRouter(route_class=WeekRoute)


@router.post(
    "/v1/weekly-summaries",
    response_model=None,
    responses=problems(400, 401, 413, 415, 422),
    summary="Sum up a week",
    operation_id="sum-up-week",
    tags=["checks"],
)
def post_weekly_summary(asked: WeekRequest) -> dict[str, Any]:
    """Sum up one child's ISO week of lunches, packed or bought, against a standard.

    Tells each day, the week's means and totals against their targets (or frequencies and portions), micronutrients
    against a third of the day's reference, variety, allergen notes, cost, the three smallest changes for next week,
    and the trend over the weeks sent. Days without figures are named, never filled. Ask with Accept for text/html
    (a page to print) or text/csv. Stores nothing.
    """
    return sum_up_week(asked)


ROUTES = router.routes
