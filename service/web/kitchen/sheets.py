"""The sheets of a stored plan, as pages link to them."""

from collections.abc import Sequence
from dataclasses import dataclass

from service.jobs.household.from_plan.planned import PlanName

SHOWN = 5
"""Plans whose sheets the stock page links to: the newest."""


@dataclass(frozen=True)
class Sheets:
    """A plan whose sheets are linked to: its id and name, and its first and last day."""

    id: str
    name: str
    first: str
    last: str


def sheets_of(plan: PlanName) -> Sheets:
    """The links of a plan."""
    return Sheets(plan.id, plan.name, plan.first.isoformat(), plan.last.isoformat())


def newest_sheets(plans: Sequence[PlanName]) -> list[Sheets]:
    """Those of the newest plans. ``plans``: all of them, the newest first."""
    return [sheets_of(one) for one in plans[:SHOWN]]
