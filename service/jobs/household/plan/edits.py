"""Small changes of a stored plan: a day without school, a child that buys or is away, and what stays as it is."""

from collections.abc import Callable, Mapping, Sequence
from datetime import date
from typing import Any, Literal
from uuid import UUID

from service.jobs.household.days.school_menu import change_school_day
from service.jobs.household.kinds import PLANS
from service.jobs.household.plan.plans import locks_that_hold
from service.jobs.household.plan.wanted import prep_days_for
from service.jobs.household.records import Kept, Matches, edited, show_record
from service.jobs.household.requests import KeptPlan
from service.jobs.plan.weeks.requests import Buying, LockedBatch, PlanWithIds
from service.jobs.requests.fields import is_kept_id
from service.jobs.weeks.requests import week_of
from service.store.household.records import Connection

Choice = Literal["planned", "buys", "packed", "away"]
CHOICES: tuple[Choice, ...] = ("planned", "buys", "packed", "away")
"""What can be said of a child's day: as planned, it buys, it takes its lunch from home, it is not at school."""


def change_plan(
    connection: Connection, household: UUID, plan_id: str, matches: Matches, change: Callable[[KeptPlan], KeptPlan]
) -> Kept:
    """Store a plan as it is after a change; ``matches`` raises for another version than the one that was looked at."""
    record = show_record(connection, PLANS, household, plan_id)
    matches(record.version)
    made = change(KeptPlan.model_validate(record.body, strict=False))
    return edited(connection, PLANS, household, record, made.model_copy(update={"locked": locks_that_hold(made)}), None)


def lock_day(kept: KeptPlan, day: date, *, stays: bool) -> KeptPlan:
    """A plan of which a day stays as it is, or not any more."""
    days = [one for one in kept.locked.days if one != day] + ([day] if stays else [])
    return kept.model_copy(update={"locked": kept.locked.model_copy(update={"days": days})})


def lock_batch(kept: KeptPlan, food: str, made_on: date, *, stays: bool) -> KeptPlan:
    """A plan of which what is made of a dish on a prep day stays as it is, or not any more."""
    one = LockedBatch(food=food, made_on=made_on)
    batches = [each for each in kept.locked.batches if each != one] + ([one] if stays else [])
    return kept.model_copy(update={"locked": kept.locked.model_copy(update={"batches": batches})})


def choice_of(asked: PlanWithIds, child: int, day: date) -> Choice:
    """What is said of a child's day."""
    if any(one.child == child and day in one.days for one in asked.not_there):
        return "away"
    for one in asked.buying:
        if one.child == child:
            return "buys" if day in one.wishes else "packed" if day in one.not_on else "planned"
    return "planned"


def change_day(kept: KeptPlan, day: date, choices: Mapping[int, Choice], *, school: bool) -> KeptPlan:
    """A plan with another day: whether there is school, and what is said of each child, by its place.

    A day that is changed does not stay as it was any more. ``ValidationError`` where no school day would be left.
    """
    asked = kept.asked
    if school == (day in asked.days) and all(choice_of(asked, child, day) == one for child, one in choices.items()):
        return kept
    days = [one for one in asked.days if one != day] + ([day] if school else [])
    away: dict[int, set[date]] = {child: set() for child in range(len(asked.children))}
    for one in asked.not_there:
        away[one.child] |= {each for each in one.days if each in days}
    buying = {one.child: one for one in asked.buying}
    for child, choice in choices.items() if school else ():
        away[child] = away[child] - {day} | ({day} if choice == "away" else set())
        if child in buying or choice == "buys":
            buying[child] = _buying(buying.get(child) or Buying(child=child, most_a_week=0), day, choice)
    parts: dict[str, Any] = {
        "days": sorted(days),
        "stands": [one.model_dump() for one in asked.stands if one.day in days],
        "not_there": [{"child": child, "days": sorted(some)} for child, some in away.items() if some],
        "buying": [buying[child].model_dump() for child in sorted(buying)],
    }
    whole = PlanWithIds.model_validate({**asked.model_dump(by_alias=True), **parts}, strict=False)
    return lock_day(kept.model_copy(update={"asked": whole}), day, stays=False)


def change_prep_days(kept: KeptPlan, prep_on: Sequence[int], today: date) -> KeptPlan:
    """A plan with other prep days, given as days of the week; those that are past stay."""
    past = [day for day in kept.asked.prep_days if day < today]
    days = [*past, *prep_days_for(kept.asked.days, prep_on, today)]
    return kept.model_copy(update={"asked": kept.asked.model_copy(update={"prep_days": days})})


def set_out_plan(connection: Connection, household: UUID, plan_id: str, matches: Matches, today: date) -> Kept:
    """Set out what a plan decided on its days from today on, and who buys; the plan says from then on that it is.

    Only stored offers are set out, and only stored children buy; the school's meals stay as they are. ``matches``: raises for
    another version than the one that was looked at.
    """
    record = show_record(connection, PLANS, household, plan_id)
    matches(record.version)
    kept = KeptPlan.model_validate(record.body, strict=False)
    offers = {one.id: one.offer for one in kept.asked.offers if isinstance(one.offer, str)}
    for one in kept.decisions.days:
        if one.day < today or one.day not in kept.asked.days or one.offer not in offers:
            continue
        children = [kept.asked.children[place] for place in one.buyers if place < len(kept.asked.children)]
        buys = [child for child in children if isinstance(child, str) and is_kept_id(child)]
        change_school_day(connection, household, one.day, {"offer": offers[one.offer], "buys": buys})
    return edited(connection, PLANS, household, record, kept.model_copy(update={"set_out_on": today}), None)


def _buying(one: Buying, day: date, choice: Choice) -> Buying:
    wishes = sorted({each for each in one.wishes if each != day} | ({day} if choice == "buys" else set()))
    not_on = sorted({each for each in one.not_on if each != day} | ({day} if choice == "packed" else set()))
    in_week = sum(week_of(each) == week_of(day) for each in wishes)
    most = max(one.most_a_week, in_week) if choice == "buys" else one.most_a_week
    return Buying(child=one.child, most_a_week=most, wishes=wishes, not_on=not_on)
