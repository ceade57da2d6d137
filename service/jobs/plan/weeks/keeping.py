"""Until when a dish of a plan keeps, and by which rule: the same rules by which the stock goes, and what the request says itself."""

from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import cache

from service.domain.foods.food import Food
from service.domain.messages import message
from service.domain.plan.batches import FREEZER, FRIDGE, DishMade, Frozen
from service.domain.stock.keeping import KeepingRules, UseBy, use_by
from service.domain.stock.moves import evenings_before, thawed_through
from service.jobs.plan.weeks.requests import Dish
from service.reference.stock.freezing import how_it_freezes, thaw_hours_of

FROZEN_AT = ("well", "fair")
"""How well a dish has to freeze to be frozen where the request says nothing."""


@dataclass(frozen=True)
class DishKeeping:
    """A dish of the request with its food, and the rules of keeping for the regions asked for."""

    asked: Dish
    food: Food
    rules: KeepingRules

    @property
    def freezes(self) -> bool:
        """Whether it is frozen: where days in the freezer are given, otherwise where it freezes well enough."""
        return self.asked.freezer_days is not None or how_it_freezes(self.food).level in FROZEN_AT

    @property
    def thaw_hours(self) -> float:
        """Hours it takes to thaw."""
        return self.asked.thaw_hours or thaw_hours_of(self.food).hours

    def use_by(self, place: str, made_on: date, moved_on: date | None = None) -> UseBy:
        """The last day and its rule. ``moved_on``: the evening on which it is moved from the freezer, where it is."""
        if moved_on is not None:
            return thawed_use_by(self.food, made_on, made_on, moved_on, self.thaw_hours, self.rules)
        found = use_by(self.food, place, made_on, self.rules, prepared=True)
        days = self.asked.freezer_days if place == FREEZER else self.asked.fridge_days
        if days is None or (found.day is not None and found.day <= made_on + timedelta(days=days)):
            return found
        said = message("keeping.as-asked", days=days, place=place, start=made_on.isoformat())
        return UseBy(made_on + timedelta(days=days), said, quality=place == FREEZER)

    def made(self) -> DishMade:
        """The dish as batches of it are planned."""

        @cache
        def keeps(place: str, made_on: date, moved_on: date | None) -> date | None:
            return self.use_by(place, made_on, moved_on).day

        asked = self.asked
        return DishMade(
            asked.food, asked.batch_portions, asked.parts or 1, keeps, self.freezes, evenings_before(self.thaw_hours)
        )


def dish_keeping(asked: Dish, food: Food, rules: KeepingRules) -> DishKeeping:
    """A dish with what the request says of how it keeps and freezes in the place of what is known of its food."""
    handling = food.handling
    if asked.keeps is not None:
        handling = handling._replace(storage=asked.keeps)
    if asked.freezes is not None:
        handling = handling._replace(freezing=asked.freezes)
    return DishKeeping(asked, replace(food, handling=handling), rules)


def moved_use_by(dish: DishKeeping | None, food: Food, moved_on: date, days_before: int, rules: KeepingRules) -> UseBy:
    """Until when something keeps that is moved from the freezer on an evening; ``dish``: None for no dish.

    ``days_before``: how many days it was kept before it was frozen; time in the freezer does not count.
    """
    food, hours = (food, thaw_hours_of(food).hours) if dish is None else (dish.food, dish.thaw_hours)
    return thawed_use_by(food, moved_on - timedelta(days=days_before), moved_on, moved_on, hours, rules)


def frozen_stock(dish: DishKeeping | None, food: Food, days_before: int, rules: KeepingRules) -> Frozen:
    """How something of the stock is taken from the freezer: what is made of it in the plan goes by the same rule."""
    hours = thaw_hours_of(food).hours if dish is None else dish.thaw_hours
    keeps = cache(lambda moved_on: moved_use_by(dish, food, moved_on, days_before, rules).day)
    return Frozen(evenings_before(hours), keeps, days_before)


def thawed_use_by(
    food: Food, made_on: date, frozen_on: date, moved_on: date, thaw_hours: float, rules: KeepingRules
) -> UseBy:
    """Until when something keeps in the fridge that was frozen and is moved there on an evening."""
    through = thawed_through(moved_on, thaw_hours)
    return use_by(
        food, FRIDGE, made_on, rules, frozen_on=frozen_on, thawed_on=moved_on, thawed_through=through, prepared=True
    )
