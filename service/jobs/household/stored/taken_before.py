"""What stored children took from the household's offers before a day, as far as their lunches were logged."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Any

from service.domain.plan.portions.learned import TakenLunch
from service.jobs.household.stored.kept_things import KeptThings
from service.jobs.requests.fields import is_kept_id
from service.store.household.kinds import OFFER

MOST_SCHOOL_DAYS = 60
"""Logged days that are looked back at: some three months of school, since tastes change; a choice of ours."""


def taken_before(kept: KeptThings, children: Sequence[object], day: date) -> list[list[TakenLunch]]:
    """For each child of a request the lunches that it took from an offer; none for a child that was sent along."""
    return [_taken(kept, one, day) if isinstance(one, str) and is_kept_id(one) else [] for one in children]


def _taken(kept: KeptThings, child: str, day: date) -> list[TakenLunch]:
    """An offer counts as it is stored now; what was taken was on offer in any case."""
    found = []
    for body in kept.lunches_before(child, day, MOST_SCHOOL_DAYS):
        if body["offer"] is None:
            continue
        groups = kept.body(OFFER, body["offer"], "/offer")["groups"]
        taken = _foods(body["items"])
        found.append(TakenLunch(_foods(item for group in groups for item in group["items"]) | taken, taken))
    return found


def _foods(items: Iterable[Mapping[str, Any]]) -> frozenset[str]:
    foods = [item["food"] for item in items]
    return frozenset(food if isinstance(food, str) else food.get("id") or food["name"] for food in foods)
