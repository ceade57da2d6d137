"""Work of the pages of plans that takes some seconds, where the API does it too: apart from the event loop."""

from collections.abc import Callable
from functools import partial
from typing import Any, TypeVar

from fastapi import Request, Response

from service.jobs.plan.weeks.requests import PlanRequest

Done = TypeVar("Done")


async def planned(request: Request, asked: PlanRequest) -> dict[str, Any] | Response:
    """What planning replies; a response where the person has gone. Closing the page stops the work."""
    from service.jobs.plan.weeks.plan_weeks import plan_weeks  # it loads numpy and the solver

    made: dict[str, Any] | Response = await request.app.state.workers.plans.run_watched(
        request, partial(plan_weeks, asked)
    )
    return made


async def in_worker(request: Request, work: Callable[[], Done]) -> Done:
    """What reads or writes the store."""
    done: Done = await request.app.state.workers.bodies.run(work)
    return done
