"""The plans of a household: the list, and a new one with what it starts with."""

from functools import partial
from typing import Any

from fastapi import APIRouter, Request, Response
from pydantic import ValidationError

from service.domain.errors import LunchError
from service.jobs.household.access.households import today
from service.jobs.household.kinds import PLANS
from service.jobs.household.once import Made
from service.jobs.household.plan.plans import keep_plan
from service.jobs.household.plan.start import PlanStart, plan_start
from service.jobs.household.plan.wanted import plan_wanted
from service.jobs.household.stored.stored_ids import with_ids_resolved
from service.jobs.plan.weeks.requests import PlanRequest, PlanWithIds
from service.web.forms.form import FieldFault, Form, SentForm
from service.web.language.chosen import text
from service.web.pages import go, page
from service.web.plan.form import FIELDS, new_form, span_of, wanted_of
from service.web.plan.view import new_view, plans_view
from service.web.plan.working import in_worker, planned
from service.web.records import all_of, once
from service.web.set_out.kept_cold import kept_now, kept_said
from service.web.viewer import Packer, Parent, Viewer

router = APIRouter(include_in_schema=False)


@router.get("/plans")
def show_plans(request: Request, viewer: Packer) -> Response:
    """The plans that are kept, those that are over apart."""
    view = plans_view(all_of(viewer.who(), PLANS), today(), viewer.language, may_change=viewer.may_change)
    return page(request, viewer, "plan/plans.html", view)


@router.get("/plans/new")
def show_new(request: Request, viewer: Parent) -> Response:
    """The form of a new plan, filled in so that one press gives a plan."""
    return _new_page(request, viewer, None)


@router.post("/plans/new")
async def make_plan(request: Request, viewer: Parent, form: SentForm) -> Response:
    """Make a plan and keep it; a form that is sent twice keeps one. With ``show`` only the days of the form change."""
    if form.text("show"):
        return await in_worker(request, partial(_new_page, request, viewer, form))
    caller = viewer.who()
    try:
        read = await in_worker(request, partial(_read, viewer, form))
        if read is None:
            return await in_worker(request, partial(_new_page, request, viewer, form, 422))
        with_ids, asked = read
        reply = await planned(request, asked)
        if isinstance(reply, Response):
            return reply

        def create(connection: Any) -> Made:
            return Made(201, {"id": str(keep_plan(connection, caller.household, with_ids, reply).record.id)}, {})

        what = with_ids.model_copy(update={"name": None}).model_dump_json()
        made = await in_worker(request, partial(once, caller, form.text("repeat"), what, create))
    except (LunchError, ValidationError) as fault:
        taken = FieldFault("name", text("plans.name-taken", viewer.language))
        wrong = form.with_faults(fault, FIELDS, taken)
        return await in_worker(request, partial(_new_page, request, viewer, wrong, 422))
    return go(f"/plans/{made.body['id']}")


def _read(viewer: Viewer, form: Form) -> tuple[PlanWithIds, PlanRequest] | None:
    """What is asked, as it is stored and with all ids resolved; None where the form has faults."""
    caller, on = viewer.who(), today()
    start = _start(viewer, form)
    wanted = wanted_of(form, start, on, viewer.language)
    if form.faults:
        return None
    with caller.store.reading() as connection:
        with_ids = plan_wanted(connection, caller.household, start, wanted, on)
        return with_ids, with_ids_resolved(connection, caller.household, with_ids)


def _start(viewer: Viewer, form: Form) -> PlanStart:
    caller, days = viewer.who(), span_of(form, today()).days
    with caller.store.reading() as connection:
        return plan_start(connection, caller.household, days[0], days[-1])


def _new_page(request: Request, viewer: Viewer, form: Form | None, status: int = 200) -> Response:
    start = _start(viewer, form or Form())
    shown = form or new_form(start, today())
    cold_known = kept_said(kept_now(viewer.who())) is not None
    view = new_view(start, shown, span_of(shown, today()), viewer.language, cold_known=cold_known)
    return page(request, viewer, "plan/new.html", view, status)
