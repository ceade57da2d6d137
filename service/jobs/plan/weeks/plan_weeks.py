"""A plan of one to four weeks: what stands on which day or what each child is given, who buys, what is made, frozen and moved."""

from collections.abc import Callable, Mapping
from datetime import date
from fractions import Fraction
from typing import Any

from service.domain.counting.masks import Tick
from service.domain.plan.batches import LotAtHand
from service.domain.plan.planned import PlannedDay
from service.jobs.plan.weeks.buying import Buys, lunch_cost, who_buys
from service.jobs.plan.weeks.lunches import needs_of_lunches, plan_lunches
from service.jobs.plan.weeks.made import plan_of
from service.jobs.plan.weeks.needs import needs_of_offers
from service.jobs.plan.weeks.reply import plan_reply
from service.jobs.plan.weeks.requests import PlanRequest
from service.jobs.plan.weeks.resolve import ResolvedPlan, resolve_plan
from service.planning.days_model import OfferOfPlan, stand_offers
from service.planning.solver import Progress

Told = Callable[[Progress], bool]


def plan_weeks(asked: PlanRequest, tick: Tick | None = None, told: Told | None = None) -> dict[str, Any]:
    """Make a plan, or plan again with as few changes as can be.

    Parameters
    ----------
    tick: called now and then, may raise to stop. told: the progress of the search for lunches; True stops it, and what was
    found by then is kept.

    Raises ``LunchError`` for what does not fit, all faults together.
    """
    made = resolve_plan(asked, tick)
    before = {} if asked.before is None else {one.day: one for one in asked.before.days}
    locked = [day for day in asked.locked.days if day in made.days]
    bought = {day: one.buyers for day, one in before.items()}
    if asked.way == "offers":
        stands = _stands(asked, made, {day: one.offer for day, one in before.items() if one.offer is not None}, locked)
        buys = who_buys(asked, made, stands, bought, locked)
        days = [PlannedDay(day, stands[day], {}, _names(made, buys, day)) for day in made.days]
        plan = plan_of(asked, made, days, needs_of_offers(asked, made, days, tick))
        return plan_reply(asked, made, plan, buys, None, tick)
    buys = who_buys(asked, made, dict.fromkeys(made.days), bought, locked)
    given = plan_lunches(asked, made, buys.buyers, tick, told)
    days = [PlannedDay(day, None, given.lunches.get(day, {}), _names(made, buys, day)) for day in made.days]
    plan = plan_of(asked, made, days, needs_of_lunches(made, asked.offers[0].id, days))
    return plan_reply(asked, made, plan, buys, given, tick)


def _names(made: ResolvedPlan, buys: Buys, day: date) -> tuple[str, ...]:
    return tuple(made.names[place] for place in buys.buyers[day])


def _stands(
    asked: PlanRequest, made: ResolvedPlan, before: Mapping[date, str], locked: list[date]
) -> dict[date, str | None]:
    """The offer of each day."""
    places = {day: place for place, day in enumerate(made.days)}
    settled = {places[day]: before[day] for day in locked if day in before}
    settled |= {places[one.day]: one.offer for one in asked.stands}
    costs = {offer: lunch_cost(made, offer) for offer in made.offers}
    dearest = max((cost for cost in costs.values() if cost is not None), default=Fraction(0)) or Fraction(1)
    ending = [one for one in made.lots if one.use_by is not None and one.use_by <= made.days[-1]]
    offers = [
        OfferOfPlan(
            offer,
            float((costs[offer] or Fraction(0)) / dearest),
            [_urgent(made, offer, ending, day) for day in made.days],
            [sum((place, day) not in made.away for place in made.nothing_in[offer]) for day in made.days],
        )
        for offer in made.offers
    ]
    was = {places[day]: offer for day, offer in before.items() if day in places and offer in made.offers}
    found = stand_offers(offers, len(made.days), asked.no_repeat_days, settled, was)
    return dict(zip(made.days, found, strict=True))


def _urgent(made: ResolvedPlan, offer: str, ending: list[LotAtHand], day: date) -> float:
    """The share of the lots that end within the plan which an offer can still use on a day."""
    foods = {food for (of, _group, _key), food in made.key_of.items() if of == offer}
    mine = [one for one in ending if one.food in foods and one.use_by is not None and day <= one.use_by]
    return len(mine) / len(ending) if ending else 0.0
