"""Plans that a household stores: kept under a name, and made again with as few changes as can be."""

from typing import Any
from uuid import UUID

from service.jobs.household.kinds import PLANS
from service.jobs.household.records import Kept, Matches, edited, keep_record, show_record
from service.jobs.household.requests import KeptPlan
from service.jobs.household.stored.stored_ids import with_ids_resolved
from service.jobs.plan.weeks.requests import PlanDecisions, PlanLocks, PlanRequest, PlanRevision, PlanWithIds
from service.store.records import Connection

Reply = dict[str, Any]


def keep_plan(connection: Connection, household: UUID, asked: PlanWithIds, reply: Reply) -> Kept:
    """Store a plan that was just made under the name that was asked; ``AlreadyThere`` where another has it."""
    return keep_record(connection, PLANS, household, _kept(str(asked.name), asked, reply), None)


def plan_to_revise(
    connection: Connection, household: UUID, plan_id: str, matches: Matches, revision: PlanRevision
) -> PlanRequest:
    """What a stored plan asks now, with what was decided as the plan before. ``matches``: raises for another version."""
    record = show_record(connection, PLANS, household, plan_id)
    matches(record.version)
    kept = KeptPlan.model_validate(record.body, strict=False)
    more: dict[str, Any] = {"before": kept.decisions, "locked": revision.locked}
    if revision.seconds is not None:
        more["seconds"] = revision.seconds
    return with_ids_resolved(connection, household, kept.asked.model_copy(update=more))


def keep_revision(connection: Connection, household: UUID, plan_id: str, matches: Matches, reply: Reply) -> Kept:
    """Store what was decided anew, if the plan is still the one that it was made from."""
    record = show_record(connection, PLANS, household, plan_id)
    matches(record.version)
    kept = KeptPlan.model_validate(record.body, strict=False)
    return edited(connection, PLANS, household, record, _kept(kept.name, kept.asked, reply), None)


def _kept(name: str, asked: PlanWithIds, reply: Reply) -> KeptPlan:
    alone = asked.model_copy(update={"name": None, "before": None, "locked": PlanLocks()})
    decisions = PlanDecisions.model_validate(reply["decisions"], strict=False)
    return KeptPlan.model_construct(name=name, asked=alone, decisions=decisions)
