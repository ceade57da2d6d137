"""A plan's days as a calendar file, and the calendar that another program reads at an address of its own."""

from datetime import UTC, datetime

from fastapi import APIRouter, Request, Response
from starlette.exceptions import HTTPException

from service.api.logs.exchanges import peer_of
from service.jobs.household.access.calendar_feeds import FEED_PATH, CalendarFeed, feed_read
from service.jobs.household.access.households import today
from service.jobs.household.from_plan.days import calendar_asked
from service.jobs.household.from_plan.planned import StoredPlan, plan_of_day
from service.jobs.plan.calendar.calendar import calendar_file
from service.jobs.plan.calendar.requests import CalendarRequest
from service.reference.messages import LANGUAGE, ON_PAGES
from service.web.care.downloads import file_to_keep
from service.web.kitchen.plan_at_hand import PlanHere, worked_out
from service.web.plan.working import in_worker
from service.web.viewer import Packer

router = APIRouter(include_in_schema=False)

ICS = "text/calendar; charset=utf-8"


@router.get("/plans/{plan}/calendar.ics")
def keep_calendar(viewer: Packer, there: PlanHere) -> Response:
    """The days of a plan, without what is known of health: calendars are often shared."""
    caller = viewer.who()
    with caller.store.reading() as connection:
        asked = calendar_asked(connection, caller.household, there)
    return file_to_keep(calendar_file(asked, datetime.now(UTC)), "lunches.ics", ICS)


@router.get(FEED_PATH)
async def read_feed(request: Request, key: str) -> Response:
    """The calendar of the newest plan that covers today, for whoever has the key; nothing for anybody else."""
    feed, plan = await in_worker(request, lambda: _feed_and_plan(request, key))
    LANGUAGE.set(feed.language)
    ON_PAGES.set(True)
    if plan is not None:
        await worked_out(request, plan)
    return await in_worker(request, lambda: _feed_file(request, feed, plan))


def _feed_and_plan(request: Request, key: str) -> tuple[CalendarFeed, StoredPlan | None]:
    store = request.app.state.households.store()
    feed = feed_read(store, key)
    if feed is None:
        request.app.state.wrong_keys.wrong(peer_of(request.scope), key.encode(), "calendar address")
        raise HTTPException(404)
    with store.reading() as connection:
        return feed, plan_of_day(connection, feed.household_id, today())


def _feed_file(request: Request, feed: CalendarFeed, plan: StoredPlan | None) -> Response:
    asked = CalendarRequest(calendar=str(feed.household_id))
    if plan is not None:
        with request.app.state.households.store().reading() as connection:
            asked = calendar_asked(connection, feed.household_id, plan, with_health=feed.rights == "health")
    return file_to_keep(calendar_file(asked, datetime.now(UTC)), "lunches.ics", ICS)
