"""A plan's prep days: what is made, in which order, where it goes; made, taken back, printed."""

from datetime import date
from typing import Annotated

from fastapi import APIRouter, Query, Request, Response
from starlette.exceptions import HTTPException

from service.jobs.household.from_plan.planned import StoredPlan
from service.jobs.household.from_plan.prep import (
    batches_on,
    keep_made,
    line_of,
    prep_asked,
    prep_days,
    sheet_of_day,
    used_for_lines,
)
from service.jobs.household.from_plan.shopping import ticked_lines
from service.jobs.requests.fields import Day
from service.web.care.downloads import file_to_keep
from service.web.forms.form import Form, SentForm
from service.web.kitchen.plan_at_hand import PlanHere, sheets_here
from service.web.kitchen.prep_view import PrepView, prep_day_view
from service.web.kitchen.sheets import UNITS
from service.web.kitchen.ticks import tick, untick
from service.web.pages import go, page
from service.web.viewer import Packer, Parent, Viewer

router = APIRouter(include_in_schema=False)

Units = Annotated[str, Query(max_length=20)]
Paper = Annotated[str, Query(max_length=20)]
PDF = "application/pdf"


@router.get("/plans/{plan}/prep")
def show_prep(request: Request, viewer: Packer, there: PlanHere, units: Units = UNITS[0]) -> Response:
    """All prep days of a plan."""
    return page(request, viewer, "kitchen/prep.html", _view(viewer, there, units))


@router.get("/plans/{plan}/prep/{day}.pdf")
async def keep_pdf(request: Request, viewer: Packer, there: PlanHere, day: Day, paper: Paper = "a4") -> Response:
    """The sheet of a day to print; made where the API makes its own."""
    made = await request.app.state.workers.weeks.run(_pdf, viewer, there, day, paper)
    return file_to_keep(made, f"prep-{day.isoformat()}.pdf", PDF)


def _pdf(viewer: Viewer, plan: StoredPlan, day: date, paper: str) -> bytes:
    from service.jobs.plan.prep.pdf import prep_pdf  # it loads the fonts

    caller = viewer.who()
    with caller.store.reading() as connection:
        asked = prep_asked(connection, caller.household, plan, day)
    return prep_pdf(sheet_of_day(plan, asked, {}, {}), paper)


@router.post("/plans/{plan}/prep/made")
def made(request: Request, viewer: Parent, form: SentForm, there: PlanHere) -> Response:
    """Put the portions of a batch in the stock where they go, and take what is in them; sent again, from this device or another, it changes nothing."""
    caller = viewer.who()
    line = form.text("line")
    batch = next((one for on in prep_days(there) for one in batches_on(there, on) if line_of(one) == line), None)
    if batch is None:
        raise HTTPException(404)
    note = form.text("note")
    if tick(viewer, form, lambda store: keep_made(store, caller.household, there, batch, note), {"/note": ""}):
        return _back(there, form)
    return page(request, viewer, "kitchen/prep.html", _view(viewer, there, form.text("units"), form), 422)


@router.post("/plans/{plan}/prep/not-made")
def not_made(viewer: Parent, form: SentForm, there: PlanHere) -> Response:
    """Take the portions of a batch out of the stock again, as many as are left."""
    untick(viewer, there, form)
    return _back(there, form)


def _back(plan: StoredPlan, form: Form) -> Response:
    units = form.text("units")
    return go(f"/plans/{plan.id}/prep{f'?units={units}' if units == 'us' else ''}")


def _view(viewer: Viewer, plan: StoredPlan, units: str, form: Form | None = None) -> PrepView:
    caller, chosen = viewer.who(), units if units in UNITS else UNITS[0]
    with caller.store.reading() as connection:
        ticked = ticked_lines(connection, caller.household, plan)
        used = used_for_lines(connection, caller.household, ticked)
        asked = [prep_asked(connection, caller.household, plan, on) for on in prep_days(plan)]
        replies = [sheet_of_day(plan, one, ticked, used) for one in asked]
    days = [prep_day_view(one, chosen, viewer.language) for one in replies]
    cautions = list(dict.fromkeys(said for one in replies for said in one["cautions"]))
    return PrepView(sheets_here(plan, viewer.language), chosen, days, cautions, form or Form())
