"""The address that checks a table of lunches; loaded with the first request for it.

Reading the body, checking and writing the reply all run in a worker thread, so other requests go on.
"""

from collections.abc import Callable, Coroutine
from functools import lru_cache
from typing import Any

import anyio
import anyio.to_thread
from fastapi import APIRouter, Request, Response
from fastapi.routing import APIRoute
from pydantic import TypeAdapter

from service.api.json_route import JSON, read_body, refuse_parameters
from service.api.routes import problems
from service.jobs.request_faults import refuse_doubled_fields
from service.jobs.tables.request import LunchTableRequest, check_rows

AT_ONCE = 2
"""Tables checked at the same time; more of them wait, so that single checks keep being answered."""


class TableRoute(APIRoute):
    """A route whose endpoint is ``def endpoint(asked: Model) -> bytes`` and whose every step may take long."""

    def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        """Read the body here; validate, check and write in a worker thread."""
        endpoint = self.endpoint
        adapter = TypeAdapter(LunchTableRequest)

        def answer(body: bytes) -> bytes:
            asked = adapter.validate_json(body)
            refuse_doubled_fields(body)
            reply: bytes = endpoint(asked)
            return reply

        async def handle(request: Request) -> Response:
            if request.scope["query_string"]:
                refuse_parameters(request.scope)
            body = await read_body(request.scope, request.receive)
            reply = await anyio.to_thread.run_sync(answer, body, limiter=tables_at_once())
            return Response(reply, media_type=JSON)

        return handle


@lru_cache(maxsize=1)
def tables_at_once() -> anyio.CapacityLimiter:
    """How many worker threads tables may take."""
    return anyio.CapacityLimiter(AT_ONCE)


router = APIRouter(route_class=TableRoute)


@router.post(
    "/v1/lunch-check-batches",
    response_model=None,
    responses=problems(400, 401, 413, 415, 422),
    summary="Check a table of lunches",
    operation_id="check-lunch-batch",
    tags=["checks"],
)
def post_lunch_check_batch(asked: LunchTableRequest) -> bytes:
    """Check up to 50,000 rows of lunches in long form, one row an item.

    Answers one object a lunch (verdict, score, totals, what to change), one a finding, and one a fault. A lunch with a
    fault in any of its rows is rejected whole, all others are kept; each answer is the one that the lunch gets by
    itself. Stores nothing.
    """
    return check_rows(asked)


ROUTES = router.routes
