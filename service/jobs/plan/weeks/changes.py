"""What is other in a plan than in the one before, day by day, as codes and their values."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import NamedTuple

from service.domain.messages import Message, message
from service.domain.plan.planned import Batch, Lunch, PlannedDay
from service.jobs.plan.weeks.requests import DecidedBatch, DecidedDay, PlanDecisions


class Changed(NamedTuple):
    """One thing that is other than before, and what it is about."""

    day: date
    food: str | None
    said: Message


def changes_since(
    before: PlanDecisions,
    days: Sequence[PlannedDay],
    batches: Sequence[Batch] | Sequence[DecidedBatch],
    names: Sequence[str],
    foods: Mapping[str, str],
) -> list[Changed]:
    """What is other, in the order of the days. ``names``: of the children; ``foods``: of the dishes, by food key."""
    found = [*_of_days(before, days, names), *_of_batches(before, batches, foods)]
    return sorted(found, key=lambda one: one.day)


def _of_days(before: PlanDecisions, days: Sequence[PlannedDay], names: Sequence[str]) -> Iterator[Changed]:
    were = {one.day: one for one in before.days}
    now = {one.day: one for one in days}
    for day in sorted(were.keys() - now.keys()):
        yield Changed(day, None, message("plan-change.day-gone", day=day.isoformat()))
    for day, one in sorted(now.items()):
        was = were.get(day)
        if was is None:
            yield Changed(day, None, message("plan-change.day-new", day=day.isoformat()))
            continue
        if was.offer != one.offer:
            before_, after = was.offer or "-", one.offer or "-"
            said = message("plan-change.offer", day=day.isoformat(), before=before_, after=after)
            yield Changed(day, None, said)
        yield from _of_buyers(was, one, names)
        yield from _of_lunches(was, one, names)


def _of_buyers(was: DecidedDay, one: PlannedDay, names: Sequence[str]) -> Iterator[Changed]:
    bought = [names[place] for place in was.buyers if place < len(names)]
    more = [name for name in one.buyers if name not in bought]
    less = [name for name in bought if name not in one.buyers]
    if more:
        yield Changed(one.day, None, message("plan-change.buys", day=one.day.isoformat(), names=more, n=len(more)))
    if less:
        yield Changed(
            one.day, None, message("plan-change.buys-no-more", day=one.day.isoformat(), names=less, n=len(less))
        )


def _of_lunches(was: DecidedDay, one: PlannedDay, names: Sequence[str]) -> Iterator[Changed]:
    had = {
        names[lunch.child]: Lunch(tuple(sorted((item.group, item.item) for item in lunch.items)))
        for lunch in was.lunches
        if lunch.child < len(names)
    }
    for name in names:
        before, after = had.get(name), one.lunches.get(name)
        if after is not None and before != Lunch(tuple(sorted(after.items))):
            yield Changed(one.day, None, message("plan-change.lunch", day=one.day.isoformat(), name=name))
        if after is None and before is not None and one.offer is None and name not in one.buyers:
            yield Changed(one.day, None, message("plan-change.lunch-gone", day=one.day.isoformat(), name=name))


def _of_batches(
    before: PlanDecisions, batches: Sequence[Batch] | Sequence[DecidedBatch], foods: Mapping[str, str]
) -> Iterator[Changed]:
    were = {(one.made_on, one.food): one.batches for one in before.batches}
    now = {(one.made_on, one.food): float(one.batches) for one in batches}
    for made_on, food in sorted(were.keys() | now.keys()):
        was, is_ = were.get((made_on, food), 0.0), now.get((made_on, food), 0.0)
        if was != is_:
            said = message(
                "plan-change.batches",
                day=made_on.isoformat(),
                food=foods.get(food, food),
                before=was,
                after=is_,
                unit="batch",
            )
            yield Changed(made_on, food, said)
