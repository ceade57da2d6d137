"""What a new plan of a household can be made from: its offers, children, dishes that are made in batches, and the school's meals."""

from collections.abc import Iterator
from datetime import date, timedelta
from typing import Any, NamedTuple
from uuid import UUID

from service.domain.errors import LunchError
from service.domain.stock.keeping import FREEZER, FRIDGE
from service.domain.stock.moves import is_over, ready_after
from service.jobs.household.days.school_days import school_days_between
from service.jobs.household.from_plan.claims import claims_of
from service.jobs.household.from_plan.planned import plans_after, plans_before
from service.jobs.household.requests import KeptSchoolDay
from service.jobs.household.stock.amounts import grams_of
from service.jobs.household.stock.entries import days_before_freezing, lot_of, thawed_until
from service.jobs.household.stock.happened import entries_here
from service.jobs.household.stock.known_foods import KnownFoods
from service.jobs.household.stored.kept_things import whole_portions
from service.jobs.plan.weeks.requests import MOST_OFFERS
from service.jobs.weeks.requests import week_of
from service.reference.stock.freezing import how_it_freezes
from service.store.household.kinds import CHILD, OFFER, RECIPE
from service.store.household.records import Connection, Record, page

MOST_CHILDREN, MOST_RECIPES = 30, 60
FREEZES = frozenset({"well", "fair"})
"""What is frozen without being asked; so is what the household has in its freezer already."""
LONGEST_FRIDGE, LONGEST_FREEZER = 60, 400
"""Days, as far as a plan counts them."""
Reply = dict[str, Any]


class DishToMake(NamedTuple):
    """A stored dish that some offer has, and how long it keeps; ``fridge_days`` None: not known, so it is not planned.

    ``level``: how well it freezes, empty where that is not known; ``freezes``: whether it is frozen without being asked.
    """

    food: str
    name: str
    batch_portions: int
    parts: int
    fridge_days: int | None
    freezer_days: int | None
    level: str
    freezes: bool


class PlanStart(NamedTuple):
    """What there is. ``children`` and ``offers``: names by id; ``in_offers``: the foods of each offer."""

    children: dict[str, str]
    offers: dict[str, str]
    in_offers: dict[str, frozenset[str]]
    dishes: list[DishToMake]
    school: list[KeptSchoolDay]


def plan_start(connection: Connection, household: UUID, first: date, last: date) -> PlanStart:
    """Everything a plan from one day to another can be made from."""
    offers = page(connection, OFFER, household, None, MOST_OFFERS)
    in_offers = {
        str(one.id): frozenset(
            item["food"] for group in one.body["groups"] for item in group["items"] if isinstance(item["food"], str)
        )
        for one in offers
    }
    foods = KnownFoods(connection, household)
    offered = frozenset().union(*in_offers.values())
    frozen = {one.body["food"] for one in entries_here(connection, household) if one.body["place"] == FREEZER}
    dishes = [
        _dish(foods, str(one.id), one.body, first, frozen)
        for one in page(connection, RECIPE, household, None, MOST_RECIPES)
        if str(one.id) in offered
    ]
    return PlanStart(
        {str(one.id): one.body["nickname"] for one in page(connection, CHILD, household, None, MOST_CHILDREN)},
        {str(one.id): one.body["name"] for one in offers},
        in_offers,
        dishes,
        school_days_between(connection, household, first, last),
    )


def wishes_of(start: PlanStart, child: str) -> list[date]:
    """The days on which a child is stored to buy, of those whose meal is known."""
    return [one.date for one in start.school if one.menu is not None and child in one.buys]


def most_a_week(start: PlanStart, child: str) -> int:
    """On how many days of a week a child is stored to buy, in the week with most of them."""
    weeks = [week_of(day) for day in wishes_of(start, child)]
    return max((weeks.count(one) for one in weeks), default=0)


def stock_for(
    connection: Connection, household: UUID, wanted: frozenset[str], on: date, first_day: date
) -> Iterator[Reply]:
    """What is there of some foods, still keeps and is left by earlier plans, in the form that a plan takes; ``first_day``: of the plan."""
    foods = KnownFoods(connection, household)
    claims = claims_of(connection, household, plans_before(connection, household, first_day), foods)
    later = plans_after(connection, household, first_day)
    for record in entries_here(connection, household):
        if record.body["food"] not in wanted or record.body.get("plan") in later:
            continue
        lot = lot_of(record, foods)
        if is_over(lot.use_by, on) or (lot.place == FREEZER and _over_once_thawed(record, foods, on)):
            continue
        left = lot.amount_mg - claims.by_entry.get(lot.id, 0)
        if left <= 0:
            continue
        yield {
            "id": lot.id,
            "food": lot.food,
            "grams": grams_of(left),
            "place": lot.place,
            "use_by": None if lot.use_by is None else lot.use_by.isoformat(),
            "days_before_freezing": days_before_freezing(record),
        }


def _over_once_thawed(record: Record, foods: KnownFoods, evening: date) -> bool:
    """Whether an entry in the freezer is past its last day when it is thawed, on whatever evening it is moved."""
    ready_on = ready_after(evening, foods.thaw_hours(record.body["food"]))
    return is_over(thawed_until(record, foods, evening), ready_on)


def _dish(foods: KnownFoods, food: str, body: Reply, made_on: date, frozen: set[str]) -> DishToMake:
    parts = 4 if body.get("batch_fractions") else 1
    fridge = _days(foods, food, FRIDGE, made_on)
    freezer, level = _days(foods, food, FREEZER, made_on), _level(foods, food)
    return DishToMake(
        food,
        body["name"],
        whole_portions(body),
        parts,
        None if fridge is None else min(fridge, LONGEST_FRIDGE),
        None if not freezer else min(freezer, LONGEST_FREEZER),
        level,
        bool(freezer) and (level in FREEZES or food in frozen),
    )


def _level(foods: KnownFoods, food: str) -> str:
    try:
        return how_it_freezes(foods.food(food)).level
    except LunchError:  # something in it was removed: the plan says so
        return ""


def _days(foods: KnownFoods, food: str, place: str, made_on: date) -> int | None:
    """How many days after it was made a dish keeps in a place; None where no figure is known."""
    try:
        last = foods.use_by(food, place, made_on, None, None, None, None, prepared=True).day
    except LunchError:
        return None
    return None if last is None else (last - made_on) // timedelta(days=1)
