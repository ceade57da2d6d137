"""The cost of a week as it is published: by day, by kind, and rounded once."""

from collections.abc import Iterable, Sequence
from typing import Any

from service.domain.messages import Message, Value, message
from service.domain.weeks.cost import MEAL, KindCost, MealPrice, NotCounted, Price, WeekCost, rounded
from service.domain.weeks.words import cost_message
from service.reference.messages import worded

Reply = dict[str, Any]


def cost_rows(cost: WeekCost, names: Sequence[str]) -> Reply:
    """The cost of a week by day and by kind; every sum is rounded once. ``names``: of the children, by their places."""
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
        "not_counted": not_counted_rows(cost.not_counted, cost.currency, names),
        "household": None,
        **worded(
            cost_message(
                cost.currency,
                decimals_of(cost.currency),
                kinds,
                without_price(cost),
                own_price_days(cost),
                not_counted_messages(cost.not_counted, cost.currency, names),
            )
        ),
    }


def without_price(cost: WeekCost) -> list[str]:
    """What has no price in any currency."""
    other = {one.name or MEAL for one in cost.not_counted}
    return [name for name in cost.unpriced if name not in other]


def not_counted_rows(found: Iterable[NotCounted], currency: str, names: Sequence[str]) -> list[Reply]:
    """Prices that are not counted, because costs are told in ``currency``; ``names``: of the children, by their places."""
    return [
        {
            "name": one.name or None,
            "child": _payer(one, names),
            "amount_minor": one.price.amount_minor,
            "currency": one.price.elsewhere,
            "pack_grams": one.price.pack_mg / 1000 if isinstance(one.price, Price) else None,
            "from": one.price.from_day.isoformat(),
            **worded(_not_counted(one, currency, names)),
        }
        for one in found
    ]


def not_counted_messages(found: Iterable[NotCounted], currency: str, names: Sequence[str]) -> list[Message]:
    """The same, each in words."""
    return [_not_counted(one, currency, names) for one in found]


def _payer(one: NotCounted, names: Sequence[str]) -> str | None:
    return names[one.price.child] if isinstance(one.price, MealPrice) and one.price.child is not None else None


def _not_counted(one: NotCounted, currency: str, names: Sequence[str]) -> Message:
    price = one.price
    said: dict[str, Value] = {
        "amount": price.amount_minor,
        "other": price.elsewhere,
        "digits": decimals_of(price.elsewhere),
        "currency": currency,
    }
    if isinstance(price, Price):
        return message("cost.pack-not-counted", **said, name=one.name, grams=price.pack_mg / 1000)
    payer = _payer(one, names)
    if payer is None:
        return message("cost.meal-not-counted", **said)
    return message("cost.own-meal-not-counted", **said, name=payer)


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
