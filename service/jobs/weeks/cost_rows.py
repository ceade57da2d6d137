"""The cost of a week as it is published: by day, by kind, and rounded once."""

from typing import Any

from service.domain.weeks.cost import KindCost, WeekCost, rounded
from service.domain.weeks.words import cost_message
from service.reference.messages import worded

Reply = dict[str, Any]


def cost_rows(cost: WeekCost) -> Reply:
    """The cost of a week by day and by kind; every sum is rounded once."""
    kinds = {"packed": _kind_row(cost.packed), "bought": _kind_row(cost.bought)}
    return {
        "currency": cost.currency,
        "days": [
            {
                "date": day.on.isoformat(),
                "kind": day.kind,
                "amount_minor": rounded(one.exact),
                "unpriced": list(one.unpriced),
                "meal_price": one.meal_price,
            }
            for day, one in cost.days
        ],
        **kinds,
        "amount_minor": rounded(cost.exact),
        "unpriced": cost.unpriced,
        "household": None,
        **worded(cost_message(cost.currency, decimals_of(cost.currency), kinds, cost.unpriced, own_price_days(cost))),
    }


def own_price_days(cost: WeekCost) -> int:
    """On how many days the meal was bought at the child's own price."""
    return sum(one.meal_price == "child" for _day, one in cost.days)


def decimals_of(currency: str) -> int:
    """How many decimals amounts of a currency have: none for JPY and XOF, three for KWD.

    Source: ISO 4217, by way of the Unicode CLDR in Babel.
    """
    from babel.numbers import get_currency_precision  # loaded where there are prices, to keep starting fast

    return int(get_currency_precision(currency))


def _kind_row(cost: KindCost) -> Reply:
    return {
        "days": cost.days,
        "amount_minor": rounded(cost.exact),
        "a_day_minor": rounded(cost.exact / cost.days) if cost.days else None,
        "complete": cost.complete,
    }
