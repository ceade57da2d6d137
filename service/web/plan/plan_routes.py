"""One plan: looked at, what stays as it is, one day of it changed, planned again, set out, removed."""

from collections.abc import Callable
from datetime import date
from functools import partial

from fastapi import APIRouter, Request, Response
from pydantic import ValidationError
from starlette.exceptions import HTTPException

from service.domain.errors import LunchError, NotThere
from service.domain.messages import Message
from service.jobs.household.access.households import today
from service.jobs.household.days.school_days import school_day_of
from service.jobs.household.from_plan.claims import said_of_plans_before
from service.jobs.household.kinds import PLANS
from service.jobs.household.plan.edits import (
    CHOICES,
    Choice,
    change_day,
    change_plan,
    change_prep_days,
    lock_batch,
    lock_day,
    set_out_plan,
)
from service.jobs.household.plan.standing import (
    PlanAgain,
    Standing,
    keep_planned_again,
    plan_as_it_stands,
    plan_to_plan_again,
    standing,
)
from service.jobs.household.records import Connection, Kept, Matches, Record, show_record
from service.jobs.household.requests import KeptPlan
from service.jobs.plan.weeks.requests import PlanRequest
from service.jobs.requests.fields import Day, day_in
from service.reference.fault_words import fault_sentences
from service.web.forms.form import Form, SentForm
from service.web.language.chosen import text
from service.web.pages import go, page
from service.web.plan.form import prep_on
from service.web.plan.plan_view import nothing_to_show, plan_view
from service.web.plan.view import day_view
from service.web.plan.working import in_worker, planned
from service.web.records import edit_once, made_from, take_away
from service.web.refusals import ChangedMeanwhile
from service.web.set_out.kept_cold import kept_now, kept_said
from service.web.viewer import Packer, Parent, Viewer

router = APIRouter(include_in_schema=False)


@router.get("/plans/{plan}")
async def show_plan(request: Request, viewer: Packer, plan: str) -> Response:
    """The plan as it stands, judged by what is known today."""
    return await _plan_page(request, viewer, plan)


async def _plan_page(
    request: Request, viewer: Viewer, plan: str, problem: list[str] | None = None, status: int = 200
) -> Response:
    found = await in_worker(request, partial(_standing, viewer, plan))
    try:
        if problem is None:
            asked = await in_worker(request, partial(_as_it_stands, viewer, found))
            reply = await planned(request, asked)
            if isinstance(reply, Response):
                return reply
            cold = await in_worker(request, partial(kept_now, viewer.who()))
            cold_known = kept_said(found.kept.asked.holding or cold) is not None
            first = await in_worker(request, partial(_come_first, viewer, found))
            view = plan_view(
                found, reply, first, today(), viewer.language, may_change=viewer.may_change, cold_known=cold_known
            )
            return page(request, viewer, "plan/plan.html", view, status)
    except LunchError as fault:
        problem = fault_sentences(fault)
    view = nothing_to_show(found, problem or [], viewer.language, may_change=viewer.may_change)
    return page(request, viewer, "plan/plan.html", view, status)


@router.post("/plans/{plan}/again")
async def plan_again(request: Request, viewer: Parent, plan: str, form: SentForm) -> Response:
    """Plan it again with as few changes as can be; what is locked or past stays. What moved is shown then."""
    caller, matches = viewer.who(), _made_from(viewer, plan, form)

    def to_plan() -> PlanAgain:
        with caller.store.reading() as connection:
            return plan_to_plan_again(connection, caller.household, plan, matches, today())

    try:
        asked = await in_worker(request, to_plan)
        reply = await planned(request, asked.resolved)
    except NotThere:
        raise
    except LunchError as fault:
        return await _plan_page(request, viewer, plan, fault_sentences(fault), 422)
    if isinstance(reply, Response):
        return reply

    def keep() -> None:
        with caller.store.writing() as connection:
            keep_planned_again(connection, caller.household, plan, matches, asked.asked, reply)

    await in_worker(request, keep)
    return go(f"/plans/{plan}#moved")


@router.post("/plans/{plan}/lock")
def lock(viewer: Parent, plan: str, form: SentForm) -> Response:
    """Let a day, or what is made of a dish on a prep day, stay as it is or change again."""
    day, food, stays = day_in(form.text("day")), form.text("food"), form.text("stays") == "yes"
    if day is None:
        raise HTTPException(404)
    _change(
        viewer,
        plan,
        form,
        lambda kept: lock_batch(kept, food, day, stays=stays) if food else lock_day(kept, day, stays=stays),
    )
    return go(f"/plans/{plan}#day-{day}")


