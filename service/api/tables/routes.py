"""Tables of lunches."""

from typing import Annotated

from fastapi import APIRouter, Depends, Request, Response

from service.api.answers import AS_JSON, BODY_FAULTS, V1, problems
from service.api.bodies import JSON, JsonBody
from service.api.tables.replies import LunchBatchReply
from service.jobs.tables.request import LunchTableRequest, check_rows

router = APIRouter(prefix=V1, dependencies=AS_JSON)

TableBody = JsonBody(LunchTableRequest, LunchTableRequest)


@router.post(
    "/lunch-check-batches",
    response_model=LunchBatchReply,
    responses=problems(*BODY_FAULTS, 404),
    summary="Check a table of lunches",
    operation_id="check-lunch-batch",
    tags=["checks"],
)
async def post_lunch_check_batch(request: Request, asked: Annotated[LunchTableRequest, Depends(TableBody)]) -> Response:
    """Check up to 50,000 rows of lunches in long form, one row an item.

    Answers one object a lunch (verdict, score, totals, what to change), one a finding, and one a fault. A lunch with a
    fault in any of its rows is rejected whole, all others are kept; each answer is the one that the lunch gets by
    itself. With a household's key its stored packets and what it says of its cooking water are used. Stores nothing.
    """
    return Response(await request.app.state.workers.tables.run(check_rows, asked), media_type=JSON)
