"""The prices of a request as a book in one currency, and what each item may be priced under."""

from collections.abc import Sequence
from datetime import date
from fractions import Fraction
from typing import TypedDict

from service.domain.errors import BadInput, Faults, Place
from service.domain.foods.food import Food
from service.domain.messages import Message, message
from service.domain.weeks.cost import MealPrice, Price, PriceBook, PricedItem
from service.jobs.foods.resolve import food_of
from service.jobs.requests.fields import is_kept_id
from service.jobs.requests.foods import LabelFood, Recipe
from service.jobs.weeks.requests import MealPriceAsked, PriceAsked, WeekRequest
from service.reference.foods.bought_as import bought_as, is_free
from service.reference.foods.catalogue import find_food
from service.reference.foods.recipes import recipe_parts
from service.reference.plan.buying import bought_for_eaten


class _Dated(TypedDict):
    until: date | None
    elsewhere: str


def price_book(prices: Sequence[PriceAsked], school_meal: Sequence[MealPriceAsked]) -> PriceBook | None:
    """The prices of foods and of the school's meal as a book; None if there are none.

    Raises ``BadInput`` for a second currency that was sent, and for two prices from the same day, of packs of one food and
    weight or of the meal for the same child. A stored price in another currency is in the book, and not counted.
    """
    given = [*prices, *school_meal]
    if not given:
        return None
    currency = next((one for one in given if not one.elsewhere), given[0]).currency

    def dated(one: PriceAsked | MealPriceAsked) -> _Dated:
        return {"until": one.until, "elsewhere": "" if one.currency == currency else one.currency}

    faults = Faults()
    places = [("prices", place) for place in range(len(prices))]
    places += [("school_meal", place) for place in range(len(school_meal))]
    for where, one in zip(places, given, strict=True):
        if one.currency != currency and not one.elsewhere:
            problem = message("fault.other-currency", currency=currency)
            faults.add(BadInput(field=(*where, "currency"), value=one.currency, problem=problem))
    foods: dict[str, dict[tuple[int, date], Price]] = {}
    meals: dict[tuple[int | None, date], MealPrice] = {}
    for place, one in enumerate(prices):
        pack_mg = max(1, round(one.pack_grams * 1000))
        known = foods.setdefault(one.food, {})
        if (pack_mg, one.from_) in known:
            faults.add(_twice(("prices", place, "from"), one.from_, message("fault.pack-twice", grams=one.pack_grams)))
        known[pack_mg, one.from_] = Price(one.from_, one.amount_minor, pack_mg, **dated(one))
    for place, meal in enumerate(school_meal):
        if (meal.child, meal.from_) in meals:
            faults.add(_twice(("school_meal", place, "from"), meal.from_, message("fault.price-twice")))
        meals[meal.child, meal.from_] = MealPrice(meal.from_, meal.amount_minor, meal.child, **dated(meal))
    faults.raise_all()
    return PriceBook(currency, {food: list(known.values()) for food, known in foods.items()}, list(meals.values()))


def names_of_no_food(asked: WeekRequest) -> list[str]:
    """What prices are given for and is neither a food of the tables, nor stored, nor sent along in the days."""
    sent = {name for day in asked.days for item in day.items for name in _names(item.food)}
    named = dict.fromkeys(one.food for one in asked.prices)
    return [one for one in named if one not in sent and not is_kept_id(one) and find_food(one) is None]


def _names(food: str | LabelFood | Recipe) -> list[str]:
    if isinstance(food, str):
        return []
    inside = food.ingredients if isinstance(food, Recipe) else []
    return [food.name, *(name for one in inside for name in _names(one.food))]


def priced_item(sent: str | LabelFood | Recipe, food: Food, amount_mg: int | Fraction) -> PricedItem:
    """An item to price: under its own price, that of the same food raw or cooked, or a dish by its ingredients.

    What is priced is what is bought for it, with its peel, core or shell; ``amount_mg``: as it is eaten.
    """
    same = bought_as().get(food.id, ())
    alike = tuple((other, factor * amount_mg * bought_for_eaten(other)) for other, factor in same)
    share = Fraction(amount_mg) / food.basis_mg
    parts: list[PricedItem] = []
    if isinstance(sent, Recipe):
        for one in sent.ingredients:
            grams = round(one.grams * 1000) * share
            parts.append(priced_item(one.food, food_of(one.food), grams))
    else:
        for food_id, part_mg in recipe_parts().get(food.id, ()):
            parts.append(priced_item(food_id, food_of(food_id), part_mg * share))
    own = amount_mg * bought_for_eaten(food.id)
    return PricedItem(food.name, _price_keys(food), own, alike, tuple(parts), is_free(food.id))


def _price_keys(food: Food) -> tuple[str, ...]:
    """What a food may be priced under: one of the tables by its id; a label or recipe by its own id, then its name.

    A label that is named like the id of another food does not take that food's price.
    """
    by_name = find_food(food.id) is None and find_food(food.name) is None
    return (food.id, food.name) if by_name else (food.id,)


def _twice(field: Place, day: date, problem: Message) -> BadInput:
    return BadInput(field=field, value=day.isoformat(), problem=problem)
