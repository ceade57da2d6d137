"""The stored prices that hold on some days."""

from collections.abc import Sequence
from datetime import date
from typing import Any, NamedTuple
from uuid import UUID

from service.jobs.household.requests import KeptPrice
from service.jobs.weeks.requests import MealPriceAsked, PriceAsked
from service.store.household.prices import bodies_of_prices, in_force
from service.store.household.records import Connection


class KeptPrices(NamedTuple):
    """The stored prices that hold on some days, as a week asks for them."""

    prices: list[PriceAsked]
    school_meal: list[MealPriceAsked]


def kept_prices(
    connection: Connection, household: UUID, first: date, last: date, children: Sequence[str] = ()
) -> KeptPrices:
    """The household's prices of these days, however many: what a request may hold at most plays no part here.

    ``children``: ids in the order in which a request has them; the meal's prices of these children carry their place.
    """
    places = {child: place for place, child in enumerate(children)}
    kept = [KeptPrice.model_validate(one) for one in bodies_of_prices(connection, household, first, last)]
    return KeptPrices(
        [
            PriceAsked.model_validate({**_of(one), "food": one.food, "pack_grams": one.pack_grams})
            for one in kept
            if one.what == "food"
        ],
        [
            MealPriceAsked.model_validate(_of(one) | {"child": None if one.child is None else places[one.child]})
            for one in kept
            if one.what == "school_meal" and (one.child is None or one.child in places)
        ],
    )


def counted_currency(connection: Connection, household: UUID, on: date) -> str:
    """The currency in which costs are told on a day; empty where there is no price."""
    counted = in_force(connection, household, on)
    return "" if counted is None else counted.currency


def _of(price: KeptPrice) -> dict[str, Any]:
    return {"amount_minor": price.amount_minor, "currency": price.currency, "from": price.from_day}
