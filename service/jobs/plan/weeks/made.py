"""What a plan comes to once its days are settled: what the stock gives, what is made when, and what is moved."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date
from fractions import Fraction
from typing import NamedTuple

from service.domain.plan.batches import made_of, moves_together, use_stock
from service.domain.plan.planned import Batch, Move, Need, Plan, PlannedDay, Short
from service.jobs.plan.weeks.requests import PlanRequest
from service.jobs.plan.weeks.resolve import ResolvedPlan
from service.planning.batches_model import find_batches


class BatchesBefore(NamedTuple):
    """Batches in the plan before, by prep day, and those of them that stay."""

    batches: Mapping[date, Fraction]
    locked: Mapping[date, Fraction]


def plan_of(asked: PlanRequest, made: ResolvedPlan, days: Sequence[PlannedDay], needs: Sequence[Need]) -> Plan:
    """The whole plan of some days and what is needed on them."""
    used = use_stock(needs, made.lots, made.dishes, made.frozen)
    batches: list[Batch] = []
    moves: list[Move] = list(used.moves)
    short: list[Short] = []
    left_over: dict[str, Fraction] = {}
    thrown: dict[str, Fraction] = {}
    for food, dish in made.dishes.items():
        portions: dict[date, int] = defaultdict(int)
        for need in used.left:
            if need.food == food:
                portions[need.by_day] += need.portions
        was = batches_before(asked, food)
        found = find_batches(dish, portions, made.prep_days, was.batches, was.locked, again=asked.before is not None)
        one = made_of(dish, portions, found.batches, found.flows)
        batches += one.batches
        moves += one.moves
        short += one.short
        left_over[food] = one.left_over
        thrown[food] = one.thrown
    return Plan(
        days,
        needs,
        sorted(batches, key=lambda one: (one.made_on, one.food)),
        moves_together(moves),
        used.taken,
        sorted(short, key=lambda one: (one.by_day, one.food)),
        {food: number for food, number in left_over.items() if number},
        {food: number for food, number in thrown.items() if number},
    )


def batches_before(asked: PlanRequest, food: str) -> BatchesBefore:
    """What was decided of a dish before."""
    if asked.before is None:
        return BatchesBefore({}, {})
    were = {one.made_on: Fraction(one.batches) for one in asked.before.batches if one.food == food}
    stay = {one.made_on for one in asked.locked.batches if one.food == food}
    return BatchesBefore(were, {day: number for day, number in were.items() if day in stay})
