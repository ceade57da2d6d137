"""What the lunches of a week cost: packed from dated prices, bought from the price of a school meal.

Money is whole minor units (cents, pence) of one currency. Sums are exact fractions, rounded once, half up, where a
sum is told. A price holds from its day until the next one of the same food; what has no price is named, never guessed.
"""

from collections.abc import Mapping, Sequence
from datetime import date
from fractions import Fraction
from typing import NamedTuple


class Price(NamedTuple):
    """The price of a pack of a food from a day on."""

    from_day: date
    amount_minor: int
    pack_mg: int


class MealPrice(NamedTuple):
    """The price of a school meal from a day on."""

    from_day: date
    amount_minor: int


class PricedItem(NamedTuple):
    """An item to price: what it may be priced under (id, name), and how much of it there is."""

    name: str
    keys: tuple[str, ...]
    amount_mg: int


class DayCost(NamedTuple):
    """A day's cost as far as prices are known; ``unpriced``: items (or the meal) without a price that day."""

    exact: Fraction
    unpriced: tuple[str, ...]


def price_on(prices: Sequence[Price], on: date) -> Price | None:
    """The price in force on a day: the latest that has begun."""
    begun = [price for price in prices if price.from_day <= on]
    return max(begun, key=lambda price: price.from_day) if begun else None


def packed_cost(items: Sequence[PricedItem], prices: Mapping[str, Sequence[Price]], on: date) -> DayCost:
    """What a packed lunch cost on a day."""
    exact = Fraction(0)
    unpriced: dict[str, None] = {}
    for item in items:
        found = next((prices[key] for key in item.keys if key in prices), ())
        price = price_on(found, on)
        if price is None:
            unpriced[item.name] = None
            continue
        exact += Fraction(price.amount_minor * item.amount_mg, price.pack_mg)
    return DayCost(exact, tuple(unpriced))


def bought_cost(meals: Sequence[MealPrice], on: date, name: str) -> DayCost:
    """What a bought lunch cost on a day."""
    begun = [price for price in meals if price.from_day <= on]
    if not begun:
        return DayCost(Fraction(0), (name,))
    return DayCost(Fraction(max(begun, key=lambda price: price.from_day).amount_minor), ())


def rounded(exact: Fraction) -> int:
    """Whole minor units, half up."""
    return (2 * exact.numerator + exact.denominator) // (2 * exact.denominator)
