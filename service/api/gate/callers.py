"""Who asks: the household whose key or device a request comes with, and what that allows. Dependencies of the endpoints."""

from typing import Annotated

from fastapi import Depends, Request, Security
from fastapi.security import APIKeyCookie, HTTPBearer

from service.api.gate.device_cookie import COOKIE, COOKIE_OVER_TLS
from service.api.problems import ApiProblem
from service.domain.messages import message
from service.jobs.household.access.opened import Caller

household_key = HTTPBearer(scheme_name="householdKey", auto_error=False, description="An access key of a household.")

device_cookie = APIKeyCookie(
    name=COOKIE,
    scheme_name="deviceCookie",
    auto_error=False,
    description=f"The cookie of a device that is signed in; over TLS its name is `{COOKIE_OVER_TLS}`. What it changes must come from a page of this service's own origin.",
)


async def any_caller(request: Request) -> Caller | None:
    """The household whose key the request carries, if any; the gate (``access.py``) has looked at the key."""
    return request.scope.get("household")


async def a_key(
    request: Request,
    _documented: Annotated[object, Security(household_key)],
    _documented_too: Annotated[object, Security(device_cookie)],
) -> Caller:
    """A household's key or device, whatever it allows."""
    caller: Caller | None = request.scope.get("household")
    if caller is None:
        raise ApiProblem(
            "access-key-needed",
            message("fault.no-household-key"),
            {"WWW-Authenticate": "Bearer"},
        )
    return caller


Reader = Annotated[Caller, Depends(a_key)]


async def a_key_to_pack(caller: Reader) -> Caller:
    """A key that may log the day's lunches; which days it may write about is looked at with each lunch."""
    if caller.rights not in ("keep", "pack"):
        raise _without_right(caller)
    return caller


async def a_key_to_keep(caller: Reader) -> Caller:
    """A key that may do everything."""
    if caller.rights != "keep":
        raise _without_right(caller)
    return caller


def _without_right(caller: Caller) -> ApiProblem:
    if caller.device is not None:
        return ApiProblem("forbidden-right", message("fault.device-rights", rights=caller.rights))
    return ApiProblem("forbidden-right", message("fault.access-key-rights", rights=caller.rights))


AnyCaller = Annotated[Caller | None, Depends(any_caller)]
Packer = Annotated[Caller, Depends(a_key_to_pack)]
Keeper = Annotated[Caller, Depends(a_key_to_keep)]
