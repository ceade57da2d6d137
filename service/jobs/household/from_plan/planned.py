"""A stored plan as it was decided: its days, batches, moves and needs, worked out again from its decisions."""

import hashlib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from functools import lru_cache
from typing import Any, NamedTuple
from uuid import UUID

from service.jobs.household.kinds import PLANS
from service.jobs.household.records import show_record
from service.jobs.household.requests import KeptPlan
from service.jobs.household.stock.entries import today
from service.jobs.household.stored.stored_ids import with_ids_resolved
from service.jobs.offers.requests import OfferedItem
from service.jobs.plan.kitchen.requests import KitchenWithIds
from service.jobs.plan.weeks.requests import LockedBatch, PlanDecisions, PlanLocks, PlanRequest
from service.jobs.requests.fields import is_kept_id
from service.jobs.requests.foods import AnyFood
from service.reference.foods.catalogue import find_food
from service.store.household.kinds import PLAN
from service.store.household.records import Connection, Record, page

Reply = dict[str, Any]
A_DAY = timedelta(days=1)
MOST_PLANS = 200
REMEMBERED = 16
"""Plans whose working out is remembered; a page that is looked at again costs nothing then."""


@dataclass(frozen=True)
class StoredPlan:
    """A stored plan with the ids in it resolved. ``key``: another one whenever anything that it follows from changes.

    ``earlier``: the plans that are not over and come before it: they have first what is at home; ``later``: ids of those after it,
    which keep what came home for them.
    """

    id: str
    name: str | None
    key: str
    kept: KeptPlan = field(compare=False)
    asked: PlanRequest = field(compare=False)
    earlier: "tuple[StoredPlan, ...]" = field(default=(), compare=False)
    later: frozenset[str] = field(default=frozenset(), compare=False)

    def reply(self) -> Reply:
        """What was decided, with what is made, moved and needed; raises ``LunchError`` where the plan fits no more."""
        return _worked_out(self)

    def days(self) -> tuple[date, date]:
        """The first and the last day of it; prep days count."""
        every = [*self.asked.days, *self.asked.prep_days]
        return min(every), max(every)

    def foods(self) -> Mapping[str, OfferedItem]:
        """The first item of each food, by what the plan calls the food."""
        from service.jobs.plan.weeks.resolve import food_key_of  # it loads numpy

        found: dict[str, OfferedItem] = {}
        for one in self.asked.offers:
            for group in one.offer.groups:
                for item in group.items:
                    found.setdefault(food_key_of(item.food), item)
        return found

    def kitchen(self) -> dict[str, Any]:
        """What every sheet of the plan shares: the children as they are stored, the school's bans, packets and regions.

        A child of the request that is not stored brings what it avoids.
        """
        shared = {name: getattr(self.kept.asked, name) for name in KitchenWithIds.model_fields if name != "children"}
        children = [
            one if isinstance(one, str) else {"nickname": one.nickname or f"child {place}", "avoids": one.avoids}
            for place, one in enumerate(self.kept.asked.children, 1)
        ]
        return {**shared, "children": children}


class PlanName(NamedTuple):
    """A stored plan in a list: its id, its name, and first and last day."""

    id: str
    name: str | None
    first: date
    last: date


def plan_stored(connection: Connection, household: UUID, plan_id: str) -> StoredPlan:
    """The plan; ``NotThere`` if this household has none of that id, or where something that it names is gone."""
    record = show_record(connection, PLANS, household, plan_id)
    plan = _read(connection, household, record)
    first_day = min(plan.asked.days)
    later = _later(_open_plans(connection, household), (first_day, record.id))
    return replace(plan, later=later, earlier=plans_before(connection, household, first_day, record.id))


