"""The prices of a request as a book in one currency, and what each item may be priced under."""

from collections.abc import Sequence
from fractions import Fraction

from service.domain.errors import BadInput, Faults, Place
from service.domain.foods.food import Food
from service.domain.messages import message
from service.domain.weeks.cost import MealPrice, Price, PriceBook, PricedItem
from service.jobs.foods.resolve import food_of
from service.jobs.requests.fields import is_kept_id
from service.jobs.requests.foods import LabelFood, Recipe
from service.jobs.weeks.requests import MealPriceAsked, PriceAsked, WeekRequest
from service.reference.foods.bought_as import bought_as, is_free
from service.reference.foods.catalogue import find_food
from service.reference.foods.recipes import recipe_parts
from service.reference.plan.buying import bought_for_eaten


def price_book(prices: Sequence[PriceAsked], school_meal: Sequence[MealPriceAsked]) -> PriceBook | None:
    """The prices of foods and of the school's meal as a book; None if there are none.

    Raises ``BadInput`` for a second currency, and for two prices of one food from the same day.
    """
    faults = Faults()
    currency = ""
    foods: dict[str, list[Price]] = {}
    meals: list[MealPrice] = []
    places = [(("prices", place), one.currency) for place, one in enumerate(prices)]
    places += [(("school_meal", place), one.currency) for place, one in enumerate(school_meal)]
    for where, given in places:
        currency = currency or given
        if given != currency:
            faults.add(
                BadInput(
                    field=(*where, "currency"),
                    value=given,
                    problem=message("fault.other-currency", currency=currency),
                )
            )
    for place, one in enumerate(prices):
        price = Price(one.from_, one.amount_minor, round(one.pack_grams * 1000))
        known = foods.setdefault(one.food, [])
        if any(other.from_day == price.from_day for other in known):
            faults.add(_twice(("prices", place, "from"), one.from_.isoformat()))
        known.append(price)
    for place, meal in enumerate(school_meal):
        if any((other.child, other.from_day) == (meal.child, meal.from_) for other in meals):
            faults.add(_twice(("school_meal", place, "from"), meal.from_.isoformat()))
        meals.append(MealPrice(meal.from_, meal.amount_minor, meal.child))
    faults.raise_all()
    return PriceBook(currency, foods, meals) if currency else None


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


def _twice(field: Place, value: str) -> BadInput:
    return BadInput(field=field, value=value, problem=message("fault.price-twice"))
