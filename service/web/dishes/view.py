"""What the pages of the dishes show."""

from dataclasses import dataclass, field
from typing import Any

from service.reference.foods.pictures import picture_of
from service.web.dishes.form import Row
from service.web.foods.shown import Comes, FoodRow
from service.web.forms.conflicts import Conflict
from service.web.forms.form import Form


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
    ``from_address``: where the recipe is from, a text; empty: not said.
    """

    id: str
    name: str
    version: str
    form: Form
    rows: list[IngredientRow]
    asked: str = ""
    found: list[FoodRow] = field(default_factory=list)
    comes: Comes | None = None
    from_address: str = ""
    conflict: Conflict | None = None


def ingredient_rows(rows: list[Row]) -> list[IngredientRow]:
    """The rows with their pictures."""
    return [
        IngredientRow(one.number, one.food, one.name, picture_of(one.name, one.category), one.units) for one in rows
    ]


@dataclass(frozen=True)
class BringInView:
    """The context of ``dishes/bring-in.html``: a form for lines or a file."""

    form: Form


@dataclass(frozen=True)
class LineRow:
    """One line of a recipe that was read: the line, whether there is something to answer, and what.

    ``foods``: id and name of those that it may mean, the one that is taken first. ``weighed``: how its weight came about.
    """

    number: int
    line: str
    to_answer: bool
    doubts: list[str]
    foods: list[tuple[str, str]]
    weighed: str


@dataclass(frozen=True)
class ReadView:
    """The context of ``dishes/read.html``. ``to_answer``: lines with something to answer; ``notes``: what was not read besides."""

    form: Form
    rows: list[LineRow]
    to_answer: int
    notes: list[str]


def line_rows(lines: list[dict[str, Any]]) -> list[LineRow]:
    """The lines of the job's reply as rows."""
    return [_line_row(one) for one in lines]


def _named(near: dict[str, Any]) -> str:
    return f"{near['name']} ({near['apart']})" if near["apart"] else str(near["name"])


def _line_row(one: dict[str, Any]) -> LineRow:
    foods = {near["id"]: _named(near) for near in one["candidates"]}
    if one["food"] is not None:
        foods = {one["food"]: foods.get(one["food"], one["food_name"]), **foods}
    asks = one["state"] == "ask"
    doubts = [doubt["sentence"] for doubt in one["doubts"]]
    return LineRow(one["line"], one["text"], asks, doubts, list(foods.items()), one["weighed"])
