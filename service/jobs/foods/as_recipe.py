"""A dish, and a packed lunch, as schema.org Recipe with its NutritionInformation (JSON-LD).

Amounts are texts of a number and a unit, as schema.org has them for Energy and Mass. A figure that is not known is left
out, since a sum without it would be read as the whole. Source: schema.org, Recipe and NutritionInformation.
"""

from collections.abc import Iterable, Mapping
from typing import Any

from service.domain.messages import message
from service.reference.foods.catalogue import find_food
from service.reference.foods.recipes import recipe_parts, recipe_rows
from service.reference.messages import say

Linked = dict[str, Any]

PROPERTIES = {
    "energy_kcal": "calories",
    "fat_g": "fatContent",
    "saturated_fat_g": "saturatedFatContent",
    "cholesterol_mg": "cholesterolContent",
    "carbohydrate_g": "carbohydrateContent",
    "sugars_g": "sugarContent",
    "fibre_g": "fiberContent",
    "protein_g": "proteinContent",
    "sodium_mg": "sodiumContent",
}
"""The measures that NutritionInformation has a property for."""
MOST_SPREAD = 0.2
"""From the least to the most that a sum can be, as a share of it: a wider one is not written; our choice."""


def table_dish_as_recipe(reply: Mapping[str, Any]) -> Linked | None:
    """A dish of the tables by its reply (``show_food``); None for a food that is no dish."""
    parts = recipe_parts().get(reply["id"])
    if parts is None:
        return None
    row = next(one for one in recipe_rows() if one.id == reply["id"])
    grams = [mg / 1000 for _part, mg in parts]
    cooked = sum(grams) * (1 + float(row.weight_change_percent) / 100)
    names = [_name(part) for part, _mg in parts]
    return dish_as_recipe(reply, zip(names, grams, strict=True), cooked / reply["portions"][0]["grams"])


def dish_as_recipe(reply: Mapping[str, Any], ingredients: Iterable[tuple[str, float]], portions: float) -> Linked:
    """A dish by its reply, its ingredients as name and grams, and how many of its usual portion they make."""
    portion = reply["portions"][0]
    figures = {
        measure: (known["amount"] * portion["grams"] / 100, known["unit"])
        for measure, known in reply["per_100g"].items()
        if known["amount"] is not None
    }
    serving = say(message("food-amount.itself", quantity=1.0, unit=portion["unit"]))
    return {
        "@context": "https://schema.org",
        "@type": "Recipe",
        "identifier": reply["id"],
        "name": reply["name"],
        "recipeYield": _number(portions),
        "recipeIngredient": [f"{_number(grams)} g {name}" for name, grams in ingredients],
        "nutrition": _nutrition(figures, f"{serving} ({_number(portion['grams'])} g)"),
        "citation": reply["source"],
    }


def lunch_as_recipe(reply: Mapping[str, Any]) -> Linked:
    """A lunch by the reply to its check: what is packed, and the sums over it as far as they are known."""
    figures = {measure: (total["amount"], total["unit"]) for measure, total in reply["totals"].items() if _known(total)}
    items = reply["items"]
    grams = sum(one["grams"] for one in items)
    return {
        "@context": "https://schema.org",
        "@type": "Recipe",
        "name": say(message("as-recipe.lunch")),
        "recipeYield": "1",
        "recipeIngredient": [f"{_number(one['grams'])} g {one['name']}" for one in items],
        "nutrition": _nutrition(figures, f"{_number(grams)} g"),
        "citation": list(dict.fromkeys(one["source"] for one in items)),
    }


def _known(total: Mapping[str, Any]) -> bool:
    if total["complete"]:
        return True
    return total["high"] is not None and total["high"] - total["low"] <= MOST_SPREAD * total["amount"]


def _nutrition(figures: Mapping[str, tuple[float, str]], serving: str) -> Linked:
    written = {
        name: f"{_number(figures[measure][0])} {figures[measure][1]}"
        for measure, name in PROPERTIES.items()
        if measure in figures
    }
    return {"@type": "NutritionInformation", "servingSize": serving, **written}


def _name(food_id: str) -> str:
    food = find_food(food_id)
    return food_id if food is None else food.name


def _number(value: float) -> str:
    """At most two places, none that are nil.

    >>> _number(97.35), _number(4.0), _number(1200.0)
    ('97.35', '4', '1200')
    """
    return f"{value:.2f}".rstrip("0").rstrip(".")
