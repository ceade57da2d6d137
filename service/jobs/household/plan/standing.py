"""A stored plan as it stands: planned once more with all that was decided settled, so that it is judged by what is known now."""

from datetime import date
from typing import Any, NamedTuple
from uuid import UUID

from service.domain.messages import Message
from service.domain.plan.planned import Lunch, PlannedDay
from service.jobs.household.days.school_days import school_days_between
from service.jobs.household.kinds import PLANS
from service.jobs.household.plan.plans import edited_since_planned, locks_that_hold, locks_together, planned_again
from service.jobs.household.records import Kept, Matches, edited, show_record
from service.jobs.household.requests import KeptPlan
from service.jobs.household.stock.known_foods import KnownFoods
from service.jobs.household.stored.stored_ids import with_ids_resolved
from service.jobs.plan.weeks.changes import changes_since
from service.jobs.plan.weeks.requests import (
    DecidedDay,
    LockedBatch,
    PlanDecisions,
    PlanLocks,
    PlanRequest,
    PlanWithIds,
    SchoolMeal,
)
from service.store.household.kinds import CHILD
from service.store.household.records import Connection, Record, find

Reply = dict[str, Any]


class Standing(NamedTuple):
    """A stored plan. ``names``: of its children, in their order; ``foods``: names of the dishes that were made, by food key.

    ``days``: each that is planned, or was; ``edited``: what it asks was edited since it was planned.
    """

    id: str
    version: int
    kept: KeptPlan
    names: list[str]
    foods: dict[str, str]
    days: list[date]
    edited: bool


def standing(connection: Connection, household: UUID, record: Record) -> Standing:
    """A stored plan as it is kept, with the names of what it has."""
    kept = KeptPlan.model_validate(record.body, strict=False)
    known = KnownFoods(connection, household)
    before = kept.found.before or PlanDecisions()
    foods = {one.food for one in (*kept.decisions.batches, *before.batches)}
    return Standing(
        str(record.id),
        record.version,
        kept,
        [_name(connection, household, place, one) for place, one in enumerate(kept.asked.children, 1)],
        {food: known.name(food) for food in foods},
        sorted({*kept.asked.days, *(one.day for one in (*kept.decisions.days, *before.days))}),
        edited_since_planned(kept),
    )


def plan_as_it_stands(connection: Connection, household: UUID, kept: KeptPlan) -> PlanRequest:
    """What is asked to see the plan once more: all that was decided, and is still part of it, stays."""
    days = [one.day for one in kept.decisions.days]
    batches = [LockedBatch(food=one.food, made_on=one.made_on) for one in kept.decisions.batches]
    everything = locks_that_hold(kept.model_copy(update={"locked": PlanLocks(days=days, batches=batches)}))
    before = kept.decisions if days else None
    more = {"before": before, "locked": everything if before else PlanLocks()}
    return with_ids_resolved(connection, household, kept.asked.model_copy(update=more))


def what_moved(plan: Standing) -> list[Message] | None:
    """What the last planning changed, in the order of the days; None: it was planned once only."""
    before, now = plan.kept.found.before, plan.kept.decisions
    if before is None:
        return None
    days = [_planned_day(one, plan.names) for one in now.days]
    changed = changes_since(before, days, now.batches, plan.names, plan.foods)
    return [one.said for one in changed]


class PlanAgain(NamedTuple):
    """What is asked of a plan that is planned again: as it is stored then, and with all ids resolved."""

    asked: PlanWithIds
    resolved: PlanRequest


def plan_to_plan_again(
    connection: Connection, household: UUID, plan_id: str, matches: Matches, today: date
) -> PlanAgain:
    """What is asked now: with the school's meals of by now; what is locked stays, and so does what is past."""
    record = show_record(connection, PLANS, household, plan_id)
    matches(record.version)
    kept = KeptPlan.model_validate(record.body, strict=False)
    menus = {one.date: one for one in kept.asked.school_meals}
    for one in school_days_between(connection, household, min(kept.asked.days), max(kept.asked.days)):
        if one.menu is not None:
            menus[one.date] = SchoolMeal(date=one.date, menu=one.menu)
    asked = kept.asked.model_copy(update={"school_meals": [menus[day] for day in sorted(menus)]})
    past = PlanLocks(
        days=[one.day for one in kept.decisions.days if one.day < today],
        batches=[
            LockedBatch(food=one.food, made_on=one.made_on) for one in kept.decisions.batches if one.made_on < today
        ],
    )
    locked = locks_that_hold(kept.model_copy(update={"locked": locks_together(kept.locked, past)}))
    more = {"before": kept.decisions, "locked": locked}
    return PlanAgain(asked, with_ids_resolved(connection, household, asked.model_copy(update=more)))


def keep_planned_again(
    connection: Connection, household: UUID, plan_id: str, matches: Matches, asked: PlanWithIds, reply: Reply
) -> Kept:
    """Store what was decided anew, if the plan is still the one that it was made from."""
    record = show_record(connection, PLANS, household, plan_id)
    matches(record.version)
    kept = KeptPlan.model_validate(record.body, strict=False).model_copy(update={"asked": asked})
    return edited(connection, PLANS, household, record, planned_again(kept, reply), None)


def _name(connection: Connection, household: UUID, place: int, child: Any) -> str:
    """As a plan calls a child: its nickname, else its place."""
    if isinstance(child, str):
        record = find(connection, CHILD, household, UUID(child))
        return f"child {place}" if record is None else str(record.body["nickname"])
    return child.nickname or f"child {place}"


def _planned_day(one: DecidedDay, names: list[str]) -> PlannedDay:
    lunches = {
        names[lunch.child]: Lunch(tuple((item.group, item.item) for item in lunch.items))
        for lunch in one.lunches
        if lunch.child < len(names)
    }
    return PlannedDay(one.day, one.offer, lunches, tuple(names[place] for place in one.buyers if place < len(names)))
