"""The prices that matter for some days."""

from collections import Counter
from collections.abc import Mapping
from datetime import date
from typing import Any, NamedTuple
from uuid import UUID

from sqlalchemy import Connection, exists, select

from service.store.tables import prices

_CURRENCY = prices.c.body["currency"].as_string()


class InForce(NamedTuple):
    """The currency in which most things are priced on a day; by what the price is of, the day from which it was last in that currency all along."""

    currency: str
    since: Mapping[str, date]


def in_force(connection: Connection, household: UUID, on: date) -> InForce | None:
    """The currency that counts on a day (the latest, if as many things are priced in it), and what is priced in it; None for no price."""
    known = select(prices.c.what, prices.c.from_day, _CURRENCY.label("currency")).where(
        prices.c.household_id == household, prices.c.from_day <= on
    )
    latest: dict[str, str] = {}
    since: dict[str, date] = {}
    places: dict[str, int] = {}
    for place, row in enumerate(connection.execute(known.order_by(prices.c.from_day, prices.c.id))):
        if latest.get(row.what) != row.currency:
            since[row.what] = row.from_day
        latest[row.what] = row.currency
        places[row.currency] = place
    if not latest:
        return None
    things = Counter(latest.values())
    currency = max(things, key=lambda one: (things[one], places[one]))
    return InForce(currency, {what: since[what] for what, one in latest.items() if one == currency})


def prices_of(connection: Connection, household: UUID, what: str) -> list[UUID]:
    """The ids of all prices of one thing."""
    query = select(prices.c.id).where(prices.c.household_id == household, prices.c.what == what)
    return list(connection.execute(query.order_by(prices.c.id)).scalars())


def bodies_of_prices(connection: Connection, household: UUID, first: date, last: date) -> list[dict[str, Any]]:
    """The prices that hold on any day from one to another, oldest first, in the currency of most things.

    Of each thing: the price that held on the first day, and every later one up to the last day. Currencies are never
    mixed or converted: the one in which most things are priced on the last day counts, so that
    one price in another currency does not take away the cost of the rest. A thing that has its price in another currency
    by then has none, and what it cost before a price in another currency is not counted for the days after that either.
    """
    counted = in_force(connection, household, last)
    if counted is None:
        return []
    later = prices.alias()
    replaced = exists().where(
        later.c.household_id == household,
        later.c.what == prices.c.what,
        later.c.from_day > prices.c.from_day,
        later.c.from_day <= first,
        later.c.body["currency"].as_string() == counted.currency,
    )
    query = (
        select(prices.c.what, prices.c.from_day, prices.c.body)
        .where(prices.c.household_id == household, prices.c.from_day <= last, counted.currency == _CURRENCY, ~replaced)
        .order_by(prices.c.from_day, prices.c.id)
    )
    return [
        row.body
        for row in connection.execute(query)
        if row.what in counted.since and row.from_day >= counted.since[row.what]
    ]
