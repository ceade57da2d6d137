"""The prices of a request as a book in one currency."""

from service.domain.errors import BadInput, Faults, Place
from service.domain.weeks.cost import MealPrice, Price, PriceBook
from service.jobs.weeks.requests import WeekRequest


def price_book(asked: WeekRequest) -> PriceBook | None:
    """The prices sent; None if there are none.

    Raises ``BadInput`` for a second currency, and for two prices of one food from the same day.
    """
    faults = Faults()
    currency = ""
    foods: dict[str, list[Price]] = {}
    meals: list[MealPrice] = []
    places = [(("prices", place), one.currency) for place, one in enumerate(asked.prices)]
    places += [(("school_meal", place), one.currency) for place, one in enumerate(asked.school_meal)]
    for where, given in places:
        currency = currency or given
        if given != currency:
            faults.add(
                BadInput(
                    field=(*where, "currency"),
                    value=given,
                    problem=f"is another currency than {currency}",
                    remedy="Give all prices in one currency: they are never mixed or converted.",
                )
            )
    for place, one in enumerate(asked.prices):
        price = Price(one.from_, one.amount_minor, round(one.pack_grams * 1000))
        known = foods.setdefault(one.food, [])
        if any(other.from_day == price.from_day for other in known):
            faults.add(_twice(("prices", place, "from"), one.from_.isoformat()))
        known.append(price)
    for place, meal in enumerate(asked.school_meal):
        if any(other.from_day == meal.from_ for other in meals):
            faults.add(_twice(("school_meal", place, "from"), meal.from_.isoformat()))
        meals.append(MealPrice(meal.from_, meal.amount_minor))
    faults.raise_all()
    return PriceBook(currency, foods, meals) if currency else None


def _twice(field: Place, value: str) -> BadInput:
    return BadInput(
        field=field, value=value, problem="has a price already", remedy="Give one price for each food and day."
    )
