"""What the lunches of a week cost: packed from dated prices, bought from the price of a school meal.

Money is whole minor units (cents, pence) of one currency. Sums are exact fractions, rounded once, half up, where a
sum is shown. A price holds from its day to the last one that is said, or until the next price of the same pack or meal.
Packs of one food in several sizes hold side by side, and what is eaten costs what it costs by the cheapest gram among
them, as on a shopping list. What has no price is named, never guessed.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from fractions import Fraction
from typing import NamedTuple, TypeVar

MEAL = "school meal"
"""What a bought lunch is called among what has no price."""


class Price(NamedTuple):
    """The price of a pack of a food from a day on, to the last day that is said.

    ``elsewhere``: its currency, where that is not the one in which costs are told: it is not counted; else empty.
    """

    from_day: date
    amount_minor: int
    pack_mg: int
    until: date | None = None
    elsewhere: str = ""

    @property
    def per_mg(self) -> Fraction:
        """What a milligram of it costs."""
        return Fraction(self.amount_minor, self.pack_mg)


class MealPrice(NamedTuple):
    """The price of a school meal from a day on. ``child``: the place of the only child that pays it; None: the menu's price.

    ``until`` and ``elsewhere``: see ``Price``.
    """

    from_day: date
    amount_minor: int
    child: int | None = None
    until: date | None = None
    elsewhere: str = ""


class NotCounted(NamedTuple):
    """A price that holds and is not counted, because it is in another currency. ``name``: of the food; empty: the school meal."""

    name: str
    price: Price | MealPrice


class PricedItem(NamedTuple):
    """An item to price: what it may be priced under (id, name), and how much of it is bought for it.

    ``alike``: ids of the same food in another state, each with how much of it is bought instead, in milligrams. ``parts``:
    the ingredients of a dish, priced where the dish has no price. ``free``: costs nothing unless it has a price.
    """

    name: str
    keys: tuple[str, ...]
    amount_mg: int | Fraction
    alike: tuple[tuple[str, Fraction], ...] = ()
    parts: tuple["PricedItem", ...] = ()
    free: bool = False


class PriceBook(NamedTuple):
    """Prices in one currency: of foods by id or name, and of a school meal."""

    currency: str
    foods: Mapping[str, Sequence[Price]]
    meals: Sequence[MealPrice]


class PricedDay(NamedTuple):
    """A day with a lunch to price; ``kind``: packed, with its items, or bought."""

    on: date
    kind: str
    items: tuple[PricedItem, ...]


class DayCost(NamedTuple):
    """A day's cost as far as prices are known; ``unpriced``: items (or the meal) without a price that day.

    ``meal_price``: whose price of the meal was used, ``child`` or ``menu``; None where none was. ``not_counted``: prices of
    what was eaten that hold on the day, in another currency.
    """

    exact: Fraction
    unpriced: tuple[str, ...]
    meal_price: str | None = None
    not_counted: tuple[NotCounted, ...] = ()


class KindCost(NamedTuple):
    """What the packed or the bought lunches of a week cost; ``complete``: everything has a price."""

    days: int
    exact: Fraction
    complete: bool


class WeekCost(NamedTuple):
    """What the lunches of a week cost, day by day, by kind and together."""

    currency: str
    days: list[tuple[PricedDay, DayCost]]
    packed: KindCost
    bought: KindCost
    exact: Fraction
    unpriced: list[str]
    not_counted: list[NotCounted]


Dated = TypeVar("Dated", Price, MealPrice)


def currency_of_most(priced: Iterable[tuple[str, str]]) -> str:
    """The currency in which most things are priced, the one given last if as many are in it; empty for no price.

    ``priced``: what each price is of and its currency, oldest first; the last of each thing counts.

    >>> currency_of_most([("milk", "EUR"), ("apple", "USD"), ("pear", "EUR"), ("milk", "USD")])
    'USD'
    """
    latest: dict[str, str] = {}
    places: dict[str, int] = {}
    for place, (thing, currency) in enumerate(priced):
        latest[thing] = currency
        places[currency] = place
    things = Counter(latest.values())
    return max(things, key=lambda one: (things[one], places[one]), default="")


def price_on(prices: Sequence[Dated], on: date) -> Dated | None:
    """The price in force on a day: the latest that has begun, if it has not ended. None that it replaced comes back.

    >>> prices = [MealPrice(date(2026, 1, 1), 280), MealPrice(date(2026, 9, 1), 300)]
    >>> price_on(prices, date(2026, 8, 31)).amount_minor
    280
    >>> price_on(prices, date(2025, 12, 31)) is None
    True
    >>> price_on([*prices, MealPrice(date(2026, 11, 2), 0, until=date(2026, 11, 30))], date(2026, 12, 1)) is None
    True
    """
    begun = [price for price in prices if price.from_day <= on]
    latest = max(begun, key=lambda price: price.from_day, default=None)
    return None if latest is None or (latest.until is not None and latest.until < on) else latest


def packs_on(prices: Sequence[Price], on: date) -> list[Price]:
    """The price in force on a day of each size of pack, the lightest first; in whatever currency.

    >>> large, small = Price(date(2026, 1, 1), 300, 1_000_000), Price(date(2026, 3, 1), 200, 500_000)
    >>> [price.pack_mg for price in packs_on([large, small], date(2026, 3, 1))]
    [500000, 1000000]
    """
    sizes = sorted({price.pack_mg for price in prices})
    found = [price_on([price for price in prices if price.pack_mg == size], on) for size in sizes]
    return [price for price in found if price is not None]


def packed_cost(items: Sequence[PricedItem], prices: Mapping[str, Sequence[Price]], on: date) -> DayCost:
    """What a packed lunch cost on a day.

    ``items``: amounts in milligrams; ``prices``: by food id or name, in minor units for a pack. Source: ours.

    >>> prices = {"apple": [Price(date(2026, 1, 1), 200, 1_000_000)]}  # 2.00 for a kilogram
    >>> lunch = [PricedItem("apple", ("apple",), 182_000), PricedItem("cake", ("cake",), 50_000)]
    >>> cost = packed_cost(lunch, prices, date(2026, 11, 23))
    >>> rounded(cost.exact), cost.unpriced
    (36, ('cake',))
    """
    exact = Fraction(0)
    unpriced: dict[str, None] = {}
    not_counted: dict[NotCounted, None] = {}
    for item in items:
        packs = _packs_of(item, prices, on)
        not_counted |= dict.fromkeys(NotCounted(item.name, one) for _mg, some in packs for one in some if one.elsewhere)
        own = _own_cost(packs)
        if own is not None:
            exact += own
        elif item.parts:
            inside = packed_cost(item.parts, prices, on)
            exact += inside.exact
            unpriced |= dict.fromkeys(inside.unpriced)
            not_counted |= dict.fromkeys(inside.not_counted)
        elif not item.free:
            unpriced[item.name] = None
    return DayCost(exact, tuple(unpriced), not_counted=tuple(not_counted))


def _packs_of(item: PricedItem, prices: Mapping[str, Sequence[Price]], on: date) -> list[tuple[Fraction, list[Price]]]:
    """The packs of an item that hold on a day, and of the same food in another state, each with the amount it would take."""
    # The id first, since several foods may share a name.
    keys = (*((key, Fraction(item.amount_mg)) for key in item.keys), *item.alike)
    return [(Fraction(amount), packs_on(prices.get(key, ()), on)) for key, amount in keys]


def _own_cost(packs: Sequence[tuple[Fraction, Sequence[Price]]]) -> Fraction | None:
    """What an item costs by the first of its packs that are counted; None where there is none yet."""
    for amount_mg, some in packs:
        counted = [price.per_mg for price in some if not price.elsewhere]
        if counted:
            return amount_mg * min(counted)
    return None


def meal_price_on(meals: Sequence[MealPrice], on: date, child: int | None) -> MealPrice | None:
    """What a school meal costs a child on a day: its own price, once that has begun, else the menu's.

    >>> meals = [MealPrice(date(2026, 9, 1), 310), MealPrice(date(2026, 11, 2), 40, child=1)]
    >>> [meal_price_on(meals, date(2026, 11, day), 1).amount_minor for day in (1, 2)]
    [310, 40]
    >>> meal_price_on(meals, date(2026, 11, 2), 0).amount_minor
    310
    """
    own = price_on([one for one in meals if one.child is not None and one.child == child], on)
    return price_on([one for one in meals if one.child is None], on) if own is None else own


def bought_cost(meals: Sequence[MealPrice], on: date, name: str, child: int | None) -> DayCost:
    """What a bought lunch cost a child on a day; not known where the price that it pays is in another currency.

    ``name``: what the meal is called where it has no price. Minor units.
    """
    price = meal_price_on(meals, on, child)
    if price is None:
        return DayCost(Fraction(0), (name,))
    if price.elsewhere:
        return DayCost(Fraction(0), (name,), not_counted=(NotCounted("", price),))
    return DayCost(Fraction(price.amount_minor), (), "menu" if price.child is None else "child")


def week_cost(days: Sequence[PricedDay], book: PriceBook, child: int = 0) -> WeekCost:
    """What the lunches of a week cost a child; every sum is exact. ``child``: its place in the prices of meals.

    >>> book = PriceBook("GBP", {}, [MealPrice(date(2026, 1, 1), 280)])
    >>> cost = week_cost([PricedDay(date(2026, 11, 23), "bought", ())], book)
    >>> cost.bought.days, cost.exact, cost.bought.complete
    (1, Fraction(280, 1), True)
    """
    costs = [
        (day, bought_cost(book.meals, day.on, MEAL, child))
        if day.kind == "bought"
        else (day, packed_cost(day.items, book.foods, day.on))
        for day in days
    ]
    return WeekCost(
        book.currency,
        costs,
        kind_cost("packed", costs),
        kind_cost("bought", costs),
        sum((cost.exact for _day, cost in costs), Fraction(0)),
        sorted({name for _day, cost in costs for name in cost.unpriced}),
        list(dict.fromkeys(one for _day, cost in costs for one in cost.not_counted)),
    )


def kind_cost(kind: str, costs: Sequence[tuple[PricedDay, DayCost]]) -> KindCost:
    """The part of a week's cost that is packed, or bought."""
    mine = [cost for day, cost in costs if day.kind == kind]
    exact = sum((cost.exact for cost in mine), Fraction(0))
    return KindCost(len(mine), exact, not any(cost.unpriced for cost in mine))


def rounded(exact: Fraction) -> int:
    """Whole minor units, half up.

    >>> rounded(Fraction(5, 2))
    3
    """
    return (2 * exact.numerator + exact.denominator) // (2 * exact.denominator)
