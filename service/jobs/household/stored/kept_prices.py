"""The stored prices that hold on some days."""

from collections.abc import Sequence
from datetime import date
from typing import Any, NamedTuple
from uuid import UUID

from service.domain.weeks.cost import currency_of_most
from service.jobs.household.requests import KeptPrice
from service.jobs.weeks.requests import MealPriceAsked, PriceAsked
from service.store.household.prices import bodies_of_prices
from service.store.household.records import Connection


class KeptPrices(NamedTuple):
    """The stored prices that hold on some days, as a week asks for them."""

    prices: list[PriceAsked]
    school_meal: list[MealPriceAsked]


def kept_prices(
    connection: Connection, household: UUID, first: date, last: date, children: Sequence[str] = ()
) -> KeptPrices:
    """The household's prices of these days, however many: what a request may hold at most plays no part here.

    Currencies are never mixed or converted: costs are told in the one in which most things are priced, so that one price
    in another currency does not take away the cost of the rest; that one is known not to be counted.
    ``children``: ids in the order in which a request has them; the meal's prices of these children carry their place.
    """
    places = {child: place for place, child in enumerate(children)}
    kept = [KeptPrice.model_validate(one) for one in bodies_of_prices(connection, household, first, last)]
    counted = counted_currency(connection, household, last)
    found = KeptPrices([], [])
    for one in kept:
        if one.what == "food":
            food = PriceAsked.model_validate({**_of(one), "food": one.food, "pack_grams": one.pack_grams})
            found.prices.append(food if one.currency == counted else food.in_other_currency())
        elif one.child is None or one.child in places:
            child = None if one.child is None else places[one.child]
            meal = MealPriceAsked.model_validate({**_of(one), "child": child})
            found.school_meal.append(meal if one.currency == counted else meal.in_other_currency())
    return found


def counted_currency(connection: Connection, household: UUID, on: date) -> str:
    """The currency in which most things are priced on a day; where all prices have ended, were priced. Empty for no price.

    A food counts once, in however many sizes it is sold.
    """
    bodies = bodies_of_prices(connection, household, on, on) or bodies_of_prices(connection, household, date.min, on)
    return currency_of_most((one["food"] or one.get("child") or one["what"], one["currency"]) for one in bodies)


def _of(price: KeptPrice) -> dict[str, Any]:
    same = {"amount_minor": price.amount_minor, "currency": price.currency}
    return {**same, "from": price.from_day, "until": price.until}
