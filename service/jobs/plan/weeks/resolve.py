"""Makes a plan's request ready: each offer laid out for each child, the foods and dishes, the stock, prices, and who is away."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from functools import cached_property

from service.domain.counting.masks import Tick
from service.domain.errors import BadInput, Faults, LunchError, UnknownName
from service.domain.foods.amounts import near_names
from service.domain.foods.food import Food
from service.domain.messages import message
from service.domain.offers.branches import Key, branches
from service.domain.plan.batches import FREEZER, DishMade, Frozen, LotAtHand
from service.domain.stock.keeping import KeepingRules
from service.domain.weeks.cost import NotCounted, PriceBook, bought_cost, packed_cost
from service.jobs.foods.resolve import amount_of
from service.jobs.offers.layout import ChildOffer
from service.jobs.offers.requests import item_key
from service.jobs.offers.resolve import resolve_audit
from service.jobs.plan.weeks.keeping import DishKeeping, dish_keeping, frozen_stock
from service.jobs.plan.weeks.requests import PlanRequest
from service.jobs.requests.foods import AnyFood
from service.jobs.weeks.prices import price_book, priced_item
from service.reference.stock.keeping import keeping_rules

OFFER_IN_AUDIT = "/offer"
MOST_NAMED = 20


@dataclass(frozen=True)
class FoodOfPlan:
    """A food that some offer has: as it was sent, made ready, and the portion of the offer in milligrams.

    A child may get more or less than that portion.
    """

    key: str
    sent: AnyFood
    food: Food
    portion_mg: int


@dataclass(frozen=True)
class ResolvedPlan:
    """A request made ready.

    ``offers``: for each the children's, in their order. ``key_of``: the food key of each item, by offer, group and key.
    ``costs``: of a portion, in minor units, where the food has a price. ``away``: child's place and day.
    """

    names: list[str]
    days: tuple[date, ...]
    prep_days: tuple[date, ...]
    offers: Mapping[str, list[ChildOffer]]
    foods: Mapping[str, FoodOfPlan]
    key_of: Mapping[tuple[str, str, str], str]
    dishes: Mapping[str, DishMade]
    keeping: Mapping[str, DishKeeping]
    rules: KeepingRules
    lots: Sequence[LotAtHand]
    book: PriceBook | None
    costs: Mapping[str, Fraction]
    away: frozenset[tuple[int, date]]
    unpriced: list[str] = field(default_factory=list)
    not_counted: list[NotCounted] = field(default_factory=list)

    @property
    def all_priced(self) -> bool:
        """Whether every food has a price."""
        return self.book is not None and not self.unpriced

    def there(self, child: int) -> list[date]:
        """The days on which a child is at school."""
        return [day for day in self.days if (child, day) not in self.away]

    @cached_property
    def frozen(self) -> Mapping[str, Frozen]:
        """How each lot that the freezer has is taken from it."""
        return {
            lot.id: frozen_stock(
                self.keeping.get(lot.food), self.foods[lot.food].food, lot.days_before_freezing, self.rules
            )
            for lot in self.lots
            if lot.place == FREEZER
        }

    @cached_property
    def nothing_in(self) -> Mapping[str, tuple[int, ...]]:
        """Places of the children who can take no lunch from an offer, by offer."""
        return {
            offer: tuple(
                place for place, one in enumerate(some) if not sum(branch.size for branch in branches(one.offer))
            )
            for offer, some in self.offers.items()
        }


def food_key_of(food: AnyFood) -> str:
    """What a plan calls a food: its id, that of the stored record, or the name of one that was sent along."""
    return food if isinstance(food, str) else food.id or food.name


def resolve_plan(asked: PlanRequest, tick: Tick | None = None) -> ResolvedPlan:
    """Look up everything the request names; ``LunchError`` (``ManyFaults`` for several) for what does not fit."""
    faults = Faults()
    offers: dict[str, list[ChildOffer]] = {}
    for place, one in enumerate(asked.offers):
        if one.id in offers:
            faults.add(BadInput(field=("offers", place, "id"), value=one.id, problem=message("fault.plan-id-twice")))
            continue
        try:
            offers[one.id] = resolve_audit(asked.audit(place), tick).children
        except LunchError as fault:
            for each in fault.faults():
                inside = each.pointer.startswith(OFFER_IN_AUDIT)
                faults.add(each.under(f"/offers/{place}") if inside else each)
            offers[one.id] = []
    faults.found = list({fault.sentence(): fault for fault in faults.found}.values())
    faults.raise_all()
    foods, key_of = _foods(asked, offers)
    _look_over(asked, foods, key_of, faults)
    book: PriceBook | None = None
    with faults.at():
        book = price_book(asked.prices, asked.school_meal)
    faults.raise_all()
    rules = keeping_rules(tuple(asked.regions))
    keeping = {one.food: dish_keeping(one, foods[one.food].food, rules) for one in asked.dishes}
    costs, unpriced, not_counted = _costs(foods, book, min(asked.days))
    away = frozenset((one.child, day) for one in asked.not_there for day in one.days)
    return ResolvedPlan(
        [one.nickname or f"child {place}" for place, one in enumerate(asked.children, 1)],
        tuple(sorted(asked.days)),
        tuple(sorted(asked.prep_days)),
        offers,
        foods,
        key_of,
        {food: dish.made() for food, dish in keeping.items()},
        keeping,
        rules,
        [
            LotAtHand(one.id, one.food, round(one.grams * 1000), one.place, one.use_by, one.days_before_freezing)
            for one in asked.stock
            if one.food in foods
        ],
        book,
        costs,
        away,
        unpriced,
        [*not_counted, *_meals_not_counted(asked, book, away)],
    )


def _foods(
    asked: PlanRequest, offers: Mapping[str, list[ChildOffer]]
) -> tuple[dict[str, FoodOfPlan], dict[tuple[str, str, str], str]]:
    foods: dict[str, FoodOfPlan] = {}
    key_of: dict[tuple[str, str, str], str] = {}
    for one in asked.offers:
        items = offers[one.id][0].items
        for group in one.offer.groups:
            for item in group.items:
                name = item_key(item.key, item.food)
                made = items[(group.id, name)]
                key = food_key_of(item.food)
                key_of[(one.id, group.id, name)] = key
                portion_mg, _unit = amount_of(made.food, item.quantity, item.unit)
                foods.setdefault(key, FoodOfPlan(key, item.food, made.food, portion_mg))
    return foods, key_of


def _costs(
    foods: Mapping[str, FoodOfPlan], book: PriceBook | None, on: date
) -> tuple[dict[str, Fraction], list[str], list[NotCounted]]:
    """What a portion of each food costs; what has no price; and the prices in another currency."""
    found: dict[str, Fraction] = {}
    unpriced: list[str] = []
    not_counted: list[NotCounted] = []
    if book is None:
        return found, unpriced, not_counted
    for one in foods.values():
        cost = packed_cost([priced_item(one.sent, one.food, one.portion_mg)], book.foods, on)
        unpriced += cost.unpriced
        not_counted += cost.not_counted
        if not cost.unpriced:
            found[one.key] = cost.exact
    return found, sorted(set(unpriced)), list(dict.fromkeys(not_counted))


def _meals_not_counted(
    asked: PlanRequest, book: PriceBook | None, away: Collection[tuple[int, date]]
) -> list[NotCounted]:
    """The prices of the school's meal in another currency that children who are there would pay."""
    meals = () if book is None else book.meals
    there = [(child, day) for child in range(len(asked.children)) for day in asked.days if (child, day) not in away]
    found = [bought_cost(meals, day, "", child).not_counted for child, day in there]
    return list(dict.fromkeys(one for some in found for one in some))


