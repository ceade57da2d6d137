"""What the pages of the dishes show."""

from dataclasses import dataclass, field

from service.reference.foods.pictures import picture_of
from service.web.conflicts import Conflict
from service.web.dishes.form import Row
from service.web.foods.shown import Comes, FoodRow
from service.web.forms import Form


@dataclass(frozen=True)
class DishesView:
    """The context of ``dishes/dishes.html``. ``asked``: words that names are searched for."""

    asked: str
    dishes: list[FoodRow]


@dataclass(frozen=True)
class IngredientRow:
    """One ingredient of the form, with its picture and the measures that it can be given in."""

    number: int
    food: str
    name: str
    picture: str
    units: list[str]


@dataclass(frozen=True)
class DishView:
    """The context of ``dishes/dish.html``. ``id``: empty for a new one.

    ``found``: foods that can be added, for ``asked``. ``comes``: what a portion comes to, as it is kept, or None.
    """

    id: str
    name: str
    version: str
    form: Form
    rows: list[IngredientRow]
    asked: str = ""
    found: list[FoodRow] = field(default_factory=list)
    comes: Comes | None = None
    conflict: Conflict | None = None


def ingredient_rows(rows: list[Row]) -> list[IngredientRow]:
    """The rows with their pictures."""
    return [
        IngredientRow(one.number, one.food, one.name, picture_of(one.name, one.category), one.units) for one in rows
    ]
