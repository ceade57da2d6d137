"""The ingredients of a dish, in an amount of it."""

from collections.abc import Iterator
from fractions import Fraction
from typing import NamedTuple

from service.domain.foods.food import Food
from service.domain.foods.packets import Packets
from service.jobs.foods.resolve import food_of
from service.jobs.requests.foods import LabelFood, Recipe
from service.reference.foods.recipes import recipe_parts, recipe_rows


class IngredientIn(NamedTuple):
    """A food in a dish: as it was sent, its amount as put in, in milligrams, and how it is cut; None: not said."""

    sent: str | LabelFood
    amount_mg: Fraction
    form: str | None


def ingredients_of(sent: str | LabelFood | Recipe, food: Food, amount_mg: Fraction) -> Iterator[IngredientIn]:
    """What goes into so much of a dish; nothing for what is no dish. Weights are as put in, before anything cooks away.

    >>> from service.reference.foods.catalogue import find_food
    >>> dish = find_food("sandwich-cheese")
    >>> [(one.sent, float(one.amount_mg)) for one in ingredients_of("sandwich-cheese", dish, Fraction(dish.basis_mg * 2))]
    [('bread-whole-wheat', 128000.0), ('cheese-cheddar', 56700.0), ('butter', 10000.0)]
    """
    share = amount_mg / food.basis_mg
    if isinstance(sent, Recipe):
        for one in sent.ingredients:
            yield IngredientIn(one.food, round(one.grams * 1000) * share, one.form)
    elif isinstance(sent, str) and sent in recipe_parts():
        for row in next(one for one in recipe_rows() if one.id == sent).ingredients:
            yield IngredientIn(row.food, Fraction(row.grams) * 1000 * share, row.form)


class Made(NamedTuple):
    """An ingredient as a food."""

    food: Food
    sent: str | LabelFood
    amount_mg: Fraction
    form: str | None


def made_of(sent: str | LabelFood | Recipe, food: Food, amount_mg: Fraction, packets: Packets) -> list[Made]:
    """The ingredients as foods, with the packets that were read of them; the food itself where it is no dish."""
    found = [
        Made(food_of(one.sent, packets), one.sent, one.amount_mg, one.form)
        for one in ingredients_of(sent, food, amount_mg)
    ]
    return found or ([] if isinstance(sent, Recipe) else [Made(food, sent, amount_mg, None)])