def _look_over(
    asked: PlanRequest, foods: Mapping[str, FoodOfPlan], key_of: Mapping[tuple[str, str, str], str], faults: Faults
) -> None:
    """Note everything that names what is not there, or twice what is there once."""
    ids = [one.id for one in asked.offers]
    named: list[tuple[str, Sequence[object]]] = [
        ("dishes", [one.food for one in asked.dishes]),
        ("stock", [one.id for one in asked.stock]),
        ("stands", [one.day for one in asked.stands]),
        ("buying", [one.child for one in asked.buying]),
        ("school_meals", [one.date for one in asked.school_meals]),
    ]
    for part, values in named:
        for place, value in enumerate(values):
            if value in values[:place]:
                faults.add(BadInput(field=(part, place), value=str(value), problem=message("fault.plan-id-twice")))
    for place, dish in enumerate(asked.dishes):
        if dish.food not in foods:
            near = near_names(dish.food, foods)
            known = message("help.it-has", names=list(foods)[:MOST_NAMED])
            kind = message("kind.food-of-plan")
            faults.add(UnknownName(field=("dishes", place, "food"), value=dish.food, kind=kind, near=near, known=known))
    for place, one in enumerate(asked.stands):
        if one.offer not in ids:
            faults.add(_unknown_offer(("stands", place, "offer"), one.offer, ids))
        if one.day not in asked.days:
            faults.add(_no_day(("stands", place, "day"), one.day))
    if asked.before is None:
        return
    before = {one.day: one for one in asked.before.days}
    for place, day in enumerate(asked.locked.days):
        decided = before.get(day)
        if decided is None or day not in asked.days:
            said = message("fault.locked-day-unknown")
            faults.add(BadInput(field=("locked", "days", place), value=day.isoformat(), problem=said))
        elif decided.offer is not None and decided.offer not in ids:
            faults.add(_unknown_offer(("locked", "days", place), decided.offer, ids))
    made = {(one.food, one.made_on) for one in asked.before.batches}
    for place, batch in enumerate(asked.locked.batches):
        if (batch.food, batch.made_on) not in made or batch.food not in {one.food for one in asked.dishes}:
            value = f"{batch.food}, {batch.made_on.isoformat()}"
            faults.add(
                BadInput(field=("locked", "batches", place), value=value, problem=message("fault.locked-unknown"))
            )


def _unknown_offer(field_: tuple[str | int, ...], value: str, ids: Sequence[str]) -> UnknownName:
    known = message("help.it-has", names=list(ids))
    return UnknownName(field=field_, value=value, kind=message("kind.offer-of-plan"), known=known)


def _no_day(field_: tuple[str | int, ...], day: date) -> BadInput:
    return BadInput(field=field_, value=day.isoformat(), problem=message("fault.no-day-of-plan"))


def keys_of(made: ResolvedPlan, offer: str) -> dict[Key, str]:
    """The food key of each item of an offer, by group and key."""
    return {(group, key): food for (of, group, key), food in made.key_of.items() if of == offer}