def plans_before(
    connection: Connection, household: UUID, first_day: date, plan_id: UUID | None = None
) -> tuple[StoredPlan, ...]:
    """The plans that are not over and whose first school day comes before that of another, of the same first day those stored before it.

    ``plan_id``: the other plan; None: it is not stored yet.
    """
    every = _open_plans(connection, household)
    return tuple(
        replace(_read(connection, household, record), later=_later(every, (first, record.id)) | {str(plan_id)})
        for first, record in every
        if first < first_day or (first == first_day and (plan_id is None or record.id < plan_id))
    )


def plans_after(connection: Connection, household: UUID, first_day: date) -> frozenset[str]:
    """The ids of the plans that are not over and begin after a day: what came home for them is theirs."""
    return frozenset(str(one.id) for first, one in _open_plans(connection, household) if first > first_day)


def _open_plans(connection: Connection, household: UUID) -> list[tuple[date, Record]]:
    """The plans whose last school day is not past, with the first, in the order in which they have what is at home."""
    found = []
    for one in _records(connection, household):
        days = [date.fromisoformat(day) for day in one.body["asked"]["days"]]
        if max(days) >= today():
            found.append((min(days), one))
    return sorted(found, key=lambda row: (row[0], row[1].id))


def _later(every: Iterable[tuple[date, Record]], plan: tuple[date, UUID]) -> frozenset[str]:
    return frozenset(str(one.id) for first, one in every if (first, one.id) > plan)


def plans_named(connection: Connection, household: UUID) -> list[PlanName]:
    """All stored plans, the newest first."""
    found = [(one.id, KeptPlan.model_validate(one.body, strict=False)) for one in _records(connection, household)]
    names = []
    for plan_id, kept in found:
        every = [*kept.asked.days, *kept.asked.prep_days]
        names.append(PlanName(str(plan_id), kept.name, min(every), max(every)))
    return names


def plan_of_day(connection: Connection, household: UUID, on: date) -> StoredPlan | None:
    """The newest plan that covers a day; where none does, the next to begin; None where there is neither."""
    names = plans_named(connection, household)
    now = [one for one in names if one.first <= on <= one.last]
    later = sorted((one for one in names if one.first > on), key=lambda one: one.first)
    chosen = next(iter([*now, *later]), None)
    return None if chosen is None else plan_stored(connection, household, chosen.id)


def can_be_stock(food: str) -> bool:
    """Whether a food that a plan names can be an entry of the stock: one of the tables, or one that is stored."""
    return is_kept_id(food) or find_food(food) is not None


def food_sent(plan: StoredPlan, food: str) -> AnyFood:
    """A food of the plan as its request names it: an id where there is one."""
    return food if can_be_stock(food) else plan.foods()[food].food


def _records(connection: Connection, household: UUID) -> Iterator[Record]:
    yield from reversed(page(connection, PLAN, household, None, MOST_PLANS))


def _read(connection: Connection, household: UUID, record: Record) -> StoredPlan:
    kept = KeptPlan.model_validate(record.body, strict=False)
    asked = with_ids_resolved(connection, household, kept.asked)
    settled = asked.model_copy(update={"before": kept.decisions, "locked": _all_of(kept.decisions, asked)})
    key = hashlib.sha256(settled.model_dump_json(warnings=False).encode()).hexdigest()
    return StoredPlan(str(record.id), kept.name, key, kept, settled)


def _all_of(decisions: PlanDecisions, asked: PlanRequest) -> PlanLocks:
    """Locks on all that was decided and still is asked, so that nothing is decided anew."""
    offers, dishes = {one.id for one in asked.offers}, {one.food for one in asked.dishes}
    days = [one.day for one in decisions.days if one.day in asked.days and one.offer in (None, *offers)]
    batches = [LockedBatch(food=one.food, made_on=one.made_on) for one in decisions.batches if one.food in dishes]
    return PlanLocks(days=days, batches=batches)


@lru_cache(maxsize=REMEMBERED)
def _worked_out(plan: StoredPlan) -> Reply:
    from service.jobs.plan.weeks.plan_weeks import plan_weeks  # it loads numpy and the solver

    return plan_weeks(plan.asked)
