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
    """One price: in words, the day it holds from, and whether that is still to come; the last day, empty where none is said.

    ``other``: the currency in which costs are told, where this price is in another and is not counted.
    """

    id: str
    words: str
    from_day: str
    to_come: bool
    until: str
    ended: bool
    other: str = ""


@dataclass(frozen=True)
class PricedThing:
    """What prices are of. ``what``: see ``what_of``; ``table_name``: see ``Named``.

    ``newest``: of each size of pack the newest price, those that have ended last; ``older``: all others, the newest first.
    """

    what: str
    name: str
    table_name: str
    picture: str
    newest: list[PriceLine]
    older: list[PriceLine]


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
    """The context of ``prices/price.html``. ``id``: empty for a new one; ``what``: see ``what_of``.

    ``others``: the newest prices of its other packs that have not ended.
    """

    id: str
    what: str
    name: str
    table_name: str
    picture: str
    version: str
    form: Form
    others: list[PriceLine]
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
        newest, older = _by_size(prices)
        first = [price_line(one, on, language, counted) for one in newest]
        rest = [price_line(one, on, language) for one in older]
        first.sort(key=lambda one: one.ended)
        things.append(PricedThing(what, shown.name, shown.table_name, shown.picture, first, rest))
    return sorted(things, key=lambda one: (one.what != MEAL, not is_meal(one.what), one.name.casefold()))


def _by_size(prices: list[dict[str, Any]]) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    """The newest price of each size of pack, by weight, and all others; ``prices``: of one thing, the newest first."""
    newest: dict[float, dict[str, Any]] = {}
    for one in prices:
        newest.setdefault(one["pack_grams"] or 0, one)
    return [newest[size] for size in sorted(newest)], [one for one in prices if one not in newest.values()]


def meals_of(children: list[dict[str, Any]]) -> dict[str, dict[str, Any]]:
    """The children by what their own price of the meal is of."""
    return {f"{OWN_MEAL}{one['id']}": {"name": one["nickname"], "category": ""} for one in children}


def other_packs(prices: list[dict[str, Any]], but: str, language: str) -> list[PriceLine]:
    """The newest price of each size of pack of a food that has not ended, without the size of the price ``but``."""
    newest, _older = _by_size(sorted(prices, key=lambda one: str(one["from"]), reverse=True))
    mine = next((one["pack_grams"] for one in prices if one["id"] == but), None)
    lines = [price_line(one, today(), language) for one in newest if one["pack_grams"] != mine]
    return [one for one in lines if not one.ended]


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


def price_line(record: dict[str, Any], on: date, language: str, counted: str = "") -> PriceLine:
    """A stored price as it is shown on a day; ``counted``: the currency in which costs are told, if that is to be said."""
    amount = money(record["amount_minor"], record["currency"], decimals_of(record["currency"]), language)
    words = amount
    if record["pack_grams"] is not None:
        words = text("prices.for-pack", language, amount=amount, grams=record["pack_grams"])
    to_come, until = record["from"] > on.isoformat(), record["until"] or ""
    ended = bool(until) and until < on.isoformat()
    other = counted if not ended and counted and record["currency"] != counted else ""
    return PriceLine(record["id"], words, record["from"], to_come, until, ended, other)
