"""The plan of an address, for every page of its sheets."""

from service.jobs.household.from_plan.planned import StoredPlan, plan_stored
from service.web.kitchen.sheets import Sheets
from service.web.viewer import Viewer


def plan_here(viewer: Viewer, plan_id: str) -> StoredPlan:
    """The plan as it was decided, worked out before a page is made; ``NotThere`` for one that is not here."""
    caller = viewer.who()
    with caller.store.reading() as connection:
        plan = plan_stored(connection, caller.household, plan_id)
    plan.reply()  # it may take a second: not while the store is held
    return plan


def sheets_here(plan: StoredPlan) -> Sheets:
    """The links to its sheets."""
    first, last = plan.days()
    return Sheets(plan.id, plan.name, first.isoformat(), last.isoformat())
