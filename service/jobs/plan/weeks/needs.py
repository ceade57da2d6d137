"""How much of each food must be there by the morning of each day: what is enough until the next prep day, day after day."""

from collections.abc import Mapping, Sequence
from datetime import date
from fractions import Fraction

from service.domain.counting.masks import Tick
from service.domain.offers.offer import ChoiceGroup
from service.domain.plan.planned import Need, PlannedDay
from service.domain.plan.portions.enough import Eater
from service.domain.plan.portions.usual import Shares
from service.domain.plan.portions.usual_portions import usual_portions
from service.jobs.plan.eaters import eater_of, largest_of
from service.jobs.plan.how_readily import how_readily, shares_of
from service.jobs.plan.weeks.requests import PlanRequest
from service.jobs.plan.weeks.resolve import ResolvedPlan
from service.planning.enough_model import guaranteed

Portions = Mapping[str, int]
Known = dict[tuple[str, str, int, tuple[Eater, ...]], list[Portions]]
OF_EACH = 1
"""Fewest portions of each item on the first day of an offer between two prep days, so that there is a choice; ours."""


def runs_of(days: Sequence[PlannedDay], prep_days: Sequence[date]) -> list[tuple[str, list[PlannedDay]]]:
    """The days of each offer between two prep days, in order."""
    runs: dict[tuple[int, str], list[PlannedDay]] = {}
    for one in days:
        if one.offer is not None:
            before = sum(prep < one.day for prep in prep_days)
            runs.setdefault((before, one.offer), []).append(one)
    return [(offer, some) for (_before, offer), some in runs.items()]


def needs_of_offers(
    asked: PlanRequest, made: ResolvedPlan, days: Sequence[PlannedDay], tick: Tick | None = None
) -> list[Need]:
    """What must be there by the morning of each day, besides what is there for the days before it.

    ``tick``: called for each group, may raise to stop. Between two prep days the days of an offer are looked at together:
    what nobody takes on one day is there on the next. A child that can take nothing of a group is left aside there.
    """
    amounts: dict[tuple[date, str], int] = {}
    known: Known = {}
    for offer, run in runs_of(days, made.prep_days):
        whole = made.offers[offer][0].whole
        eating = [
            child
            for place, child in enumerate(made.offers[offer])
            if any((place, one.day) not in made.away and made.names[place] not in one.buyers for one in run)
        ]
        largest = largest_of(eating or made.offers[offer])
        for group in whole.groups:
            if tick is not None:
                tick()
            for one, portions in zip(run, _by_day(asked, made, offer, group, run, known), strict=True):
                for item, number in portions.items():
                    key = (one.day, made.key_of[(offer, group.id, item)])
                    amounts[key] = amounts.get(key, 0) + number * largest[(group.id, item)].amount_mg
    return [
        Need(food, amount, made.foods[food].portion_mg, day)
        for (day, food), amount in sorted(amounts.items())
        if amount
    ]


def _by_day(
    asked: PlanRequest,
    made: ResolvedPlan,
    offer: str,
    group: ChoiceGroup,
    run: Sequence[PlannedDay],
    known: Known,
) -> list[Portions]:
    """Portions of each item by day of a run: those to be there more than on the day before."""
    eaters, taken_before = [], []
    for place, child in enumerate(made.offers[offer]):
        name = made.names[place]
        mornings = frozenset(
            number for number, one in enumerate(run) if (place, one.day) not in made.away and name not in one.buyers
        )
        one = eater_of(child, name, group, mornings)
        if mornings and one.may_take and (one.repeats or len(one.may_take) >= one.least):
            eaters.append(one)
            taken_before.append(asked.taken_before[place] if asked.taken_before else ())
    if not eaters:
        return [{} for _day in run]
    key = (offer, group.id, len(run), tuple(eaters))
    if key not in known:
        prices = {
            item: made.costs[made.key_of[(offer, group.id, item)]] if made.all_priced else Fraction(1)
            for item in group.items
            if any(item in one.may_take for one in eaters)
        }
        if asked.amounts == "usual":
            food_of = {item: made.key_of[(offer, group.id, item)] for item in prices}
            shares = shares_of(how_readily(eaters, food_of, taken_before))
            known[key] = _spread_usual(asked, eaters, prices, len(run), shares)
        else:
            known[key] = _spread_always(eaters, prices, len(run))
    return known[key]


def _spread_always(eaters: Sequence[Eater], prices: Mapping[str, Fraction], days: int) -> list[Portions]:
    """By the morning of each day so many that nobody can be left short up to that day."""
    found: list[Portions] = []
    there: dict[str, int] = dict.fromkeys(prices, 0)
    for day in range(days):
        so_far = [one._replace(mornings=frozenset(n for n in one.mornings if n <= day)) for one in eaters]
        so_far = [one for one in so_far if one.mornings]
        floor = there if any(there.values()) else dict.fromkeys(prices, OF_EACH)
        then = dict(guaranteed(so_far, prices, floor).portions) if so_far else there
        found.append({item: then[item] - there[item] for item in prices})
        there = then
    return found


def _spread_usual(
    asked: PlanRequest, eaters: Sequence[Eater], prices: Mapping[str, Fraction], days: int, shares: Shares
) -> list[Portions]:
    """What is usually enough for all days together, so many of it each day that as much is there as days have begun."""
    floor = dict.fromkeys(prices, OF_EACH)
    always = guaranteed(eaters, prices, floor)
    usual = usual_portions(eaters, [always.portions], prices, asked.chance, shares, floor)
    found: list[Portions] = []
    for day in range(days):
        until = {item: -(-number * (day + 1) // days) for item, number in usual.portions.items()}
        before = {item: -(-number * day // days) for item, number in usual.portions.items()}
        found.append({item: until[item] - before[item] for item in until})
    return found
