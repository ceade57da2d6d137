"""The packs of a shop: which a food is sold in on a day, by the prices of a request."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import NamedTuple

from service.domain.errors import BadInput, Faults
from service.domain.messages import message
from service.domain.plan.packs import Pack
from service.jobs.weeks.requests import MealPriceAsked, PriceAsked


class Shelf(NamedTuple):
    """The packs of each food, by its id or name, in one currency; None: no price is known."""

    currency: str | None
    packs: Mapping[str, Sequence[Pack]]

    def of(self, keys: Iterable[str]) -> Sequence[Pack]:
        """The packs of the first of these keys that has any."""
        return next((self.packs[key] for key in keys if key in self.packs), ())


def shelf_on(prices: Sequence[PriceAsked], school_meal: Sequence[MealPriceAsked], day: date) -> Shelf:
    """The packs for sale on a day: of each food those of the latest day that has begun.

    Raises ``BadInput`` for a second currency, and for two prices of packs of one weight from the same day.
    """
    faults = Faults()
    currency: str | None = None
    given = [(("prices", place, "currency"), one.currency) for place, one in enumerate(prices)]
    given += [(("school_meal", place, "currency"), one.currency) for place, one in enumerate(school_meal)]
    for where, one in given:
        currency = currency or one
        if one != currency:
            faults.add(BadInput(field=where, value=one, problem=message("fault.other-currency", currency=currency)))
    latest: dict[str, date] = {}
    seen: set[tuple[str, date, float]] = set()
    for place, price in enumerate(prices):
        which = (price.food, price.from_, price.pack_grams)
        if which in seen:
            problem = message("fault.pack-twice", grams=price.pack_grams)
            faults.add(BadInput(field=("prices", place, "from"), value=price.from_.isoformat(), problem=problem))
        seen.add(which)
        if price.from_ <= day:
            latest[price.food] = max(price.from_, latest.get(price.food, price.from_))
    faults.raise_all()
    packs: dict[str, list[Pack]] = {}
    for price in prices:
        if latest.get(price.food) == price.from_:
            pack = Pack(max(1, round(price.pack_grams * 1000)), price.amount_minor)
            packs.setdefault(price.food, []).append(pack)
    return Shelf(currency, packs)
