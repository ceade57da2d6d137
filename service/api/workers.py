"""Work that may take long: so many jobs of a kind at a time, each in a thread, so that the event loop and the threads that
read the store stay free."""

import threading
from collections.abc import Callable
from typing import Any, TypeVar

import anyio
import anyio.to_thread
from fastapi import Request
from starlette.responses import Response

from service.api.problems import ApiProblem
from service.domain.messages import message
from service.settings import Settings

Made = TypeVar("Made")
RETRY_SECONDS = 5
"""What a caller is told to wait where all places are taken; our choice."""
CLIENT_GONE = 499
"""Common among web servers for a caller that closed the connection; nobody reads it."""


class ClientGone(Exception):
    """The caller closed the connection; the work is not wanted any more."""


class Queue:
    """The threads for one kind of job, and those who wait for them."""

    def __init__(self, at_once: int, waiting: int) -> None:
        self._limiter = anyio.CapacityLimiter(at_once)
        self._most = at_once + waiting
        self._inside = 0

    @property
    def inside(self) -> int:
        """How many jobs are worked on or wait."""
        return self._inside

    async def run(self, work: Callable[..., Made], *given: Any) -> Made:
        """What the work gives; ``ApiProblem`` (429) where too many wait already."""
        if self._inside >= self._most:
            raise ApiProblem(
                "too-busy",
                message("fault.queue-full", number=self._inside, seconds=RETRY_SECONDS),
                {"Retry-After": str(RETRY_SECONDS)},
            )
        self._inside += 1
        try:
            return await anyio.to_thread.run_sync(work, *given, limiter=self._limiter)
        finally:
            self._inside -= 1

    async def run_watched(self, request: Request, work: Callable[[Callable[[], None]], Made]) -> Made | Response:
        """The same for work that calls a ``tick`` now and then: when its caller goes away, the next tick stops it."""
        gone = threading.Event()

        def tick() -> None:
            if gone.is_set():
                raise ClientGone

        async def watch() -> None:
            while True:
                message = await request.receive()
                if message["type"] == "http.disconnect":
                    gone.set()
                    return

        made: Made | None = None
        fault: Exception | None = None
        async with anyio.create_task_group() as group:
            group.start_soon(watch)
            try:
                made = await self.run(work, tick)
            except Exception as found:  # carried out of the group, which would wrap it
                fault = found
            finally:
                group.cancel_scope.cancel()
        if isinstance(fault, ClientGone):
            return Response(status_code=CLIENT_GONE)
        if fault is not None:
            raise fault
        assert made is not None  # noqa: S101 - there is a fault otherwise
        return made


class Workers:
    """One queue for each kind of job. ``pages``: those that audit an offer, apart from the audits of programs."""

    def __init__(self, chosen: Settings) -> None:
        self.bodies, self.checks, self.screenings, self.audits, self.tables, self.weeks, self.plans, self.pages = (
            Queue(chosen.jobs_at_once, chosen.jobs_waiting) for _ in range(8)
        )

    def by_name(self) -> dict[str, Queue]:
        """The queues by the kind of their jobs."""
        return dict(vars(self))
