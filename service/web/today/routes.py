"""Today: each child's lunch, and what is to be done now."""

from typing import Any

from fastapi import APIRouter, Request, Response

from service.jobs.household.access.households import today
from service.jobs.household.days.holidays import holidays_of
from service.jobs.household.offers.set_out import offers_by_day, weeks_of
from service.jobs.household.plan.of_day import plans_of_day, stored_plans
from service.jobs.household.retention.purging import held_now
from service.jobs.household.stock.portions_left import too_few_portions
from service.jobs.household.stock.summary import stock_summary
from service.jobs.household.weeks.family_day import family_day, next_school_day
from service.jobs.requests.fields import Day
from service.web.pages import go, page
from service.web.today.view import today_view
from service.web.viewer import SignedIn

router = APIRouter(include_in_schema=False)


@router.get("/")
def show_today(request: Request, viewer: SignedIn, day: Day | None = None) -> Response:
    """The day's page; a device that is for one child's taking goes to that child's."""
    caller = viewer.who()
    if caller.device is not None and caller.device.child_id is not None:
        return go(f"/take/{caller.device.child_id}")
    on = day or today()
    with caller.store.reading() as connection:
        held = held_now(connection, caller.household, today()) if viewer.may_change else None
        stored = stored_plans(connection, caller.household)
        holidays = holidays_of(stored)
        found = family_day(connection, caller.household, on, holidays)
        ahead = None
        if not found["school"]:
            then = next_school_day(connection, caller.household, on, holidays)
            ahead = family_day(connection, caller.household, then, holidays)
        stock = stock_summary(connection, caller.household, on)
        plans = plans_of_day(connection, caller.household, stored, on)
        few: list[dict[str, Any]] = []
        if found["offer"] is not None:
            week = weeks_of(on)[0]
            by_day = offers_by_day(connection, caller.household, on, max(on, week[-1]))
            few = too_few_portions(connection, caller.household, found["offer"]["id"], on, by_day)
    if not found["children"]:
        return go("/start")
    view = today_view(found, stock, few, plans, viewer.language, is_today=on == today(), ahead=ahead, held=held)
    return page(request, viewer, "today/today.html", view)
