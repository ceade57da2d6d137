"""Signing in with a link that works once, and signing this device out."""

from typing import Annotated

from fastapi import APIRouter, Form, Request, Response

from service.api.gate.device_cookie import set_device_cookie, take_device_cookie
from service.api.logs.exchanges import peer_of
from service.api.senders import from_our_page
from service.jobs.household.access.devices import DeviceName, rename, sign_out
from service.jobs.household.access.sign_in_links import redeem
from service.web.forms.form import SentForm
from service.web.pages import go, page
from service.web.refusals import FormNotOurs
from service.web.sign_in.view import SignInView
from service.web.viewer import Anybody, SignedIn

router = APIRouter(include_in_schema=False)

LONGEST_NAME = 60


@router.get("/sign-in")
def show_sign_in(request: Request, viewer: Anybody, link: str = "") -> Response:
    """What the link does, with a button: programs that look at links before a person does use none up."""
    return page(request, viewer, "sign_in/sign_in.html", SignInView(link=link))


@router.post("/sign-in")
def sign_in(
    request: Request, viewer: Anybody, link: Annotated[str, Form()], name: Annotated[str, Form()] = ""
) -> Response:
    """Sign this device in: a cookie that lasts; then to the pages that it may use."""
    if not from_our_page(request.scope):
        raise FormNotOurs
    households = request.app.state.households
    signed_in = redeem(households.store(), link)
    if signed_in is None:
        request.app.state.wrong_keys.wrong(peer_of(request.scope), link.encode(), "sign-in link")
        return page(request, viewer, "sign_in/sign_in.html", SignInView(fault="sign-in.used"), 403)
    device = signed_in.device
    called = " ".join(name.split())[:LONGEST_NAME]
    if called:
        with households.store().writing() as connection:
            rename(connection, device.household_id, str(device.id), DeviceName(name=called))
    there = go("/" if device.child_id is None else f"/take/{device.child_id}")
    set_device_cookie(there, signed_in.secret, secure=request.url.scheme == "https")
    return there


@router.post("/sign-out")
def sign_out_here(request: Request, viewer: SignedIn, _form: SentForm) -> Response:
    """Sign this device out."""
    caller = viewer.who()
    if caller.device is not None:
        with caller.store.writing() as connection:
            sign_out(connection, caller.household, str(caller.device.id))
    there = go("/sign-in")
    take_device_cookie(there, secure=request.url.scheme == "https")
    return there
