"""From a recipe sent with a request to a food of the engine: its figures are computed."""

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from math import floor

from service.domain.errors import BadInput, Faults, at
from service.domain.foods.amounts import credit_option
from service.domain.foods.food import Food, Handling, HouseholdUnit
from service.domain.foods.recipes import Ingredient, compose
from service.domain.messages import message
from service.jobs.foods.choking_rules import NO_RULE, check_choking_rule
from service.jobs.requests.foods import LabelFood, Recipe
from service.reference.foods.discretionary import share_that_makes_a_dish_one

FindFood = Callable[[str | LabelFood], Food]

QUARTERS = 4
"""Parts of a portion that are whole milligrams, so that each is its exact share."""


def food_of_recipe(recipe: Recipe, ingredient_food: FindFood) -> Food:
    """Compute a recipe sent with a request; its usual portion is one of ``portions``.

    ``ingredient_food``: gives the food of an ingredient.

    Raises ``LunchError`` for what does not fit, all faults together (``ManyFaults``). Source: see ``domain/foods/recipes.py``.

    >>> from service.jobs.foods.resolve import food_of
    >>> dish = Recipe.model_validate(
    ...     {"name": "baked apple", "ingredients": [{"food": "apple", "grams": 300}], "portions": 2}
    ... )
    >>> food_of_recipe(dish, food_of).unit("portion").grams_mg
    150000
    """
    faults = Faults()
    ingredients: list[Ingredient] = []
    for place, asked in enumerate(recipe.ingredients):
        with faults.at("ingredients", place):
            with at("food"):
                food = ingredient_food(asked.food)
            amount = round(asked.grams * 1000)
            if not food.weighable or amount == 0:
                raise BadInput(
                    field="grams",
                    value=asked.grams,
                    problem=message("fault.not-weighed"),
                )
            ingredients.append(Ingredient(food, amount, credit_option(food, asked.credit_as), asked.form))
    with faults.at("choking_rule"):
        check_choking_rule(recipe.choking_rule)
    faults.raise_all()
    dish = compose(
        recipe_id=recipe.id or "recipe",
        name=recipe.name,
        ingredients=ingredients,
        weight_change_percent=Fraction(str(recipe.weight_change_percent)),
        discretionary_share=share_that_makes_a_dish_one(),
    )
    portions = Fraction(str(recipe.portions))
    portion = max(1, QUARTERS * floor(dish.basis_mg / portions / QUARTERS))
    # The yield in whole portions, whose quarters are whole milligrams: a third of a dish, or a quarter of that, credits as its
    # share of it, not a hair less.
    whole = min(dish.basis_mg, max(1, floor(portion * portions)))
    handling = Handling(
        choking_rule=recipe.choking_rule if recipe.choking_rule != NO_RULE else "",
        perishable=dish.handling.perishable if recipe.perishable is None else recipe.perishable,
        pieces=() if recipe.choking_rule else dish.handling.pieces,
    )
    units = (HouseholdUnit("portion", portion, "recipe, as sent"),)
    return replace(dish, kind="label", basis_mg=whole, units=units, handling=handling)
