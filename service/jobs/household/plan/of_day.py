"""What the stored plans say of one day: dishes to make, and what to move from the freezer in the evening."""

from collections.abc import Sequence
from datetime import date
from typing import Any
from uuid import UUID

from service.domain.messages import message
from service.jobs.household.requests import KeptPlan
from service.jobs.household.stock.known_foods import KnownFoods
from service.reference.messages import say
from service.store.household.kinds import PLAN
from service.store.household.records import Connection, Record, page

MOST_PLANS = 500
Reply = dict[str, Any]


def stored_plans(connection: Connection, household: UUID) -> list[Record]:
    """All plans in the order they were made."""
    return page(connection, PLAN, household, None, MOST_PLANS)


def plans_of_day(connection: Connection, household: UUID, plans: Sequence[Record], on: date) -> Reply:
    """``prep``: plans of which dishes are made on the day: id, number of batches and of dishes. ``tonight``: food and sentence each."""
    foods = KnownFoods(connection, household)
    prep: list[Reply] = []
    tonight: dict[tuple[str, date], Reply] = {}
    for record in plans:
        kept = KeptPlan.model_validate(record.body, strict=False)
        made = [one for one in kept.decisions.batches if one.made_on == on]
        if made:
            batches = sum(one.batches for one in made)
            prep.append({"id": str(record.id), "batches": batches, "dishes": [foods.name(one.food) for one in made]})
        for one in kept.found.moves:
            if one.evening == on:
                said = message(
                    "plan.move",
                    evening=on.isoformat(),
                    name=foods.name(one.food),
                    portions=one.portions,
                    day=one.for_day.isoformat(),
                )
                tonight[(one.food, one.for_day)] = {"id": str(record.id), "food": one.food, "sentence": say(said)}
    return {"prep": prep, "tonight": list(tonight.values())}
