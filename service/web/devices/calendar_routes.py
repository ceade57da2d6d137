"""Addresses of the calendar for other programs: made, shown once, revoked."""

from fastapi import APIRouter, Request, Response
from pydantic import ValidationError

from service.jobs.household.access.calendar_feeds import NewFeed, make_feed, revoke_feed
from service.reference.messages import languages
from service.web.devices.calendar_view import MadeFeedView, NewFeedView
from service.web.devices.reach import address_and_code, reach_of
from service.web.forms.form import Form, SentForm
from service.web.pages import go, page
from service.web.viewer import Parent, Viewer

router = APIRouter(include_in_schema=False)


@router.get("/devices/calendars/new")
def show_new(request: Request, viewer: Parent) -> Response:
    """Who reads it, in which language, and whether it says who must not have what."""
    return _new(request, viewer, Form({"language": [viewer.language]}))


@router.post("/devices/calendars/new")
def make(request: Request, viewer: Parent, form: SentForm) -> Response:
    """Make the address; it stands on the answer to this form and nowhere else."""
    caller = viewer.who()
    language = form.text("language") if form.text("language") in languages() else viewer.language
    try:
        asked = NewFeed(name=form.text("name"), language=language, with_health=form.text("health") == "yes")
    except ValidationError as fault:
        return _new(request, viewer, form.with_faults(fault), 422)
    with caller.store.writing() as connection:
        path = make_feed(connection, caller.household, asked)
    reach = reach_of(request, request.app.state.settings)
    view = MadeFeedView(*address_and_code(reach, path), asked.with_health)
    return page(request, viewer, "devices/calendar.html", view)


@router.post("/devices/calendars/{feed}/revoke")
def revoke(viewer: Parent, feed: str, _form: SentForm) -> Response:
    """Remove an address: nobody reads the calendar there any more."""
    caller = viewer.who()
    with caller.store.writing() as connection:
        revoke_feed(connection, caller.household, feed)
    return go("/devices#calendars")


def _new(request: Request, viewer: Viewer, form: Form, status: int = 200) -> Response:
    view = NewFeedView(form, list(languages().items()), reach_of(request, request.app.state.settings))
    return page(request, viewer, "devices/new_calendar.html", view, status)
