"""How good a plan is, in figures and sentences: right lunches, variety, cost against buying, what is thrown away, minutes."""

from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import Any, NamedTuple

from service.domain.counting.masks import Tick
from service.domain.messages import Message, Value, message
from service.domain.plan.planned import Plan
from service.domain.weeks.cost import bought_cost, rounded
from service.jobs.offers.audit_offer import audit_offer
from service.jobs.offers.requests import OfferAuditRequest, SampleSize
from service.jobs.plan.weeks.batch_rows import batch_minutes
from service.jobs.plan.weeks.lunches import GivenLunches
from service.jobs.plan.weeks.requests import PlanRequest
from service.jobs.plan.weeks.resolve import ResolvedPlan
from service.jobs.weeks.cost_rows import decimals_of
from service.reference.messages import listed_as

Reply = dict[str, Any]


class _Counted(NamedTuple):
    """How many lunches are right, how many once the packets are read, and how many there are."""

    right: int
    once_read: int
    lunches: int


def plan_score(
    asked: PlanRequest,
    made: ResolvedPlan,
    plan: Plan,
    days: Sequence[Reply],
    given: GivenLunches | None,
    tick: Tick | None,
) -> Reply:
    """The score of a plan. ``days``: as the reply has them; ``given``: the lunches given out, None where offers stand."""
    if given is None:
        counted = _right_of_offers(asked, made, plan, tick)
        different = len({one.offer for one in plan.days})
    else:
        some = [lunch for day in days for lunch in day["lunches"] if lunch["verdict"]]
        right = sum(one["verdict"] == "pack" for one in some)
        to_read = sum(one["verdict"] == "check_label" and not one["off"] for one in some)
        counted = _Counted(right, right + to_read, len(some))
        different = len({item["food"] for day in days for lunch in day["lunches"] for item in lunch["items"]})
    packed = _packed_cost(made, plan)
    meals = _meal_costs(made, plan)
    minutes = _minutes(made, plan)
    thrown = float(sum(plan.thrown.values()))
    said = list(_score_messages(made, given, counted, different, packed, meals, thrown, minutes))
    return {
        "right": None if counted is None else counted.right,
        "right_once_read": None if counted is None else counted.once_read,
        "lunches": None if counted is None else counted.lunches,
        "different": different,
        "packed_minor": packed,
        "bought_minor": meals.bought,
        "all_bought_minor": meals.every,
        "own_price_lunches": meals.own_price_lunches,
        "thrown_portions": thrown,
        "minutes": minutes,
        **listed_as("sentence", said),
    }


def _right_of_offers(asked: PlanRequest, made: ResolvedPlan, plan: Plan, tick: Tick | None) -> _Counted | None:
    """How many of the lunches that can be taken are right, over all days and the children who take from the offer.

    None where they are too many to count.
    """
    right = once_read = lunches = 0
    for place, one in enumerate(asked.offers):
        stands = [day for day in plan.days if day.offer == one.id]
        if not stands:
            continue
        sampled = dict(asked.audit(place)) | {"estimate": SampleSize()}
        audit = OfferAuditRequest.model_validate(sampled).for_days(asked.days)
        audited = audit_offer(audit, tick, weeks=False)["children"]
        for child, row in enumerate(audited):
            times = sum((child, day.day) not in made.away and made.names[child] not in day.buyers for day in stands)
            if times and row["right"] is None:
                return None
            right += times * (row["right"] or 0)
            once_read += times * (row["right_once_read"] or 0)
            lunches += times * row["total"]
    return _Counted(right, once_read, lunches)


def _packed_cost(made: ResolvedPlan, plan: Plan) -> int | None:
    """What is made and bought for the lunches from home costs, in minor units; None without all prices."""
    if not made.all_priced:
        return None
    total = sum((one.portions * made.costs[one.food] for one in plan.batches), Fraction(0))
    for need in plan.needs:
        if need.food not in made.dishes:
            total += made.costs[need.food] * need.amount_mg / made.foods[need.food].portion_mg
    for taken in plan.from_stock:
        if taken.food not in made.dishes:
            total -= made.costs[taken.food] * taken.amount_mg / made.foods[taken.food].portion_mg
    return rounded(total)


class _MealCosts(NamedTuple):
    """What the bought lunches cost, and what buying every lunch would cost, at how many of them at a child's own price; None: not known."""

    bought: int | None
    every: int | None
    own_price_lunches: int


def _meal_costs(made: ResolvedPlan, plan: Plan) -> _MealCosts:
    """What school meals cost the children that are there, each at its own price where it has one."""
    if made.book is None:
        return _MealCosts(None, None, 0)
    bought = every = Fraction(0)
    own = 0
    for day in plan.days:
        for child, name in enumerate(made.names):
            if (child, day.day) in made.away:
                continue
            price = bought_cost(made.book.meals, day.day, "", child)
            if price.unpriced:
                return _MealCosts(None, None, 0)
            every += price.exact
            own += price.meal_price == "child"
            if name in day.buyers:
                bought += price.exact
    return _MealCosts(rounded(bought), rounded(every), own)


def _minutes(made: ResolvedPlan, plan: Plan) -> int | None:
    """What the batches take together, each as its row says it; None: not known of each."""
    minutes = [batch_minutes(made, one) for one in plan.batches]
    known = [one for one in minutes if one is not None]
    return sum(known) if known and len(known) == len(minutes) else None


def _score_messages(
    made: ResolvedPlan,
    given: GivenLunches | None,
    counted: _Counted | None,
    different: int,
    packed: int | None,
    meals: _MealCosts,
    thrown: float,
    minutes: int | None,
) -> Iterator[Message]:
    if counted is None:
        yield message("plan-score.not-counted")
    else:
        said: dict[str, Value] = {"right": counted.right, "lunches": counted.lunches}
        if counted.once_read == counted.right:
            yield (
                message("plan-score.right-of-offers", **said)
                if given is None
                else message("plan-score.right-given", **said)
            )
        elif given is None:
            yield message("plan-score.right-of-offers-once-read", **said, once_read=counted.once_read)
        else:
            yield message("plan-score.right-given-once-read", **said, once_read=counted.once_read)
    yield (
        message("plan-score.offers", different=different, days=len(made.days))
        if given is None
        else message("plan-score.foods", different=different)
    )
    if packed is not None and made.book is not None:
        money: dict[str, Value] = {"currency": made.book.currency, "digits": decimals_of(made.book.currency)}
        if meals.bought is not None and meals.every is not None:
            yield message("plan-score.cost-against", **money, cost=packed + meals.bought, all_bought=meals.every)
            if meals.own_price_lunches:
                yield message("cost.own-price-meals", lunches=meals.own_price_lunches)
        else:
            yield message("plan-score.cost", **money, cost=packed)
    if made.dishes:
        yield message("plan-score.thrown", portions=thrown) if thrown else message("plan-score.nothing-thrown")
    if minutes is not None:
        yield message("plan-score.minutes", minutes=minutes)
