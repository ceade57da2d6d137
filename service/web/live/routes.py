"""Server-sent events that say that something of the household changed; a page then asks for itself again.

Where a network lets no events through, the script asks for ``/events/mark`` now and then instead.
"""

import hashlib
from collections.abc import AsyncIterator

import anyio
import anyio.to_thread
from fastapi import APIRouter, Request, Response
from starlette.responses import PlainTextResponse, StreamingResponse

from service.jobs.household.access.opened import Caller
from service.jobs.household.changes import household_mark
from service.web.viewer import SignedIn

router = APIRouter(include_in_schema=False)

BETWEEN_LOOKS = 1.0
"""Seconds; another device's taking is seen within two."""
LONGEST = 600
"""Looks after which a stream ends; the browser then opens another."""
HEADERS = {"Cache-Control": "no-store", "X-Accel-Buffering": "no"}


@router.get("/events")
async def events(request: Request, viewer: SignedIn) -> Response:
    """A stream with an event whenever something changed."""
    return StreamingResponse(_changes(request, viewer.who()), media_type="text/event-stream", headers=HEADERS)


@router.get("/events/mark")
async def mark_now(viewer: SignedIn) -> Response:
    """The mark of what is stored now, for those who ask now and then."""
    return PlainTextResponse(await anyio.to_thread.run_sync(_mark, viewer.who()), headers={"Cache-Control": "no-store"})


async def _changes(request: Request, caller: Caller) -> AsyncIterator[str]:
    before = ""
    for _look in range(LONGEST):
        now = await anyio.to_thread.run_sync(_mark, caller)
        if now != before:
            yield f"event: mark\ndata: {now}\n\n"
            before = now
        else:
            yield ": still here\n\n"
        if await request.is_disconnected():
            return
        await anyio.sleep(BETWEEN_LOOKS)


def _mark(caller: Caller) -> str:
    with caller.store.reading() as connection:
        return hashlib.sha256(household_mark(connection, caller.household).encode()).hexdigest()[:16]
