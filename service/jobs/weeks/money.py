"""What the lunches of a week cost, packed against bought, as published rows."""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from typing import Any, NamedTuple

from service.domain.errors import BadInput, LunchError, raise_all
from service.domain.weeks.cost import DayCost, MealPrice, Price, PricedItem, bought_cost, packed_cost, rounded
from service.jobs.weeks.days import DayOfWeek, SchoolWeek
from service.jobs.weeks.requests import WeekRequest


class PriceBook(NamedTuple):
    """The prices of a request in one currency."""

    currency: str
    foods: Mapping[str, Sequence[Price]]
    meals: Sequence[MealPrice]


def price_book(asked: WeekRequest) -> PriceBook | None:
    """The prices sent; None if there are none.

    Raises ``BadInput`` for a second currency, and for two prices of one food from the same day.
    """
    faults: list[LunchError] = []
    currency = ""
    foods: dict[str, list[Price]] = {}
    meals: list[MealPrice] = []
    places = [(f"/prices/{place}", one.currency) for place, one in enumerate(asked.prices)]
    places += [(f"/school_meal/{place}", one.currency) for place, one in enumerate(asked.school_meal)]
    for where, given in places:
        currency = currency or given
        if given != currency:
            faults.append(
                BadInput(
                    pointer=where + "/currency",
                    value=given,
                    problem=f"is another currency than {currency}",
                    remedy="Give all prices in one currency: they are never mixed or converted.",
                )
            )
    for place, one in enumerate(asked.prices):
        price = Price(one.from_, one.amount_minor, round(one.pack_grams * 1000))
        known = foods.setdefault(one.food, [])
        if any(other.from_day == price.from_day for other in known):
            faults.append(_twice(f"/prices/{place}/from", one.from_.isoformat()))
        known.append(price)
    for place, meal in enumerate(asked.school_meal):
        if any(other.from_day == meal.from_ for other in meals):
            faults.append(_twice(f"/school_meal/{place}/from", meal.from_.isoformat()))
        meals.append(MealPrice(meal.from_, meal.amount_minor))
    raise_all(faults)
    return PriceBook(currency, foods, meals) if currency else None


def _twice(pointer: str, value: str) -> BadInput:
    return BadInput(
        pointer=pointer, value=value, problem="has a price already", remedy="Give one price for each food and day."
    )


def day_cost(day: DayOfWeek, book: PriceBook) -> DayCost:
    """What one day cost: its items as packed (eaten or not), or the school meal."""
    if day.kind == "bought":
        return bought_cost(book.meals, day.on, "school meal")
    items = [PricedItem(one.food.name, (one.food.id, one.food.name), one.amount_mg) for one in day.items]
    return packed_cost(items, book.foods, day.on)


def cost_rows(week: SchoolWeek, book: PriceBook) -> dict[str, Any]:
    """The cost of a week by day and by kind; every sum is exact and rounded once."""
    costs = [(day, day_cost(day, book)) for day in week.days if day.kind != "none"]
    kinds = {kind: _of_kind(kind, costs) for kind in ("packed", "bought")}
    total = sum((cost.exact for _day, cost in costs), Fraction(0))
    unpriced = sorted({name for _day, cost in costs for name in cost.unpriced})
    return {
        "currency": book.currency,
        "days": [
            {
                "date": day.on.isoformat(),
                "kind": day.kind,
                "amount_minor": rounded(cost.exact),
                "unpriced": list(cost.unpriced),
            }
            for day, cost in costs
        ],
        "packed": kinds["packed"],
        "bought": kinds["bought"],
        "amount_minor": rounded(total),
        "unpriced": unpriced,
        "sentence": _sentence(book.currency, kinds, unpriced),
    }


def _of_kind(kind: str, costs: Sequence[tuple[DayOfWeek, DayCost]]) -> dict[str, Any]:
    mine = [cost for day, cost in costs if day.kind == kind]
    exact = sum((cost.exact for cost in mine), Fraction(0))
    return {
        "days": len(mine),
        "amount_minor": rounded(exact),
        "a_day_minor": rounded(exact / len(mine)) if mine else None,
        "complete": not any(cost.unpriced for cost in mine),
    }


def money(minor: int, currency: str) -> str:
    """Minor units as text, with as many decimals as the currency has: none for JPY and XOF, three for KWD.

    Source: ISO 4217, by way of the Unicode CLDR in Babel.
    """
    from babel.numbers import get_currency_precision  # loaded where a price is printed, to keep starting fast

    digits = get_currency_precision(currency)
    return f"{Decimal(minor).scaleb(-digits):,.{digits}f} {currency}"


def _sentence(currency: str, kinds: Mapping[str, Mapping[str, Any]], unpriced: Sequence[str]) -> str:
    parts = []
    for kind, words in (("packed", "packed"), ("bought", "bought")):
        one = kinds[kind]
        if one["days"]:
            least = "" if one["complete"] else "at least "
            parts.append(
                f"{one['days']} {words}: {least}{money(one['amount_minor'], currency)}, "
                f"{least}{money(one['a_day_minor'], currency)} a day"
            )
    said = ("; ".join(parts) or "No lunch to price") + "."
    return said + (f" No price for: {', '.join(unpriced)}." if unpriced else "")