@router.get("/plans/{plan}/day/{day}")
def show_day(request: Request, viewer: Parent, plan: str, day: Day) -> Response:
    """What can be said of one day: no school, who buys, who is away."""
    return _day_page(request, viewer, plan, day)


@router.post("/plans/{plan}/day/{day}")
def keep_day(request: Request, viewer: Parent, plan: str, day: Day, form: SentForm) -> Response:
    """Keep what is said of one day; the plan is planned again when that is asked for."""
    found = _standing(viewer, plan)
    _see_day(found, day)
    choices: dict[int, Choice] = {}
    for place in range(len(found.names)):
        chosen = next((one for one in CHOICES if one == (form.text(f"child-{place}") or "planned")), None)
        if chosen is None:
            form.wrong(f"child-{place}", text("plans.choose", viewer.language))
        else:
            choices[place] = chosen
    school = form.text("school") != "no"
    if not school and found.kept.asked.days == [day]:
        form.wrong("school", text("plans.give-school-day", viewer.language))
    if not form.faults:
        try:
            _change(viewer, plan, form, lambda kept: change_day(kept, day, choices, school=school))
            return go(f"/plans/{plan}#again")
        except (LunchError, ValidationError) as fault:
            form.with_faults(fault, {"/days": "school"})
    return _day_page(request, viewer, plan, day, form, 422)


@router.post("/plans/{plan}/prep-days")
def keep_prep_days(viewer: Parent, plan: str, form: SentForm) -> Response:
    """Keep on which days of the week dishes are made; the plan is planned again when that is asked for."""
    _change(viewer, plan, form, lambda kept: change_prep_days(kept, prep_on(form), today()))
    return go(f"/plans/{plan}#again")


@router.post("/plans/{plan}/set-out")
def set_out(viewer: Parent, plan: str, form: SentForm) -> Response:
    """Put each day's offer and who buys where the children take from."""
    caller = viewer.who()

    def edit(connection: Connection, matches: Matches) -> Kept:
        return set_out_plan(connection, caller.household, plan, matches, today())

    edit_once(caller, PLANS, plan, form.text("version"), edit)
    return go("/set-out")


@router.post("/plans/{plan}/remove")
def remove_plan(viewer: Parent, plan: str, form: SentForm) -> Response:
    """Remove a plan; shown again where it was changed meanwhile."""
    try:
        take_away(viewer.who(), PLANS, plan, form.text("version"))
    except ChangedMeanwhile:
        return go(f"/plans/{plan}")
    return go("/plans")


def _change(viewer: Viewer, plan: str, form: Form, change: Callable[[KeptPlan], KeptPlan]) -> None:
    """Change a plan that is still as the form saw it, or is so already."""
    caller = viewer.who()

    def edit(connection: Connection, matches: Matches) -> Kept:
        return change_plan(connection, caller.household, plan, matches, change)

    edit_once(caller, PLANS, plan, form.text("version"), edit)


def _made_from(viewer: Viewer, plan: str, form: Form) -> Matches:
    caller = viewer.who()

    def now() -> Record:
        with caller.store.reading() as connection:
            return show_record(connection, PLANS, caller.household, plan)

    return made_from(form.text("version"), now)


def _standing(viewer: Viewer, plan: str) -> Standing:
    caller = viewer.who()
    with caller.store.reading() as connection:
        return standing(connection, caller.household, show_record(connection, PLANS, caller.household, plan))


def _as_it_stands(viewer: Viewer, found: Standing) -> PlanRequest:
    caller = viewer.who()
    with caller.store.reading() as connection:
        return plan_as_it_stands(connection, caller.household, found.kept)


def _come_first(viewer: Viewer, found: Standing) -> list[Message]:
    caller = viewer.who()
    with caller.store.reading() as connection:
        return said_of_plans_before(connection, caller.household, found.id, min(found.kept.asked.days))


def _see_day(found: Standing, day: date) -> None:
    """A day before the first day that was ever planned, or after the last, is no day of the plan."""
    if not found.days[0] <= day <= found.days[-1]:
        raise HTTPException(404)


def _day_page(
    request: Request, viewer: Viewer, plan: str, day: date, form: Form | None = None, status: int = 200
) -> Response:
    caller, found = viewer.who(), _standing(viewer, plan)
    _see_day(found, day)
    with caller.store.reading() as connection:
        school = school_day_of(connection, caller.household, day)
    menu = None if school is None else school.body.get("menu")
    meal = "" if menu is None else menu["name"]
    return page(request, viewer, "plan/day.html", day_view(found, day, meal, form, viewer.language), status)
