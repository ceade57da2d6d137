"""Who buys the school's meal on which day: never a meal of which it is not known that the child may have it."""

from collections.abc import Mapping, Sequence
from datetime import date
from fractions import Fraction
from typing import NamedTuple

from service.domain.allergens.screening import Screened, screen_food
from service.domain.foods.amounts import add_up, credit_option, item_vector
from service.domain.foods.food import Food
from service.domain.lunch.findings import judge
from service.domain.weeks.cost import bought_cost
from service.jobs.offers.layout import ChildOffer
from service.jobs.plan.weeks.requests import PlanRequest
from service.jobs.plan.weeks.resolve import ResolvedPlan
from service.jobs.weeks.days import MENU_MG, menu_food
from service.jobs.weeks.requests import week_of
from service.reference.allergens.vocabulary import vocabulary
from service.reference.lunch.standards import crediting_scheme


class Refused(NamedTuple):
    """A meal that a child does not buy, and what was found of it for what the child must avoid."""

    child: int
    day: date
    meal: str
    found: tuple[Screened, ...]


class Buys(NamedTuple):
    """Who buys on which day, and which meals of the menu a child that may buy does not."""

    buyers: Mapping[date, tuple[int, ...]]
    refused: list[Refused]


class _Meal(NamedTuple):
    """A meal that a child may buy: whether it wishes to, finds nothing else, or saves by it, and targets that it misses."""

    day: date
    wished: bool
    no_other: bool
    saves: Fraction
    missed: int

    def rank(self) -> tuple[bool, bool, int, Fraction, date]:
        """The first is bought first."""
        return (not self.no_other, not self.wished, self.missed, -self.saves, self.day)


def who_buys(
    asked: PlanRequest,
    made: ResolvedPlan,
    stands: Mapping[date, str | None],
    before: Mapping[date, Sequence[int]],
    locked: Sequence[date],
) -> Buys:
    """The children who buy, by day.

    A child buys on no day that is named for not buying, and at most so often a week: first where it finds nothing in the offer, then where it wishes to, then where the
    meal costs less than the lunch from home; of equal days the one whose meal misses fewer targets, as far as its figures
    are known. ``before``: who bought in the plan before, who goes on doing so where that may be; ``locked``: days that stay.
    """
    menus = {one.date: menu_food(one.menu) for one in asked.school_meals}
    buyers: dict[date, list[int]] = {day: [] for day in made.days}
    refused: list[Refused] = []
    for one in asked.buying:
        may: list[_Meal] = []
        for day in made.there(one.child):
            if day not in menus or day in one.not_on:
                continue
            child = next(iter(made.offers.values()))[one.child]
            against = _against(child, menus[day])
            if against:
                refused.append(Refused(one.child, day, menus[day].name, against))
                continue
            may.append(_meal(asked, made, one.child, day, day in one.wishes, menus[day], stands[day]))
        for week in sorted({week_of(day) for day in made.days}):
            mine = [meal for meal in may if week_of(meal.day) == week]
            was = [meal for meal in mine if one.child in before.get(meal.day, ())]
            kept = [meal for meal in was if meal.day in locked]
            kept += sorted((meal for meal in was if meal.day not in locked), key=_Meal.rank)
            kept = kept[: max(one.most_a_week, sum(meal.day in locked for meal in kept))]
            others = [meal for meal in mine if meal not in was and meal.day not in locked]
            wanted = [meal for meal in others if meal.wished or meal.no_other or meal.saves > 0]
            kept += sorted(wanted, key=_Meal.rank)[: max(0, one.most_a_week - len(kept))]
            for meal in kept:
                buyers[meal.day].append(one.child)
    return Buys({day: tuple(sorted(some)) for day, some in buyers.items()}, refused)


def _against(child: ChildOffer, meal: Food) -> tuple[Screened, ...]:
    """What speaks against a meal: what it names, and what nobody knows of it. A ban on packed lunches plays no part."""
    mine = [one for one in child.avoidances if one.by == "child"]
    found = [screen_food(vocabulary(), meal, one) for one in mine]
    return tuple(one for one in found if one.keeps_out or one.unread)


def _meal(
    asked: PlanRequest, made: ResolvedPlan, child: int, day: date, wished: bool, meal: Food, offer: str | None
) -> _Meal:
    laid_out = made.offers[asked.offers[0].id if offer is None else offer][child]
    scheme = crediting_scheme(laid_out.table.standard.crediting)
    totals = add_up([item_vector(meal, MENU_MG, scheme, credit_option(meal, None))])
    missed = sum(
        one.counts and one.status in ("short", "over") for one in (judge(t, totals) for t in laid_out.table.targets)
    )
    no_other = offer is not None and child in made.nothing_in[offer]
    return _Meal(day, wished, no_other, _saves(made, child, day, offer, meal.name), missed)


def _saves(made: ResolvedPlan, child: int, day: date, offer: str | None, name: str) -> Fraction:
    """How much less the meal costs this child than a lunch from the offer on average; 0 where a price is not known."""
    if made.book is None or offer is None:
        return Fraction(0)
    price = bought_cost(made.book.meals, day, name, child)
    packed = lunch_cost(made, offer)
    return Fraction(0) if price.unpriced or packed is None else packed - price.exact


def lunch_cost(made: ResolvedPlan, offer: str) -> Fraction | None:
    """What a lunch of an offer costs on average, each item of a group taken as often; None without all its prices."""
    whole = made.offers[offer][0].whole
    total = Fraction(0)
    for group in whole.groups:
        costs = [made.costs.get(made.key_of[(offer, group.id, item)]) for item in group.items]
        known = [cost for cost in costs if cost is not None]
        if len(known) < len(costs):
            return None
        total += sum(known, Fraction(0)) / len(known) * Fraction(group.take.at_least + group.take.at_most, 2)
    return total
