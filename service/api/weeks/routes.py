"""Weekly summaries, in the form that is accepted: JSON, a page to print, CSV, a data package, Parquet."""

from typing import Annotated

from fastapi import APIRouter, Depends, Request, Response

from service.api.answers import BODY_FAULTS, V1, each_parameter_once, problems
from service.api.bodies import JsonBody
from service.api.weeks.media import AS_TEXT, AcceptedForm, week_reply
from service.api.weeks.replies import WeeklySummaryReply
from service.api.workers import Workers
from service.jobs.weeks.requests import WeekRequest, WeekWithIds
from service.jobs.weeks.sum_up_week import sum_up_week

router = APIRouter(prefix=V1, dependencies=[Depends(each_parameter_once)])

WeekBody = JsonBody(WeekRequest, WeekWithIds)


@router.post(
    "/weekly-summaries",
    response_model=WeeklySummaryReply,
    responses=problems(*BODY_FAULTS, 404, 501) | AS_TEXT,
    summary="Sum up a week",
    operation_id="sum-up-week",
    tags=["checks"],
)
async def post_weekly_summary(
    request: Request, form: AcceptedForm, asked: Annotated[WeekRequest, Depends(WeekBody)]
) -> Response:
    """Sum up one child's ISO week of lunches, packed or bought, against a standard.

    The answer has each day, the week's means and totals against their targets (or frequencies and portions),
    micronutrients against a third of the day's reference, variety, allergen notes, cost, the three smallest changes for
    next week, and the trend over the weeks sent. Days without figures are named, never filled. Ask with Accept for
    text/html (a page to print), text/csv, application/zip (its tables with a data dictionary) or
    application/vnd.apache.parquet (its days). Stores nothing.
    """
    workers: Workers = request.app.state.workers
    return await workers.weeks.run(lambda: week_reply(sum_up_week(asked), form))
