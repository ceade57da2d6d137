"""A stored child's week, in the form that is accepted: JSON, a page to print, CSV, a data package, Parquet."""

from typing import Annotated

from fastapi import APIRouter, Path, Request, Response

from service.api.answers import V1, NoParameters, problems
from service.api.gate.callers import Reader
from service.api.household.records import TAG
from service.api.weeks.media import AS_TEXT, AcceptedForm, week_reply
from service.api.weeks.replies import WeeklySummaryReply
from service.api.workers import Workers
from service.jobs.household.access.opened import Caller
from service.jobs.household.kinds import CHILDREN
from service.jobs.household.weeks.child_week import child_week
from service.jobs.requests.fields import ISO_WEEK

router = APIRouter(prefix=V1, tags=[TAG])


@router.get(
    "/children/{child_id}/weeks/{week}",
    response_model=WeeklySummaryReply,
    responses=problems(404, 501) | AS_TEXT,
    summary="A child's week",
    operation_id="show-child-week",
)
async def get_child_week(
    request: Request,
    caller: Reader,
    form: AcceptedForm,
    _none: NoParameters,
    child_id: Annotated[
        str, Path(description="Id of the child; GET /v1/children lists them.", json_schema_extra={"format": "uuid"})
    ],
    week: Annotated[str, Path(description="The ISO week, e.g. 2026-W49.", json_schema_extra={"pattern": ISO_WEEK})],
) -> Response:
    """The child's lunches of an ISO week summed up against its standard, with what they cost and the trend of
    the weeks before. Costs are told in the currency of most prices; others are not counted, and named. Ask with Accept for text/html (a page to
    print), text/csv, application/zip (its tables with a data dictionary) or application/vnd.apache.parquet (its days).
    """
    workers: Workers = request.app.state.workers
    return await workers.weeks.run(_summed_up, caller, child_id, week, form)


def _summed_up(caller: Caller, child_id: str, week: str, form: str) -> Response:
    with caller.store.reading() as connection:
        summary = child_week(connection, CHILDREN, caller.household, child_id, week)
    return week_reply(summary, form)
