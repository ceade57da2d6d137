"""The prices that matter for some days."""

from collections import Counter
from datetime import date
from typing import Any
from uuid import UUID

from sqlalchemy import Connection, exists, select

from service.store.tables import prices

_CURRENCY = prices.c.body["currency"].as_string()


def bodies_of_prices(connection: Connection, household: UUID, first: date, last: date) -> list[dict[str, Any]]:
    """The prices that hold on any day from one to another, oldest first, in the currency of most things.

    Of each thing: the price that held on the first day, and every later one up to the last day. Currencies are never
    mixed or converted: the one in which most things are priced on the last day counts (the latest, if as many), so that
    one price in another currency does not take away the cost of the rest. A thing that has its price in another currency
    by then has none: its older price holds no longer.
    """
    known = select(prices.c.what, _CURRENCY.label("currency")).where(
        prices.c.household_id == household, prices.c.from_day <= last
    )
    rows = connection.execute(known.order_by(prices.c.from_day, prices.c.id)).all()
    in_force = {row.what: row.currency for row in rows}  # the latest of each thing
    things = Counter(in_force.values())
    latest = {row.currency: place for place, row in enumerate(rows)}
    currency = max(things, key=lambda one: (things[one], latest[one]), default=None)
    if currency is None:
        return []
    later = prices.alias()
    replaced = exists().where(
        later.c.household_id == household,
        later.c.what == prices.c.what,
        later.c.from_day > prices.c.from_day,
        later.c.from_day <= first,
        later.c.body["currency"].as_string() == currency,
    )
    query = (
        select(prices.c.what, prices.c.body)
        .where(prices.c.household_id == household, prices.c.from_day <= last, currency == _CURRENCY, ~replaced)
        .order_by(prices.c.from_day, prices.c.id)
    )
    return [row.body for row in connection.execute(query) if in_force[row.what] == currency]
