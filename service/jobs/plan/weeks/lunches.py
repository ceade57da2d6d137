"""A lunch for each child and day: made ready for the search, and what it found in words of the request."""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any, NamedTuple

from service.domain.counting.masks import Tick
from service.domain.errors import BadInput
from service.domain.messages import message
from service.domain.plan.all_lunches import (
    AllLunches,
    ChildGiven,
    Given,
    GroupGiven,
    all_lunches,
    missed,
)
from service.domain.plan.batches import may_be_eaten
from service.domain.plan.planned import Lunch, Need, PlannedDay
from service.domain.plan.robust import Row
from service.jobs.plan.designs.resolve import LARGEST, Measured, rows_and_values
from service.jobs.plan.weeks.buying import lunch_cost
from service.jobs.plan.weeks.made import BatchesBefore, batches_before
from service.jobs.plan.weeks.requests import PlanRequest
from service.jobs.plan.weeks.resolve import ResolvedPlan
from service.planning.lunches_model import Kind, Supply
from service.planning.lunches_search import FoundLunches, fill_open_days, find_lunches, judge_lunches
from service.planning.offer_model import MeanRow
from service.planning.solver import Progress

Items = Sequence[tuple[int, int]]
"""The items of a lunch, each as the place of its group and its place in the group."""
UNPRICED_PORTION = 0.05
"""What a portion of a dish without a price counts, in lunches, so that not more is made than is needed; ours."""

MOST_JUDGING = 1.0
"""Seconds for what no plan can be below, where a plan is planned again; ours."""


class OffRow(NamedTuple):
    """A target that a lunch misses, and by what share of its bound."""

    row: Row
    share: float


class GivenLunches(NamedTuple):
    """The lunches given out by day and child, what they miss, and how far the search got.

    ``few``: children and groups of which they could be given too little. ``unknown``: names of foods that were left aside, since
    a figure of them is not known. ``again``: groups with too few foods to keep them so many days apart.
    """

    lunches: Mapping[date, Mapping[str, Lunch]]
    off: Mapping[tuple[date, str], Sequence[OffRow]]
    search: dict[str, Any]
    few: Sequence[tuple[str, str]]
    unknown: Sequence[str]
    again: Sequence[str]


class _Child(NamedTuple):
    name: str
    place: int
    days: tuple[date, ...]
    lunches: AllLunches
    few: tuple[str, ...]
    unknown: tuple[str, ...]


def plan_lunches(
    asked: PlanRequest,
    made: ResolvedPlan,
    buyers: Mapping[date, Sequence[int]],
    tick: Tick | None = None,
    told: Any = None,
) -> GivenLunches:
    """Give each child a lunch for each day. ``buyers``: places of the children who buy, by day.

    With a plan before, each lunch of it that may still be given stays, and only the others are chosen.
    """
    _refuse_rules(asked)
    known: dict[ChildGiven, AllLunches] = {}
    children = []
    for place in range(len(asked.children)):
        if tick is not None:
            tick()
        days = tuple(day for day in made.there(place) if place not in buyers[day])
        children.append(_child(asked, made, place, days, known))
    kinds, members = _kinds(children, made.days)
    supplies = _supplies(asked, made, len(children), decided=False)

    def watched(now: Progress) -> bool:
        if tick is not None:
            tick()
        return told is not None and bool(told(now))

    if asked.before is not None:
        kept = {one.place: _as_before(asked, one) for one in children}
        stay = [[kept[place] for place in places] for places in members]
        at_hand = _supplies(asked, made, len(children), decided=True)
        lunches = fill_open_days(kinds, at_hand, stay, asked.seconds, watched)
        found = judge_lunches(kinds, supplies, lunches, min(MOST_JUDGING, asked.seconds))
    else:
        found = find_lunches(kinds, supplies, asked.seconds, watched)
    chosen = {
        place: mine
        for places, some in zip(members, found.lunches, strict=True)
        for place, mine in zip(places, some, strict=True)
    }
    return _given(asked, made, children, chosen, _search(found))


def _search(found: FoundLunches) -> dict[str, Any]:
    """How far the search got, as the reply says it."""
    gap = max(0.0, found.cost - found.bound) / max(abs(found.cost), 1e-9)
    return {
        "objective": round(found.cost, 6),
        "bound": round(found.bound, 6),
        "gap": round(gap, 6),
        "proven": gap < 1e-6,
    }


