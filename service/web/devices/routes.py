"""The devices of a household: seen, named, signed out, and a link that signs in another one."""

from collections.abc import Mapping

from fastapi import APIRouter, Request, Response
from pydantic import ValidationError

from service.domain.messages import message
from service.jobs.household.access.calendar_feeds import list_feeds
from service.jobs.household.access.devices import DeviceName, list_devices, rename, sign_out, sign_out_all
from service.jobs.household.access.sign_in_links import NewLink, make_link
from service.jobs.household.kinds import CHILDREN
from service.web.devices.reach import address_and_code, reach_of
from service.web.devices.view import LinkView, NewDeviceView, devices_view, may
from service.web.forms.form import Form, SentForm
from service.web.language.words import clock, said
from service.web.pages import go, page
from service.web.records import all_of
from service.web.viewer import Parent, Viewer

router = APIRouter(include_in_schema=False)


@router.get("/devices")
def show_devices(request: Request, viewer: Parent) -> Response:
    """All devices that are signed in, this one first."""
    return _devices(request, viewer)


@router.get("/devices/new")
def show_new(request: Request, viewer: Parent) -> Response:
    """What the new device is called and may do."""
    return _new(request, viewer, Form({"rights": ["keep"]}))


@router.post("/devices/new")
def add(request: Request, viewer: Parent, form: SentForm) -> Response:
    """Make the link; it stands on the answer to this form and nowhere else."""
    caller = viewer.who()
    rights = form.text("rights")
    child = form.text("child") if rights == "take" else ""
    if rights == "take" and not child:
        return _new(request, viewer, form.wrong("child", said(message("devices.child-needed"), viewer.language)), 422)
    try:
        asked = NewLink.model_validate({"name": form.text("name"), "rights": rights, "child": child or None})
        with caller.store.writing() as connection:
            link = make_link(connection, caller.household, asked)
    except ValidationError as fault:
        return _new(request, viewer, form.with_faults(fault), 422)
    reach = reach_of(request, request.app.state.settings)
    words = may(rights, _children(viewer).get(child, ""))
    view = LinkView(*address_and_code(reach, link.path), words, clock(link.ends_at, viewer.language))
    return page(request, viewer, "devices/link.html", view)


@router.post("/devices/sign-out-others")
def sign_out_others(viewer: Parent, _form: SentForm) -> Response:
    """Sign out every device but this one."""
    caller = viewer.who()
    with caller.store.writing() as connection:
        sign_out_all(connection, caller.household, but=None if caller.device is None else caller.device.id)
    return go("/devices")


@router.post("/devices/{device}/name")
def name_device(request: Request, viewer: Parent, device: str, form: SentForm) -> Response:
    """Give a device another name."""
    caller = viewer.who()
    try:
        asked = DeviceName(name=form.text("name"))
    except ValidationError as fault:
        return _devices(request, viewer, form.with_faults(fault), device)
    with caller.store.writing() as connection:
        rename(connection, caller.household, device, asked)
    return go("/devices")


@router.post("/devices/{device}/sign-out")
def sign_out_device(viewer: Parent, device: str, _form: SentForm) -> Response:
    """Sign a device out; it needs a new link to come back."""
    caller = viewer.who()
    with caller.store.writing() as connection:
        sign_out(connection, caller.household, device)
    return go("/devices")


def _devices(request: Request, viewer: Viewer, form: Form | None = None, of: str = "") -> Response:
    caller = viewer.who()
    with caller.store.reading() as connection:
        found = list_devices(connection, caller.household)
        feeds = list_feeds(connection, caller.household)
    here = "" if caller.device is None else str(caller.device.id)
    view = devices_view(found, _children(viewer), here, feeds, viewer.language, form, of)
    return page(request, viewer, "devices/devices.html", view, 200 if form is None else 422)


def _new(request: Request, viewer: Viewer, form: Form, status: int = 200) -> Response:
    reach = reach_of(request, request.app.state.settings)
    view = NewDeviceView(form, list(_children(viewer).items()), reach)
    return page(request, viewer, "devices/new.html", view, status)


def _children(viewer: Viewer) -> Mapping[str, str]:
    """Nicknames by id."""
    return {one["id"]: one["nickname"] for one in all_of(viewer.who(), CHILDREN)}
