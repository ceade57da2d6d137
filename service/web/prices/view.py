"""What the pages of the prices show."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from service.jobs.household.access.households import today
from service.jobs.weeks.cost_rows import decimals_of
from service.reference.foods.pictures import picture_of
from service.web.conflicts import Conflict
from service.web.foods.shown import FoodRow
from service.web.forms import Form
from service.web.language import text
from service.web.prices.form import MEAL
from service.web.words import money


@dataclass(frozen=True)
class PriceLine:
    """One price: in words, the day it holds from, and whether that is still to come."""

    id: str
    words: str
    from_day: str
    to_come: bool


@dataclass(frozen=True)
class PricedThing:
    """What prices are of, the newest price first. ``what``: id of the food, or ``school_meal``."""

    what: str
    name: str
    picture: str
    newest: PriceLine
    older: list[PriceLine]


@dataclass(frozen=True)
class PricesView:
    """The context of ``prices/prices.html``. ``found``: foods to give a price to, for the words ``asked``."""

    things: list[PricedThing]
    asked: str
    found: list[FoodRow]


@dataclass(frozen=True)
class PriceView:
    """The context of ``prices/price.html``. ``id``: empty for a new one; ``what``: id of the food, or ``school_meal``."""

    id: str
    what: str
    name: str
    picture: str
    version: str
    form: Form
    conflict: Conflict | None = None

    @property
    def of_meal(self) -> bool:
        """Whether it is the price of the school's meal."""
        return self.what == MEAL


def priced_things(records: list[dict[str, Any]], known: dict[str, dict[str, Any]], language: str) -> list[PricedThing]:
    """The prices by what they are of: the school's meal first, then foods by name. ``known``: foods by their ids."""
    of: dict[str, list[dict[str, Any]]] = {}
    for one in sorted(records, key=lambda one: one["from"], reverse=True):
        of.setdefault(what_of(one), []).append(one)
    on = today()
    things = []
    for what, prices in of.items():
        name, picture = named(what, known, language)
        first, *rest = [_line(one, on, language) for one in prices]
        things.append(PricedThing(what, name, picture, first, rest))
    return sorted(things, key=lambda one: (one.what != MEAL, one.name.casefold()))


def named(what: str, known: dict[str, dict[str, Any]], language: str) -> tuple[str, str]:
    """The name and the picture of what a price is of."""
    if what == MEAL:
        return text("prices.school-meal", language), "shallow-pan-of-food"
    food = known.get(what, {"name": what, "category": ""})
    return food["name"], picture_of(food["name"], food["category"])


def what_of(record: dict[str, Any]) -> str:
    """What a price is of: the id of a food, or ``school_meal``."""
    return MEAL if record["what"] == MEAL else str(record["food"])


def _line(record: dict[str, Any], on: date, language: str) -> PriceLine:
    amount = money(record["amount_minor"], record["currency"], decimals_of(record["currency"]), language)
    words = amount
    if record["pack_grams"] is not None:
        words = text("prices.for-pack", language, amount=amount, grams=record["pack_grams"])
    return PriceLine(record["id"], words, record["from"], record["from"] > on.isoformat())
