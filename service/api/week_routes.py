"""The address that sums up a week; as JSON, as a page to print or as CSV, whichever is accepted. Loaded when first asked for."""

from collections.abc import Callable, Coroutine
from typing import Any

import anyio.to_thread
from fastapi import APIRouter, Request, Response
from fastapi.routing import APIRoute
from pydantic import TypeAdapter

from service.api.json_route import read_asked
from service.api.routes import problems
from service.api.week_media import accepted, written
from service.jobs.weeks.requests import WeekRequest
from service.jobs.weeks.sum_up_week import sum_up_week


class WeekRoute(APIRoute):
    """Reads a week's request and answers in the media type accepted, in a worker thread."""

    def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        """Read, validate, sum up, write."""
        adapter: TypeAdapter[WeekRequest] = TypeAdapter(WeekRequest)

        async def handle(request: Request) -> Response:
            asked = await read_asked(request.scope, request.receive, adapter.validate_json)
            media = accepted(request.headers.get("accept", ""))
            reply, headers = await anyio.to_thread.run_sync(lambda: written(sum_up_week(asked), media))
            return Response(reply, headers=headers)

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
