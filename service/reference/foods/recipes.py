"""Recipes of reference_data/foods/recipes.toml: figures, credits and allergens are computed from lunch foods."""

from collections.abc import Callable, Mapping
from decimal import Decimal
from fractions import Fraction
from functools import cache, lru_cache

from pydantic import Field

from service.domain.errors import ReferenceFault
from service.domain.foods.amounts import credit_option
from service.domain.foods.food import Food, Handling, HouseholdUnit, Piece
from service.domain.foods.recipes import Ingredient, compose
from service.reference.files import FileModel, data_path, read_toml
from service.reference.foods.discretionary import share_that_makes_a_dish_one
from service.reference.foods.lunch_foods import lunch_foods, salted_kind


class IngredientRow(FileModel):
    """One lunch food and its grams as put in."""

    food: str
    grams: Decimal = Field(gt=0)
    credit_as: str | None = None
    form: str | None = None
    """How it is cut in the dish; left out: in its usual form."""


class RecipeRow(FileModel):
    """One recipe."""

    id: str
    name: str
    search_words: list[str] = []
    ingredients: list[IngredientRow] = Field(min_length=1)
    weight_change_percent: Decimal = Decimal(0)
    portions: dict[str, Decimal] = Field(min_length=1)
    forms: list[str] = []
    choking_rule: str = ""
    freezing: str = ""
    storage: str = ""
    source: str
    note: str = ""


class RecipeFile(FileModel):
    """All recipes."""

    note: str = ""
    recipe: list[RecipeRow]


@lru_cache(maxsize=1)
def _file() -> RecipeFile:
    return read_toml(data_path("foods/recipes.toml"), RecipeFile)


def recipe_rows() -> list[RecipeRow]:
    """The rows of the file: for their names, without figures being computed."""
    return _file().recipe


@lru_cache(maxsize=1)
def recipe_parts() -> Mapping[str, tuple[tuple[str, int], ...]]:
    """Recipe id -> lunch food id and milligrams as put in, of each ingredient."""
    return {row.id: tuple((one.food, int(one.grams * 1000)) for one in row.ingredients) for row in _file().recipe}


@lru_cache(maxsize=1)
def recipes() -> Mapping[str, Food]:
    """All recipes by id, computed once."""
    found: dict[str, Food] = {}
    for row in _file().recipe:
        if row.id in found or lunch_foods().get(row.id) is not None:
            raise _fault(row.id, "id", "appears twice", "Give each food a different id.")
        found[row.id] = _computed(row.id)
    return found


def find_recipe(recipe_id: str) -> Food | None:
    """One recipe by id, computed with the first that asks for it, or None.

    >>> find_recipe("sandwich-cheese") is recipes()["sandwich-cheese"]
    True
    """
    return _computed(recipe_id) if recipe_id in recipe_parts() else None


@cache
def _computed(recipe_id: str) -> Food:
    return recipe_of(recipe_id, lunch_foods().get)


def recipe_of(recipe_id: str, food_of: Callable[[str], Food | None]) -> Food:
    """A recipe of the file, computed from the foods given, such as those whose packets were read.

    >>> recipe_of("sandwich-cheese", lunch_foods().get).name == recipes()["sandwich-cheese"].name
    True
    """
    return _dish(next(row for row in _file().recipe if row.id == recipe_id), food_of)


@lru_cache(maxsize=128)
def in_salted_water(food_id: str) -> Food | None:
    """A lunch food or dish as it is where the water for cooking is salted, under its own id; None where that changes nothing."""
    salted = salted_kind(food_id)
    if salted is not None:
        return salted
    for row in _file().recipe:
        if row.id == food_id and any(salted_kind(one.food) for one in row.ingredients):
            return _dish(row, lambda part: salted_kind(part) or lunch_foods().get(part))
    return None


def _dish(row: RecipeRow, food_of: Callable[[str], Food | None]) -> Food:
    ingredients = []
    for asked in row.ingredients:
        food = food_of(asked.food)
        if food is None:
            raise _fault(row.id, asked.food, "is not a lunch food", "Give an id of lunch_foods.csv.")
        if asked.form is not None and asked.form not in food.handling.forms:
            raise _fault(row.id, asked.form, f"is not a form of {food.id}", "Give one of its forms.")
        form = asked.form or next(iter(food.handling.forms), None)
        option = credit_option(food, asked.credit_as)
        ingredients.append(Ingredient(food, int(asked.grams * 1000), option, form))
    dish = compose(
        recipe_id=row.id,
        name=row.name,
        ingredients=ingredients,
        weight_change_percent=Fraction(row.weight_change_percent),
        discretionary_share=share_that_makes_a_dish_one(),
        units=[HouseholdUnit(name, int(grams * 1000), row.source) for name, grams in row.portions.items()],
        search_words=row.search_words,
        note=row.note,
    )
    return _kept(dish, row)


def _kept(dish: Food, row: RecipeRow) -> Food:
    from dataclasses import replace

    pieces = dish.handling.pieces
    if row.choking_rule and all(piece.choking_rule != row.choking_rule for piece in pieces):
        pieces += (Piece(row.name, row.choking_rule, next(iter(row.forms), None), True),)
    handling = Handling(
        forms=tuple(row.forms),
        choking_rule=row.choking_rule,
        perishable=dish.handling.perishable,
        storage=row.storage,
        freezing=row.freezing,
        pieces=pieces,
    )
    return replace(dish, handling=handling, everyday=True)


def _fault(recipe: str, value: str, problem: str, remedy: str) -> ReferenceFault:
    return ReferenceFault(pointer=f"foods/recipes.toml#/{recipe}", value=value, problem=problem, remedy=remedy)
