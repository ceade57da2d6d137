"""The plan of an address, for every page of its sheets."""

from contextlib import suppress
from typing import Annotated

from fastapi import Depends, Request

from service.domain.errors import LunchError
from service.jobs.household.from_plan.planned import StoredPlan, plan_stored
from service.web.kitchen.sheets import Sheets
from service.web.plan.names import plan_name
from service.web.plan.working import in_worker
from service.web.viewer import Packer


async def plan_here(request: Request, viewer: Packer, plan: str) -> StoredPlan:
    """The plan as it was decided, worked out before a page is made; ``NotThere`` for one that is not here."""
    caller = viewer.who()

    def read() -> StoredPlan:
        with caller.store.reading() as connection:
            return plan_stored(connection, caller.household, plan)

    return await worked_out(request, await in_worker(request, read))


async def worked_out(request: Request, plan: StoredPlan) -> StoredPlan:
    """The plan, worked out: it may take seconds, so it waits its turn like planning, and the store is not held.

    So are those that come before it. One of them that fits no more is told of on the sheets.
    """
    for one in plan.earlier:
        with suppress(LunchError):
            await request.app.state.workers.plans.run(one.reply)
    await request.app.state.workers.plans.run(plan.reply)
    return plan


PlanHere = Annotated[StoredPlan, Depends(plan_here)]
"""The stored plan that the address names, ready for its sheets."""


def sheets_here(plan: StoredPlan, language: str) -> Sheets:
    """The links to its sheets."""
    first, last = plan.days()
    name = plan_name(plan.name, min(plan.asked.days), max(plan.asked.days), language)
    return Sheets(plan.id, name, first.isoformat(), last.isoformat())
