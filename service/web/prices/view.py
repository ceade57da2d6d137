"""What the pages of the prices show."""

from dataclasses import dataclass
from datetime import date
from typing import Any, NamedTuple

from service.jobs.household.access.households import today
from service.jobs.household.requests import OWN_MEAL
from service.jobs.weeks.cost_rows import decimals_of
from service.reference.foods.bought_as import kitchen_names
from service.reference.foods.pictures import picture_of
from service.web.foods.shown import food_row
from service.web.forms.conflicts import Conflict
from service.web.forms.form import Form
from service.web.language.chosen import text
from service.web.language.words import money
from service.web.prices.form import MEAL, is_meal, what_of


@dataclass(frozen=True)
class PriceLine:
    """One price: in words, the day it holds from, and whether that is still to come."""

    id: str
    words: str
    from_day: str
    to_come: bool


@dataclass(frozen=True)
class PricedThing:
    """What prices are of, the newest price first. ``what``: see ``what_of``; ``table_name``: see ``Named``.

    ``other``: the currency of most prices, where today's price of this is in another and is not counted.
    """

    what: str
    name: str
    table_name: str
    picture: str
    newest: PriceLine
    older: list[PriceLine]
    other: str = ""


class Named(NamedTuple):
    """What a price is of, as a kitchen calls it. ``table_name``: in the composition table, empty where it is the same."""

    name: str
    table_name: str
    picture: str


@dataclass(frozen=True)
class FoundFood:
    """A food to give a price to. ``table_name``: see ``Named``; ``kind``: of an own one in words."""

    id: str
    name: str
    table_name: str
    picture: str
    kind: str


@dataclass(frozen=True)
class PricesView:
    """The context of ``prices/prices.html``. ``found``: foods to give a price to, for the words ``asked``."""

    things: list[PricedThing]
    asked: str
    found: list[FoundFood]


@dataclass(frozen=True)
class PriceView:
    """The context of ``prices/price.html``. ``id``: empty for a new one; ``what``: see ``what_of``."""

    id: str
    what: str
    name: str
    table_name: str
    picture: str
    version: str
    form: Form
    conflict: Conflict | None = None

    @property
    def of_meal(self) -> bool:
        """Whether it is the price of the school's meal."""
        return is_meal(self.what)


def priced_things(
    records: list[dict[str, Any]], known: dict[str, dict[str, Any]], counted: str, language: str
) -> list[PricedThing]:
    """The prices by what they are of: the school's meal first, then foods by name.

    ``known``: foods by their ids, and children by the meal that is theirs; ``counted``: the currency of most things today.
    """
    of: dict[str, list[dict[str, Any]]] = {}
    for one in sorted(records, key=lambda one: one["from"], reverse=True):
        of.setdefault(what_of(one), []).append(one)
    on = today()
    things = []
    for what, prices in of.items():
        shown = named(what, known, language)
        first, *rest = [price_line(one, on, language) for one in prices]
        now = next((one["currency"] for one in prices if one["from"] <= on.isoformat()), counted)
        other = counted if now != counted else ""
        things.append(PricedThing(what, shown.name, shown.table_name, shown.picture, first, rest, other))
    return sorted(things, key=lambda one: (one.what != MEAL, not is_meal(one.what), one.name.casefold()))


def meals_of(children: list[dict[str, Any]]) -> dict[str, dict[str, Any]]:
    """The children by what their own price of the meal is of."""
    return {f"{OWN_MEAL}{one['id']}": {"name": one["nickname"], "category": ""} for one in children}


def found_food(found: dict[str, Any], language: str) -> FoundFood:
    """A food to give a price to, from the job's (``jobs.foods.search``)."""
    row = food_row(found, language)
    return FoundFood(row.id, *_in_a_kitchen(row.id, row.name), row.picture, row.kind)


def named(what: str, known: dict[str, dict[str, Any]], language: str) -> Named:
    """How what a price is of is shown."""
    if is_meal(what):
        words = text("prices.school-meal", language)
        if what != MEAL and what in known:
            words = text("prices.school-meal-of", language, who=known[what]["name"])
        return Named(words, "", "shallow-pan-of-food")
    food = known.get(what, {"name": what, "category": ""})
    return Named(*_in_a_kitchen(what, food["name"]), picture_of(food["name"], food["category"]))


def _in_a_kitchen(food_id: str, name: str) -> tuple[str, str]:
    """What a food is called in a kitchen, as on the shopping list, and the name in the composition table where it has another."""
    called = kitchen_names().get(food_id, name)
    return called, "" if called == name else name


def price_line(record: dict[str, Any], on: date, language: str) -> PriceLine:
    """A stored price as it is shown on a day."""
    amount = money(record["amount_minor"], record["currency"], decimals_of(record["currency"]), language)
    words = amount
    if record["pack_grams"] is not None:
        words = text("prices.for-pack", language, amount=amount, grams=record["pack_grams"])
    return PriceLine(record["id"], words, record["from"], record["from"] > on.isoformat())
