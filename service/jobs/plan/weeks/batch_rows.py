"""Says what of a plan is made in batches and what is moved, each with until when it keeps."""

from collections.abc import Mapping
from typing import Any

from service.domain.messages import Value, message
from service.domain.plan.batches import FREEZER, FRIDGE
from service.domain.plan.planned import Batch, Move
from service.domain.stock.keeping import UseBy
from service.jobs.plan.weeks.keeping import moved_use_by
from service.jobs.plan.weeks.requests import PlanRequest
from service.jobs.plan.weeks.resolve import ResolvedPlan
from service.reference.messages import worded, worded_as

Reply = dict[str, Any]


def batch_row(asked: PlanRequest, made: ResolvedPlan, one: Batch, names: Mapping[str, str]) -> Reply:
    """A batch of a prep day, and until when it keeps where it goes."""
    said: dict[str, Value] = {
        "day": one.made_on.isoformat(),
        "name": names[one.food],
        "batches": float(one.batches),
        "unit": "batch",
        "portions": float(one.portions),
        "freezer": float(one.to_freezer),
        "fridge": float(one.to_fridge),
    }
    if not one.to_freezer:
        sentence = message("plan.batch-fridge", **said)
    elif not one.to_fridge:
        sentence = message("plan.batch-freezer", **said)
    else:
        sentence = message("plan.batch", **said)
    return {
        "food": one.food,
        "name": names[one.food],
        "made_on": one.made_on.isoformat(),
        "batches": float(one.batches),
        "portions": float(one.portions),
        "to_freezer": float(one.to_freezer),
        "to_fridge": float(one.to_fridge),
        "keeps": [
            {"place": place, **_kept(made.keeping[one.food].use_by(place, one.made_on))}
            for place, portions in ((FRIDGE, one.to_fridge), (FREEZER, one.to_freezer))
            if portions
        ],
        "minutes": batch_minutes(made, one),
        "locked": any((each.food, each.made_on) == (one.food, one.made_on) for each in asked.locked.batches),
        **worded(sentence),
    }


def batch_minutes(made: ResolvedPlan, one: Batch) -> int | None:
    """Whole minutes that making it takes; None: not known."""
    minutes = made.keeping[one.food].asked.minutes
    return None if minutes is None else round(minutes * one.batches)


def move_row(made: ResolvedPlan, one: Move, names: Mapping[str, str]) -> Reply:
    """What is moved from the freezer to the fridge on an evening."""
    return {
        "evening": one.evening.isoformat(),
        "food": one.food,
        "name": names[one.food],
        "portions": one.portions,
        "for_day": one.for_day.isoformat(),
        **_kept(_thawed(made, one)),
        **worded(
            message(
                "plan.move",
                evening=one.evening.isoformat(),
                name=names[one.food],
                portions=one.portions,
                day=one.for_day.isoformat(),
            )
        ),
    }


def _thawed(made: ResolvedPlan, move: Move) -> UseBy:
    """Until when what is moved from the freezer keeps."""
    return moved_use_by(
        made.keeping.get(move.food), made.foods[move.food].food, move.evening, move.days_before, made.rules
    )


def _kept(kept: UseBy) -> Reply:
    return {
        "use_by": None if kept.day is None else kept.day.isoformat(),
        "quality_only": kept.quality,
        **worded_as("use_by_rule", kept.rule),
    }
