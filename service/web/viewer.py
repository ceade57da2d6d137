"""Who looks at a page: a device that is signed in to a household, and what it may do. Dependencies of the pages.

Each calls the one before it rather than depending on it: FastAPI looks at all dependencies of each of the many pages when it starts.
"""

import hashlib
import hmac
from dataclasses import dataclass, field
from typing import Annotated, get_origin

from fastapi import Depends, Request

from service.api.gate.device_cookie import sent_device_secret
from service.api.problems import BadParameters
from service.jobs.household.access.opened import Caller
from service.web.language.chosen import language_of
from service.web.refusals import NotForThisDevice, SignInFirst

PARENT_PAGES = (
    ("/", "layout.today"),
    ("/set-out", "layout.set-out"),
    ("/packets", "layout.packets"),
    ("/week", "layout.week"),
    ("/more", "layout.more"),
)
TOKEN_FOR = b"the forms of this device"


@dataclass(frozen=True)
class Viewer:
    """Who looks, and how.

    ``caller``: household, rights and device; None before signing in. ``token``: what every form of this device carries.
    ``pages``: the pages that the device is led to, address and code of the word.
    """

    language: str
    caller: Caller | None = None
    token: str = ""
    pages: tuple[tuple[str, str], ...] = field(default=())

    def who(self) -> Caller:
        """The household; ``SignInFirst`` where nobody is signed in."""
        if self.caller is None:
            raise SignInFirst
        return self.caller

    @property
    def may_change(self) -> bool:
        """Whether the device may change what the household stores; others only see it."""
        return self.caller is not None and self.caller.rights == "keep"


async def anybody(request: Request) -> Viewer:
    """Whoever looks, signed in or not; ``BadParameters`` where a part of the address is given twice that can be only one."""
    _each_once(request)
    return viewer_of(request)


def viewer_of(request: Request) -> Viewer:
    """Whoever looks, whatever the address."""
    language = language_of(request)
    caller: Caller | None = request.scope.get("household")
    if caller is None:
        return Viewer(language)
    return Viewer(language, caller, form_token(request), PARENT_PAGES if caller.rights in ("keep", "pack") else ())


def _each_once(request: Request) -> None:
    given = request.query_params
    if len(given.multi_items()) == len(given):
        return
    single = {
        one.alias
        for one in request.scope["route"].dependant.query_params
        if get_origin(one.field_info.annotation) is not list
    }
    twice = [name for name in given if name in single and len(given.getlist(name)) > 1]
    if twice:
        faults = [
            {"type": "given_twice", "loc": ("query", name), "msg": "", "input": given.getlist(name)} for name in twice
        ]
        raise BadParameters(faults)


async def signed_in(request: Request) -> Viewer:
    """A device of a household, whatever it may do."""
    viewer = await anybody(request)
    viewer.who()
    return viewer


async def a_parent(request: Request) -> Viewer:
    """A device that may do everything."""
    viewer = await signed_in(request)
    if viewer.who().rights != "keep":
        raise NotForThisDevice
    return viewer


async def a_packer(request: Request) -> Viewer:
    """A device that sees everything and logs what is packed."""
    viewer = await signed_in(request)
    if viewer.who().rights not in ("keep", "pack"):
        raise NotForThisDevice
    return viewer


def form_token(request: Request) -> str:
    """What every form of a device carries: made from the secret of its cookie, so nothing has to be stored."""
    secret = sent_device_secret(request)
    return hmac.new(secret, TOKEN_FOR, hashlib.sha256).hexdigest() if secret else ""


Anybody = Annotated[Viewer, Depends(anybody)]
SignedIn = Annotated[Viewer, Depends(signed_in)]
Parent = Annotated[Viewer, Depends(a_parent)]
Packer = Annotated[Viewer, Depends(a_packer)]
