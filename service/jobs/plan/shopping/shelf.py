"""The packs of a shop: which a food is sold in on a day, by the prices of a request."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import NamedTuple

from service.domain.plan.packs import Pack
from service.domain.weeks.cost import Price, PriceBook, packs_on


class Shelf(NamedTuple):
    """The packs of each food, by its id or name, in one currency; None: no price is known.

    ``elsewhere``: prices that hold on the day in another currency, by the same.
    """

    currency: str | None
    packs: Mapping[str, Sequence[Pack]]
    elsewhere: Mapping[str, Sequence[Price]]

    def of(self, keys: Iterable[str]) -> Sequence[Pack]:
        """The packs of the first of these keys that has any."""
        return next((self.packs[key] for key in keys if key in self.packs), ())


EMPTY = Shelf(None, {}, {})


def shelf_on(book: PriceBook | None, day: date) -> Shelf:
    """The packs for sale on a day: of each food and size the one of the latest price that has begun and not ended."""
    if book is None:
        return EMPTY
    packs: dict[str, list[Pack]] = {}
    elsewhere: dict[str, list[Price]] = {}
    for food, prices in book.foods.items():
        for price in packs_on(prices, day):
            if price.elsewhere:
                elsewhere.setdefault(food, []).append(price)
            else:
                packs.setdefault(food, []).append(Pack(price.pack_mg, price.amount_minor))
    return Shelf(book.currency, packs, elsewhere)