def needs_of_lunches(made: ResolvedPlan, offer: str, days: Sequence[PlannedDay]) -> list[Need]:
    """What the lunches that are given out need, day by day."""
    amounts: dict[tuple[date, str], int] = {}
    for one in days:
        for name, lunch in one.lunches.items():
            items = made.offers[offer][made.names.index(name)].items
            for group, item in lunch.items:
                key = (one.day, made.key_of[(offer, group, item)])
                amounts[key] = amounts.get(key, 0) + items[(group, item)].amount_mg
    return [Need(food, amount, made.foods[food].portion_mg, day) for (day, food), amount in sorted(amounts.items())]


def _refuse_rules(asked: PlanRequest) -> None:
    """Lunches are given out from one offer without rules between its groups."""
    if len(asked.offers) > 1:
        raise BadInput(field="offers", value=str(len(asked.offers)), problem=message("fault.lunches-of-one-offer"))
    offer = asked.offers[0].offer
    if offer.rules or offer.alternatives:
        part = "rules" if offer.rules else "alternatives"
        raise BadInput(field=("offers", 0, "offer", part), value=part, problem=message("fault.lunches-without-rules"))


def _child(
    asked: PlanRequest,
    made: ResolvedPlan,
    place: int,
    days: tuple[date, ...],
    known: dict[ChildGiven, AllLunches],
) -> _Child:
    offer = asked.offers[0].id
    laid_out = made.offers[offer][place]
    keys = [(group.id, key) for group in laid_out.offer.groups for key in group.items]
    measured = []
    for key in keys:
        certain = laid_out.of.handled.get(key, (0, 0))[
            0
        ]  # how lunches are kept may not be known, which favours no food
        measured.append(Measured(laid_out.items[key].food, laid_out.items[key].vector, (certain, certain)))
    rows, means, columns = rows_and_values(laid_out.table, measured)
    values = dict(zip(keys, columns, strict=True))
    usual = float(lunch_cost(made, offer) or 1) if made.all_priced else 1.0
    supplied = {*made.dishes, *(one.food for one in made.lots)}
    groups = []
    few = []
    for group in laid_out.whole.groups:
        items = []
        for name in group.items:
            of_item = values.get((group.id, name))
            if of_item is None:
                continue
            food = made.key_of[(offer, group.id, name)]
            share = laid_out.items[(group.id, name)].amount_mg / made.foods[food].portion_mg
            cost = 0.0 if food in supplied else share * float(made.costs.get(food, 0)) / usual
            items.append(Given(name, food, cost, _known_ends(of_item, means), share))
        take = group.take
        enough = take.repeats and items
        least, most = (one if enough else min(one, len(items)) for one in (take.at_least, take.at_most))
        if least < take.at_least:
            few.append(group.id)
        apart = 0 if group.id in asked.may_repeat or not least else len(items) // least - 1
        groups.append(
            GroupGiven(group.id, least, most, take.repeats, min(asked.no_repeat_days, max(0, apart)), tuple(items))
        )
    given = ChildGiven(tuple(rows), tuple((one.at, one.bound) for one in means), tuple(groups), ())
    if given not in known:
        known[given] = all_lunches(given)
    unknown = tuple(laid_out.items[key].food.name for key, of_item in values.items() if of_item is None)
    return _Child(made.names[place], place, days, known[given], tuple(few), unknown)


def _known_ends(values: tuple[int, ...], means: Sequence[MeanRow]) -> tuple[int, ...]:
    """What a food adds to each row; where it is not known what it adds to a mean, as much as the mean may have at most."""
    found = list(values)
    for mean in means:
        most = max(1, abs(mean.bound))
        if abs(found[mean.at]) >= LARGEST:
            found[mean.at] = most if found[mean.at] > 0 else -most
    return tuple(found)


def _kinds(children: Sequence[_Child], days: Sequence[date]) -> tuple[list[Kind], list[list[int]]]:
    """Children of whom everything is the same together, and their places."""
    together: dict[tuple[int, tuple[date, ...]], list[_Child]] = {}
    for one in children:
        together.setdefault((id(one.lunches), one.days), []).append(one)
    kinds = []
    for some in together.values():
        theirs = set(some[0].days)
        kinds.append(Kind(len(some), some[0].lunches, tuple(place for place, day in enumerate(days) if day in theirs)))
    return kinds, [[one.place for one in some] for some in together.values()]


