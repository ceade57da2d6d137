"""What comes of a plan: shopping lists, prep sheets, labels and calendars."""

from datetime import UTC, datetime
from typing import Annotated

from fastapi import APIRouter, Depends, Request, Response

from service.api.answers import BODY_FAULTS, V1, Responses, each_parameter_once, json_reply, problems
from service.api.bodies import JSON, JsonBody
from service.api.media import accepted_of
from service.api.plan.calendar_replies import CalendarReply
from service.api.plan.label_replies import LabelSheetReply
from service.api.plan.prep_replies import PrepSheetReply
from service.api.plan.shopping_replies import ShoppingListReply
from service.api.workers import Workers
from service.jobs.plan.calendar.requests import CalendarRequest
from service.jobs.plan.labels.requests import LabelSheetRequest, LabelSheetWithIds
from service.jobs.plan.prep.requests import PrepSheetRequest, PrepSheetWithIds
from service.jobs.plan.shopping.requests import ShoppingListRequest, ShoppingListWithIds

router = APIRouter(prefix=V1, dependencies=[Depends(each_parameter_once)])

CSV, PDF, ICS = "text/csv", "application/pdf", "text/calendar"
VARY = {"Vary": "Accept"}
CalendarBody = JsonBody(CalendarRequest)
LabelsBody = JsonBody(LabelSheetRequest, LabelSheetWithIds)
PrepBody = JsonBody(PrepSheetRequest, PrepSheetWithIds)
ShoppingBody = JsonBody(ShoppingListRequest, ShoppingListWithIds)


class Accepted:
    """A dependency that gives the media type to answer with; ``ApiProblem`` (406) where none of those offered is accepted."""

    def __init__(self, *offered: str) -> None:
        self._offered = offered

    async def __call__(self, request: Request) -> str:
        """The media type most wanted."""
        return accepted_of(request, *self._offered)


def also_as(media: str, description: str) -> Responses:
    """For the documentation: a good answer of another media type than JSON."""
    return {200: {"content": {media: {"schema": {"type": "string", "description": description}}}}}


def file_reply(content: bytes | str, media: str, name: str) -> Response:
    """A file to keep."""
    headers = {"Content-Disposition": f'attachment; filename="{name}"', **VARY}
    return Response(content, headers=headers, media_type=media)


@router.post(
    "/shopping-lists",
    response_model=ShoppingListReply,
    responses=problems(*BODY_FAULTS, 404) | also_as(CSV, "One row a food and day of shopping."),
    summary="Make a shopping list",
    operation_id="make-shopping-list",
    tags=["plans"],
)
async def post_shopping_list(
    request: Request,
    form: Annotated[str, Depends(Accepted(JSON, CSV))],
    asked: Annotated[ShoppingListRequest, Depends(ShoppingBody)],
) -> Response:
    """Make a shopping list for foods and dishes that are wanted on some days, less what is at home already.

    Dishes are bought as their ingredients, cooked foods raw or dry, with peel and trimmings; in the packs that cost least,
    on as few days of shopping as freshness allows. It names whom a food is not for, packets to read, what has no price, and
    what the lunches cost. With `Accept: text/csv` as CSV. Stores nothing.
    """
    from service.jobs.plan.shopping.csv import shopping_csv
    from service.jobs.plan.shopping.shopping_list import shopping_list

    def made() -> Response:
        reply = shopping_list(asked)
        if form == CSV:
            return file_reply(shopping_csv(reply), f"{CSV}; charset=utf-8; header=present", "shopping.csv")
        return json_reply(reply, headers=VARY)

    workers: Workers = request.app.state.workers
    return await workers.weeks.run(made)


@router.post(
    "/prep-sheets",
    response_model=PrepSheetReply,
    responses=problems(*BODY_FAULTS, 404) | also_as(PDF, "The sheet to print, on A4 paper."),
    summary="Make a prep sheet",
    operation_id="make-prep-sheet",
    tags=["plans"],
)
async def post_prep_sheet(
    request: Request,
    form: Annotated[str, Depends(Accepted(JSON, PDF))],
    asked: Annotated[PrepSheetRequest, Depends(PrepBody)],
) -> Response:
    """Make a prep sheet for batches to make on a day.

    Each ingredient is given in amounts that can be measured, metric and US; the order needs the fewest cleanings for the
    children who eat it; where the portions go, how fast cooked food is cooled, and what keeps cut fruit from browning. With
    `Accept: application/pdf` as a sheet to print. Stores nothing.
    """
    from service.jobs.plan.prep.prep_sheet import prep_sheet

    def made() -> Response:
        reply = prep_sheet(asked)
        if form == PDF:
            from service.jobs.plan.prep.pdf import prep_pdf

            return file_reply(prep_pdf(reply), PDF, f"prep-{reply['on']}.pdf")
        return json_reply(reply, headers=VARY)

    workers: Workers = request.app.state.workers
    return await workers.weeks.run(made)


@router.post(
    "/label-sheets",
    response_model=LabelSheetReply,
    responses=problems(*BODY_FAULTS, 404) | also_as(PDF, "The labels to print."),
    summary="Make labels",
    operation_id="make-label-sheet",
    tags=["plans"],
)
async def post_label_sheet(
    request: Request,
    form: Annotated[str, Depends(Accepted(JSON, PDF))],
    asked: Annotated[LabelSheetRequest, Depends(LabelsBody)],
) -> Response:
    """Make labels for what was made, to print on a sheet: with `Accept: application/pdf` the sheet, otherwise their text.

    Each has the dish, whom it is not for, what it contains, when it was made and by when to use it, how to thaw and heat
    it, and a QR code with the address of what it stands for. Only name and portion are ever shortened; a label on which
    allergens and dates have no room is refused. As JSON: the text of each label as it is printed, and where. Stores nothing.
    """
    from service.jobs.plan.labels.label_sheet import label_pdf, label_reply, label_sheet

    def made() -> Response:
        labels = label_sheet(asked)
        if form == PDF:
            return file_reply(label_pdf(labels), PDF, "labels.pdf")
        return json_reply(label_reply(labels), headers=VARY)

    workers: Workers = request.app.state.workers
    return await workers.weeks.run(made)


@router.post(
    "/calendars",
    response_model=CalendarReply,
    responses=problems(*BODY_FAULTS, 404) | also_as(ICS, "The events as an iCalendar file (RFC 5545)."),
    summary="Make a calendar",
    operation_id="make-calendar",
    tags=["plans"],
)
async def post_calendar(
    form: Annotated[str, Depends(Accepted(JSON, ICS))], asked: Annotated[CalendarRequest, Depends(CalendarBody)]
) -> Response:
    """Make a calendar of the days of a plan: prep days, what to move in the evening, bought lunches, packets to read.

    With `Accept: text/calendar` as an iCalendar file. The same events have the same ids, so that a calendar that is read
    again replaces them. Allergens, and who must avoid them, are in it only where `with_health` asks for them. Stores nothing.
    """
    from service.jobs.plan.calendar.calendar import calendar_file, calendar_reply

    if form == ICS:
        return file_reply(calendar_file(asked, datetime.now(UTC)), f"{ICS}; charset=utf-8", "lunches.ics")
    return json_reply(calendar_reply(asked), headers=VARY)
