"""Plans that a household stores: kept, and made again with as few changes as can be."""

from collections.abc import Iterable
from hashlib import sha256
from typing import Any
from uuid import UUID

from service.jobs.household.kinds import PLANS
from service.jobs.household.records import Kept, Matches, edited, keep_record, show_record
from service.jobs.household.requests import KeptPlan
from service.jobs.household.stored.kept_things import KeptThings
from service.jobs.household.stored.stored_ids import with_ids_resolved
from service.jobs.plan.weeks.requests import (
    MoveFound,
    PlanDecisions,
    PlanFound,
    PlanLocks,
    PlanRequest,
    PlanRevision,
    PlanWithIds,
    SearchFound,
)
from service.store.household.records import Connection

Reply = dict[str, Any]


def keep_plan(
    connection: Connection, household: UUID, asked: PlanWithIds, reply: Reply, fixed: UUID | None = None
) -> Kept:
    """Store a plan that was just made under the name that was asked, or without one; ``AlreadyThere`` where another has it.

    ``fixed``: its id, where that is to be known beforehand. The guidance that it was made by is kept with it: what is read
    again from the store cannot say any more whether its regions were named or left out.
    """
    regions = KeptThings(connection, household).regions()
    if regions is not None and "regions" not in asked.model_fields_set:
        asked = asked.model_copy(update={"regions": regions})
    made = KeptPlan.model_construct(name=asked.name, asked=_alone(asked), locked=PlanLocks())
    return keep_record(connection, PLANS, household, _planned(made, reply, None), None, fixed)


def plan_to_revise(
    connection: Connection, household: UUID, plan_id: str, matches: Matches, revision: PlanRevision
) -> PlanRequest:
    """What a stored plan asks now, with what was decided as the plan before. ``matches``: raises for another version.

    What is stored as locked stays too, as far as it is still part of the plan.
    """
    record = show_record(connection, PLANS, household, plan_id)
    matches(record.version)
    kept = KeptPlan.model_validate(record.body, strict=False)
    locked = locks_together(revision.locked, locks_that_hold(kept))
    more: dict[str, Any] = {"before": kept.decisions, "locked": locked}
    if revision.seconds is not None:
        more["seconds"] = revision.seconds
    return with_ids_resolved(connection, household, kept.asked.model_copy(update=more))


def keep_revision(connection: Connection, household: UUID, plan_id: str, matches: Matches, reply: Reply) -> Kept:
    """Store what was decided anew, if the plan is still the one that it was made from."""
    record = show_record(connection, PLANS, household, plan_id)
    matches(record.version)
    kept = KeptPlan.model_validate(record.body, strict=False)
    return edited(connection, PLANS, household, record, planned_again(kept, reply), None)


def planned_again(kept: KeptPlan, reply: Reply) -> KeptPlan:
    """A plan with what was decided just now in the place of what had been decided."""
    return _planned(kept, reply, kept.decisions)


def locks_that_hold(kept: KeptPlan) -> PlanLocks:
    """What is stored as locked, without days, offers, dishes and prep days that are no part of the plan any more."""
    offers = {one.id for one in kept.asked.offers}
    dishes = {one.food for one in kept.asked.dishes}
    decided = {one.day for one in kept.decisions.days if one.offer is None or one.offer in offers}
    made = {(one.food, one.made_on) for one in kept.decisions.batches if one.food in dishes}
    return PlanLocks(
        days=[day for day in kept.locked.days if day in decided and day in kept.asked.days],
        batches=[
            one
            for one in kept.locked.batches
            if (one.food, one.made_on) in made and one.made_on in kept.asked.prep_days
        ],
    )


def locks_together(*some: PlanLocks) -> PlanLocks:
    """All of several, each once."""
    batches = {(one.food, one.made_on): one for locks in some for one in locks.batches}
    return PlanLocks(days=_each_once(day for locks in some for day in locks.days), batches=list(batches.values()))


def edited_since_planned(kept: KeptPlan) -> bool:
    """Whether what a plan asks was edited since it was planned, as far as that is known."""
    return kept.found.of is not None and kept.found.of != _digest(kept.asked)


def _planned(kept: KeptPlan, reply: Reply, before: PlanDecisions | None) -> KeptPlan:
    """A plan with what was decided just now."""
    asked = _alone(kept.asked)
    search = reply["search"]
    found = PlanFound(
        of=_digest(asked),
        before=before,
        moves=[
            MoveFound.model_validate({name: one[name] for name in MoveFound.model_fields}, strict=False)
            for one in reply["moves"]
        ],
        search=None if search is None else SearchFound.model_validate(search),
    )
    decisions = PlanDecisions.model_validate(reply["decisions"], strict=False)
    made = kept.model_copy(update={"asked": asked, "decisions": decisions, "found": found})
    return made.model_copy(update={"locked": locks_that_hold(made)})


def _alone(asked: PlanWithIds) -> PlanWithIds:
    """What was asked, without what is kept beside it."""
    return asked.model_copy(update={"name": None, "before": None, "locked": PlanLocks()})


def _digest(asked: PlanWithIds) -> str:
    """Of what is not left as it is by itself, so that a field that is new later changes nothing."""
    return sha256(asked.model_dump_json(exclude_defaults=True).encode()).hexdigest()[:16]


def _each_once(days: Iterable[Any]) -> list[Any]:
    return list(dict.fromkeys(days))
