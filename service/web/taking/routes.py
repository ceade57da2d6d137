"""A child's page: a tap takes a food or puts it back, done logs the lunch, and for ten minutes it can be changed."""

from datetime import UTC, date, datetime, timedelta
from typing import Annotated, Any
from urllib.parse import quote
from uuid import UUID, uuid4

from fastapi import APIRouter, Query, Request, Response
from pydantic import ValidationError
from starlette.exceptions import HTTPException

from service.domain.errors import LunchError, OutsideAgeGroups
from service.jobs.household.access.households import today
from service.jobs.household.days.lunches import lunch_on
from service.jobs.household.days.school_days import offer_of_day
from service.jobs.household.kinds import CHILDREN, LUNCHES
from service.jobs.household.offers.taking import choice_of, items_taken, names_of
from service.jobs.household.once import Made
from service.jobs.household.records import Connection, Record, keep_record, remove_record, show_record
from service.jobs.household.requests import LoggedLunch
from service.jobs.household.settings import settings_of
from service.jobs.requests.fields import Day, day_in, is_kept_id
from service.reference.foods.pictures import picture_of
from service.web.forms.form import SentForm
from service.web.pages import go, page
from service.web.records import made_from, once, one_of
from service.web.taking.view import NothingView, TakenView, Tile, address, key_of, taking_view
from service.web.viewer import SignedIn, Viewer

router = APIRouter(include_in_schema=False)

UNDO_FOR = timedelta(minutes=10)
MOST = 60


@router.get("/take/{child}")
def show_taking(
    request: Request,
    viewer: SignedIn,
    child: str,
    day: Day | None = None,
    offer: str = "",
    take: Annotated[list[str], Query(max_length=MOST)] = [],  # noqa: B006 - FastAPI copies it
    tap: str = "",
    tapped: str = "",
) -> Response:
    """The tiles, with what is taken so far; or what was taken, once it is logged.

    ``tap``: a tile, tapped without script: the browser goes on to the address of what is taken then. ``tapped``: the same
    asked for by a script, which needs no other address and is given the page at once.
    """
    _may_see(viewer, child)
    on = _day(viewer, day)
    taken = [key_of(one) for one in take]
    caller = viewer.who()
    with caller.store.reading() as connection:
        if (logged := _logged(connection, caller.household, child, on)) is not None:
            kept = show_record(connection, CHILDREN, caller.household, child)
            return page(request, viewer, "taking/taken.html", _taken(connection, caller.household, kept, logged, on))
        offer_id = offer or offer_of_day(connection, caller.household, on)
        tile = tap or tapped
        tapped_key = key_of(tile) if tile else None
        choice, why = None, "taking.nothing-out"
        if offer_id is not None:
            try:
                choice = choice_of(connection, caller.household, child, offer_id, on, taken, tapped_key)
            except OutsideAgeGroups:  # Today and the page of the offer say to a parent what to change
                why = "taking.nothing-for-you"
        if offer_id is None or choice is None:
            kept = show_record(connection, CHILDREN, caller.household, child)
            return page(request, viewer, "taking/nothing.html", NothingView(kept.body["nickname"], why))
    if tap:
        there = address(child, on.isoformat(), offer_id, [(group, item) for group, item in choice["taken"]])
        return go(f"{there}#tile-{quote(tap)}")  # without script, the keyboard goes on from the tapped tile
    return page(request, viewer, "taking/taking.html", taking_view(choice, uuid4().hex, viewer.language))


@router.post("/take/{child}")
def finish(request: Request, viewer: SignedIn, child: str, form: SentForm) -> Response:
    """Log the lunch that was taken, once; what cannot be packed is for a grown-up to look at."""
    _may_see(viewer, child)
    caller = viewer.who()
    one_of(caller, CHILDREN, child)
    on = _day(viewer, day_in(form.text("day")))
    taken = [key_of(one) for one in form.texts("take")]
    offer_id = form.text("offer")

    def log(connection: Any) -> Made:
        items = items_taken(connection, caller.household, child, offer_id, on, taken)
        holding = settings_of(connection, caller.household).holding
        lunch = LoggedLunch.model_validate(
            {
                "child": child,
                "date": on.isoformat(),
                "kind": "packed",
                "items": items,
                "holding": None if holding is None else holding.model_dump(),
                "offer": offer_id,
            }
        )
        kept = keep_record(connection, LUNCHES, caller.household, lunch, (on, on))
        return Made(201, {"id": str(kept.record.id)}, {})

    try:
        once(caller, form.text("repeat"), f"take {child} {on} {form.texts('take')}", log)
    except (LunchError, ValidationError):
        with caller.store.reading() as connection:
            choice = choice_of(connection, caller.household, child, offer_id, on, taken)
        view = taking_view(choice, uuid4().hex, viewer.language, "taking.not-done")
        return page(request, viewer, "taking/taking.html", view, 409)
    return go(f"/take/{child}" if on == today() else f"/take/{child}?day={on}")


@router.post("/take/{child}/undo")
def undo(viewer: SignedIn, child: str, form: SentForm) -> Response:
    """Take back what was logged, within ten minutes; the tiles come back as they were."""
    _may_see(viewer, child)
    caller = viewer.who()
    one_of(caller, CHILDREN, child)
    on = _day(viewer, day_in(form.text("day")))
    with caller.store.writing() as connection:
        logged = lunch_on(connection, caller.household, UUID(child), on)
        if logged is None or not _can_undo(logged):
            return go(f"/take/{child}")
        version = form.text("version")
        matches = made_from(version, lambda: logged)
        remove_record(connection, LUNCHES, caller.household, str(logged.id), matches)
    return go(f"/take/{child}" if on == today() else f"/take/{child}?day={on}")


def _may_see(viewer: Viewer, child: str) -> None:
    """A device for one child's taking sees that child's page only; to it no other child is there."""
    device = viewer.who().device
    of_another = device is not None and device.rights == "take" and str(device.child_id) != child
    if of_another or not is_kept_id(child):
        raise HTTPException(404)


def _day(viewer: Viewer, asked: date | None) -> date:
    """The day asked for; a device that does not do everything takes for today only."""
    return asked if asked is not None and viewer.who().rights == "keep" else today()


def _logged(connection: Connection, household: UUID, child: str, on: date) -> Record | None:
    return lunch_on(connection, household, UUID(child), on) if is_kept_id(child) else None


def _can_undo(logged: Record) -> bool:
    return abs(datetime.now(UTC) - logged.created_at) < UNDO_FOR  # the clock may have been set back


def _taken(connection: Connection, household: UUID, kept: Record, logged: Record, on: date) -> TakenView:
    body = logged.body
    named = names_of(connection, household, body["items"])
    tiles = [Tile("", name, picture_of(name, category), "", "", "mine", 1, "") for name, category in named]
    kind = "taken" if body["kind"] == "packed" else body["kind"]
    undo = _can_undo(logged) and body["kind"] == "packed"
    return TakenView(str(kept.id), kept.body["nickname"], on.isoformat(), tiles, kind, undo, logged.version)
