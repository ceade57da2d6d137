"""The prices that matter for some days."""

from datetime import date
from typing import Any
from uuid import UUID

from sqlalchemy import Connection, exists, select

from service.store.tables import prices

_CURRENCY = prices.c.body["currency"].as_string()


def bodies_of_prices(connection: Connection, household: UUID, first: date, last: date) -> list[dict[str, Any]]:
    """The prices that hold on any day from one to another, oldest first, in the currency of the latest of them.

    Of each thing: the price that held on the first day, and every later one up to the last day. Currencies are never
    mixed or converted.
    """
    known = select(_CURRENCY).where(prices.c.household_id == household, prices.c.from_day <= last)
    currency = connection.execute(known.order_by(prices.c.from_day.desc(), prices.c.id.desc()).limit(1)).scalar()
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
        select(prices.c.body)
        .where(prices.c.household_id == household, prices.c.from_day <= last, currency == _CURRENCY, ~replaced)
        .order_by(prices.c.from_day, prices.c.id)
    )
    return [row.body for row in connection.execute(query)]