def _supplies(asked: PlanRequest, made: ResolvedPlan, children: int, *, decided: bool) -> list[Supply]:
    """Where dishes and what is in stock come from: each prep day, each lot, and for other foods the shop.

    ``decided``: what was to be made before is there, and of what is locked no more is made on its prep day.
    """
    usual = float(lunch_cost(made, asked.offers[0].id) or 1) if made.all_priced else 1.0
    most = 10 * children * len(made.days)
    found = []
    for food, dish in made.dishes.items():
        portion = float(made.costs[food]) / usual if made.all_priced else UNPRICED_PORTION
        size = dish.batch_portions / dish.parts
        before = batches_before(asked, food) if decided else BatchesBefore({}, {})
        for prep in sorted({*made.prep_days, *before.batches}):
            reach = frozenset(at for at, day in enumerate(made.days) if dish.fresh(prep, day) or dish.frozen(prep, day))
            there = int(before.batches.get(prep, 0) * dish.batch_portions)
            if reach and there and (prep in before.locked or prep in made.prep_days):
                found.append(Supply(food, 0.0, 1.0, there, reach, whole=False, stock=True, dish=True))
            if reach and prep in made.prep_days and prep not in before.locked:
                found.append(Supply(food, portion * size, size, most, reach, whole=True, stock=False, dish=True))
    for lot in made.lots:
        dish_, portion_mg = lot.food in made.dishes, made.foods[lot.food].portion_mg
        portions = lot.amount_mg // portion_mg if dish_ else lot.amount_mg / portion_mg
        reach = frozenset(at for at, day in enumerate(made.days) if may_be_eaten(lot, day, made.frozen))
        if portions and reach:
            found.append(Supply(lot.food, 0.0, 1.0, portions, reach, whole=False, stock=True, dish=dish_))
    # A dish that no prep day and no stock can give is not free for that: there is none of it.
    nowhere = sorted(made.dishes.keys() - {one.food for one in found})
    found += [Supply(food, 0.0, 1.0, 0, frozenset(), whole=True, stock=True) for food in nowhere]
    for food in sorted({lot.food for lot in made.lots} - made.dishes.keys()):
        cost = float(made.costs.get(food, 0)) / usual if made.all_priced else UNPRICED_PORTION
        found.append(Supply(food, cost, 1.0, most, frozenset(range(len(made.days))), whole=False, stock=False))
    return found


def _as_before(asked: PlanRequest, one: _Child) -> list[int | None]:
    """The lunches of the plan before as far as they may still be given; None for the other days."""
    assert asked.before is not None  # noqa: S101 - asked only where there is one
    fixed: dict[int, int] = {}
    for day in asked.before.days:
        for lunch in day.lunches:
            if lunch.child == one.place and day.day in one.days:
                number = _number_of(one.lunches, [(item.group, item.item) for item in lunch.items])
                if number is not None:
                    fixed[one.days.index(day.day)] = number
    return [fixed.get(place) for place in range(len(one.days))]


def _number_of(lunches: AllLunches, items: Sequence[tuple[str, str]]) -> int | None:
    """The number of a lunch; None where it cannot be given any more."""
    number = 0
    left = list(items)
    for group, options in zip(lunches.child.groups, lunches.options, strict=True):
        places = {item.key: place for place, item in enumerate(group.items)}
        mine = [item for of, item in left if of == group.id]
        left = [(of, item) for of, item in left if of != group.id]
        option = tuple(sorted(places[item] for item in mine if item in places))
        if len(option) != len(mine) or option not in options:
            return None
        number = number * len(options) + options.index(option)
    return None if left else number


def _given(
    asked: PlanRequest,
    made: ResolvedPlan,
    children: Sequence[_Child],
    chosen: Mapping[int, Sequence[Items]],
    search: dict[str, Any],
) -> GivenLunches:
    lunches: dict[date, dict[str, Lunch]] = {day: {} for day in made.days}
    off: dict[tuple[date, str], list[OffRow]] = {}
    for one in children:
        groups = one.lunches.child.groups
        for day, items in zip(one.days, chosen[one.place], strict=True):
            lunches[day][one.name] = Lunch(tuple((groups[at].id, groups[at].items[item].key) for at, item in items))
            off[(day, one.name)] = _off_rows(one.lunches.child, items)
    return GivenLunches(
        lunches,
        off,
        search,
        [(one.name, group) for one in children for group in one.few],
        sorted({name for one in children for name in one.unknown}),
        _again(asked, children),
    )


def _again(asked: PlanRequest, children: Sequence[_Child]) -> list[str]:
    """Groups whose foods come again sooner than was asked, for some child."""
    groups = (group for one in children for group in one.lunches.child.groups)
    sooner = (group.id for group in groups if group.least and group.no_repeat < asked.no_repeat_days)
    return [group for group in dict.fromkeys(sooner) if group not in asked.may_repeat]


def _off_rows(child: ChildGiven, items: Sequence[tuple[int, int]]) -> list[OffRow]:
    found = []
    for place, row in enumerate(child.rows):
        total = sum(child.groups[group].items[item].values[place] for group, item in items)
        largest = max((abs(item.values[place]) for group in child.groups for item in group.items), default=0)
        share = missed(total, row, largest)
        if share > 0:
            found.append(OffRow(row, share))
    return found
