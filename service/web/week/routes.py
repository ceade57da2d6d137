"""The week's pages: all children, one child, what came back, and taking over what is stored by now."""

from uuid import UUID

from fastapi import APIRouter, Request, Response
from pydantic import ValidationError
from starlette.exceptions import HTTPException

from service.domain.errors import LunchError
from service.jobs.household.access.households import today
from service.jobs.household.days.lunches import lunch_on, lunches_of
from service.jobs.household.kinds import CHILDREN, LUNCHES
from service.jobs.household.records import edit_record, list_records, show_record
from service.jobs.household.weeks.child_week import child_week
from service.jobs.household.weeks.family_week import family_week, school_days_by_day
from service.jobs.requests.fields import Day, day_in
from service.web.forms.form import Form, SentForm
from service.web.pages import go, page
from service.web.records import keep_parts
from service.web.viewer import Packer, Parent, Viewer
from service.web.week.child_view import SHARES, child_view
from service.web.week.view import week_view
from service.web.weeks import WeekAsked, week_asked

router = APIRouter(include_in_schema=False)


@router.get("/week")
def show_week(request: Request, viewer: Packer, week: str = "") -> Response:
    """All children: what they had, what the week lacks, what would help, and what it cost."""
    asked = week_asked(week)
    caller = viewer.who()
    with caller.store.reading() as connection:
        found = family_week(connection, caller.household, asked.week)
    view = week_view(found, asked, viewer.language, may_write=caller.rights == "keep")
    return page(request, viewer, "week/week.html", view)


@router.get("/week/{child}")
def show_child(request: Request, viewer: Packer, child: str, week: str = "") -> Response:
    """One child's week, each day with what came back, and each rule drawn and said."""
    return _child_page(request, viewer, child, week_asked(week), [])


def _child_page(request: Request, viewer: Viewer, child: str, asked: WeekAsked, faults: list[str]) -> Response:
    caller = viewer.who()
    with caller.store.reading() as connection:
        kept = show_record(connection, CHILDREN, caller.household, child)
        reply = child_week(connection, CHILDREN, caller.household, child, asked.week)
        school_days = school_days_by_day(connection, caller.household, asked.monday)
        rows = list_records(connection, LUNCHES, caller.household, 7, None, lunches_of(child=child, week=asked.week))
    lunches = {one["date"]: one for one in rows["items"]}
    one = {"id": child, "nickname": kept.body["nickname"], "week": reply, "why_not": []}
    may_write = caller.rights == "keep"
    may_note = lunches if may_write else [today().isoformat()]
    view = child_view(
        one,
        school_days,
        lunches,
        asked,
        viewer.language,
        may_write=may_write,
        may_note=may_note,
        faults=faults,
    )
    return page(request, viewer, "week/child.html", view, 409 if faults else 200)


@router.post("/week/{child}/came-back/{day}")
def note_what_came_back(viewer: Packer, child: str, day: Day, form: SentForm) -> Response:
    """Note of each item how much was not eaten; a device that packs may do so for today's lunch."""
    caller = viewer.who()
    with caller.store.reading() as connection:
        lunch = lunch_on(connection, caller.household, UUID(_known(viewer, child)), day)
    if lunch is None:
        raise HTTPException(404)
    before = {one["item"]: one["share"] for one in lunch.body["uneaten"] or []}
    shares = [_share(form, place, before.get(place, 0.0)) for place in range(len(lunch.body["items"]))]
    uneaten = [{"item": place, "share": share} for place, share in enumerate(shares) if share]
    days = None if caller.rights == "keep" else (today(), today())
    keep_parts(caller, LUNCHES, str(lunch.id), form.text("version"), {"uneaten": uneaten}, days)
    return go(f"/week/{child}?week={form.text('week')}#day-{day}")


@router.post("/week/{child}/take-over")
def take_over(request: Request, viewer: Parent, child: str, form: SentForm) -> Response:
    """Judge some lunches by what is stored now: own foods as they were edited, the child's rules as they are."""
    caller = viewer.who()
    asked = week_asked(form.text("week"))
    _known(viewer, child)
    try:
        with caller.store.writing() as connection:
            for text in form.texts("day"):
                day = day_in(text)
                lunch = None if day is None else lunch_on(connection, caller.household, UUID(child), day)
                if lunch is not None:
                    edit_record(connection, LUNCHES, caller.household, str(lunch.id), lambda _now: None, b"{}", None)
    except (LunchError, ValidationError) as fault:
        sentences = [one.sentence for one in Form().with_faults(fault).faults]
        return _child_page(request, viewer, child, asked, sentences)
    return go(f"/week/{child}?week={asked.week}")


def _known(viewer: Viewer, child: str) -> str:
    """The child's id; ``NotThere`` where it is none of this household."""
    caller = viewer.who()
    with caller.store.reading() as connection:
        return str(show_record(connection, CHILDREN, caller.household, child).id)


def _share(form: Form, place: int, before: float) -> float:
    """What was chosen for an item; "other" keeps the share that was noted before."""
    return SHARES.get(form.text(f"item-{place}"), before)
