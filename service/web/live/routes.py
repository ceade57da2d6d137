"""Server-sent events that say that something of the household changed; a page then asks for itself again.

Where a network lets no events through, the script asks for ``/events/mark`` now and then instead.
"""

from collections import Counter
from collections.abc import AsyncIterator

import anyio
import anyio.to_thread
from fastapi import APIRouter, Request, Response
from starlette.responses import PlainTextResponse, StreamingResponse

from service.api.gate.device_cookie import sent_device_secret
from service.api.problems import ApiProblem
from service.domain.errors import StoreFault
from service.domain.messages import message
from service.jobs.household.access.opened import Caller
from service.jobs.household.changes import household_mark
from service.web.viewer import SignedIn

router = APIRouter(include_in_schema=False)

BETWEEN_LOOKS = 1.0
"""Seconds; another device's taking is seen within two."""
LONGEST = 600
"""Looks after which a stream ends; the browser then opens another."""
SIGNED_IN_STILL = 15
"""Looks after which it is asked again whether the device is still signed in."""
MOST_STREAMS = 3
"""Of one device at a time: a browser opens six connections to a host, and some must be left for pages. Other tabs ask now
and then instead.
"""
MOST_OF_HOUSEHOLD = 60
"""Streams of all its devices at a time: each holds a connection open."""
LOOKS_AT_ONCE = 4
"""Threads in which all streams look together, so that those of pages are left for pages."""
HEADERS = {"Cache-Control": "no-store", "X-Accel-Buffering": "no"}


@router.get("/events")
async def events(request: Request, viewer: SignedIn) -> Response:
    """A stream with an event whenever something changed."""
    caller = viewer.who()
    streams: Counter[str] = request.app.state.streams
    device = str(caller.device and caller.device.id)
    of_household = str(caller.household)
    if streams[of_household] >= MOST_OF_HOUSEHOLD:
        raise ApiProblem("too-busy", message("fault.too-many-streams", most=MOST_OF_HOUSEHOLD), {"Retry-After": "60"})
    if streams[device] >= MOST_STREAMS:
        raise ApiProblem("too-busy", message("fault.too-many-streams", most=MOST_STREAMS), {"Retry-After": "60"})
    return StreamingResponse(
        _changes(request, caller, streams, device), media_type="text/event-stream", headers=HEADERS
    )


@router.get("/events/mark")
async def mark_now(request: Request, viewer: SignedIn) -> Response:
    """The mark of what is stored now, for those who ask now and then."""
    now = await anyio.to_thread.run_sync(_mark, viewer.who(), limiter=request.app.state.looks)
    return PlainTextResponse(now, headers={"Cache-Control": "no-store"})


async def _changes(request: Request, caller: Caller, streams: "Counter[str]", device: str) -> AsyncIterator[str]:
    """Events until the browser or the service goes, the store does not answer, the device is signed out, or it is time for a new stream."""
    before = ""
    counted = (device, str(caller.household))
    looks: anyio.CapacityLimiter = request.app.state.looks
    streams.update(counted)
    try:
        for look in range(1, LONGEST + 1):
            now = await anyio.to_thread.run_sync(_mark, caller, limiter=looks)
            yield f"event: mark\ndata: {now}\n\n" if now != before else ": still here\n\n"
            before = now
            await anyio.sleep(BETWEEN_LOOKS)
            if request.app.state.stopping() or await request.is_disconnected():
                return
            if look % SIGNED_IN_STILL == 0 and not await anyio.to_thread.run_sync(
                _signed_in_still, request, limiter=looks
            ):
                return
    except StoreFault:
        return  # the browser opens another, which says so
    finally:
        streams.subtract(counted)
        for one in counted:
            if not streams[one]:
                del streams[one]


def _signed_in_still(request: Request) -> bool:
    return request.app.state.households.signed_in(sent_device_secret(request)) is not None


def _mark(caller: Caller) -> str:
    with caller.store.reading() as connection:
        return household_mark(connection, caller.household)
