"""The foods of the stock as the engine knows them, with what a household says of how its own dishes keep."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from fractions import Fraction
from uuid import UUID

from service.domain.errors import LunchError, at
from service.domain.foods.food import Food
from service.domain.stock.keeping import UseBy, use_by
from service.domain.stock.moves import thawed_through
from service.jobs.foods.resolve import food_of
from service.jobs.household.stored.kept_things import KeptThings
from service.jobs.plan.kitchen.ingredients import ingredients_of
from service.jobs.requests.fields import is_kept_id
from service.reference.foods.bought_as import kitchen_names
from service.reference.stock.freezing import thaw_hours_of
from service.reference.stock.keeping import keeping_rules
from service.store.household.records import Connection


class KnownFoods:
    """Looks up foods by their keys, each once, for one household and transaction."""

    def __init__(self, connection: Connection, household: UUID, kept: KeptThings | None = None) -> None:
        self._kept = kept or KeptThings(connection, household)
        self._foods: dict[str, Food] = {}
        self._thaw_hours: dict[str, float] = {}
        self.rules = keeping_rules(tuple(self._kept.regions() or ()))
        """What is known of keeping: the guidance the household goes by; of several regions the stricter counts."""

    def food(self, key: str) -> Food:
        """The food of a key; ``LunchError`` for one that is not known, with its place ``food``."""
        known = self._foods.get(key)
        if known is None:
            known = self._foods[key] = self._own(key) if is_kept_id(key) else self._of_tables(key)
        return known

    def knows(self, key: str) -> bool:
        """Whether a food is known: one that was only sent along with a plan is not."""
        try:
            self.food(key)
        except LunchError:
            return False
        return True

    def name(self, key: str) -> str:
        """What a food is called in a kitchen; its key where it is not known any more."""
        try:
            return kitchen_names().get(key) or self.food(key).name
        except LunchError:
            return key

    def ingredients(self, key: str, amount_mg: Fraction) -> Iterator[tuple[str, Fraction]]:
        """The foods in so much of a dish that can be entries of the stock, with their milligrams as put in; none for what is no dish."""
        food = self.food(key)
        sent = self._kept.food(key, "/food") if is_kept_id(key) else key
        for one in ingredients_of(sent, food, amount_mg):
            part = one.sent if isinstance(one.sent, str) else one.sent.id
            if part is not None:
                yield part, one.amount_mg

    def thaw_hours(self, key: str) -> float:
        """Hours that a food takes to thaw in the fridge: as the recipe says, otherwise the usual figure."""
        food = self.food(key)
        return self._thaw_hours.get(key) or thaw_hours_of(food).hours

    def use_by(
        self,
        key: str,
        place: str,
        start: date,
        frozen_on: date | None,
        thawed_on: date | None,
        opened_on: date | None,
        printed: date | None,
        *,
        prepared: bool = False,
    ) -> UseBy:
        """Until when a food keeps where it is: see ``service.domain.stock.keeping.use_by``."""
        return use_by(
            self.food(key),
            place,
            start,
            self.rules,
            frozen_on=frozen_on,
            thawed_on=thawed_on,
            thawed_through=None if thawed_on is None else thawed_through(thawed_on, self.thaw_hours(key)),
            opened_on=opened_on,
            printed=printed,
            prepared=prepared,
        )

    def _of_tables(self, key: str) -> Food:
        with at("food"):
            return food_of(key)

    def _own(self, key: str) -> Food:
        food = food_of(self._kept.food(key, "/food"))
        said = self._kept.how_made(key)
        if said.thaw_hours:
            self._thaw_hours[key] = said.thaw_hours
        handling = food.handling
        handling = handling._replace(storage=said.keeps or handling.storage, freezing=said.freezes or handling.freezing)
        return replace(food, handling=handling)
