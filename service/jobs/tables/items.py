"""What the rows of a table say of the items: which food, how much, credited and cut how.

Foods, units, ways of crediting and forms are looked up once each by the functions of the single check; only
the weighing of the quantities runs over all rows.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np

from service.domain.errors import UnknownName
from service.domain.foods.amounts import HEAVIEST_ITEM_MG, amount_mg_of, credit_option, heaviest_mg
from service.domain.foods.food import CreditOption, Food
from service.domain.foods.packets import NO_PACKETS, KnownOfFoods
from service.domain.measures import THOUSANDTHS
from service.domain.messages import message
from service.domain.tables.codes import Place
from service.domain.tables.fields import HELD, ItemFields
from service.domain.tables.items import Whole, weights_mg
from service.jobs.foods.resolve import amount_of, food_of
from service.jobs.requests.lunches import LunchItem
from service.jobs.tables.columns import NumberColumn, TextColumn
from service.jobs.tables.faults import RowFaults, attempt, not_a_number
from service.jobs.tables.looked_up import looked_up, looked_up_text
from service.jobs.tables.lunches import named_day
from service.reference.foods.catalogue import find_food, near_food_ids

FOODS_KEPT = 20_000
"""More than there are in all tables joint_codes."""
PAIRS_KEPT = 1 << 16
MOST_UNITS = 10_000
"""The largest quantity that ``requests.Amount`` takes; its own words tell what is wrong with more."""


@lru_cache(maxsize=FOODS_KEPT)
def known_food(food_id: str) -> Food:
    """A food of the tables, kept with all that was read from its name; ``UnknownName`` otherwise."""
    food = find_food(asked(food=food_id))
    if food is None:
        near, known = near_food_ids(food_id), message("help.find-foods")
        raise UnknownName(pointer="/food", value=food_id, kind=message("kind.food"), near=near, known=known)
    return food


def item_fields(
    texts: dict[str, TextColumn], quantity: NumberColumn, faults: RowFaults, known: KnownOfFoods
) -> ItemFields:
    """Look up what each row says of its item; faults are noted by row."""
    place, found = looked_up_text("food", texts["food"], known_food, faults, needed=True)
    if known.packets or known.salted_water:
        place, found = _as_known(place, found, texts["on"], faults, known)
    foods = sorted(
        dict.fromkeys(found), key=lambda food: food.id
    )  # so that tables of the same foods share their arrays
    number = {food: at for at, food in enumerate(foods)}
    food = np.array([*(number[one] for one in found), -1], np.intp)[place]
    form = texts["form"]
    looked_up_text("form", form, lambda value: asked(form=value), faults)
    held, known_held = looked_up_text("held", texts["held"], lambda value: HELD.index(asked(held=value)), faults)
    held = np.array([*known_held, HELD.index("cold")], np.intp)[held]
    amount_mg = _weigh(food, foods, texts["unit"], quantity, faults)

    def way(row: int) -> tuple[int, CreditOption | None] | None:
        at = int(food[row])
        return None if at < 0 else (at, way_of(foods[at], texts["credit_as"].at(row)))

    ways_of, ways = looked_up("credit_as", way, faults, food, texts["credit_as"].codes)
    return ItemFields(food, foods, amount_mg, ways_of, ways, form.codes, form.values, held)


def _as_known(
    place: Place, foods: list[Food], on: TextColumn, faults: RowFaults, known: KnownOfFoods
) -> tuple[Place, list[Food]]:
    """The food of each row with what is known of it on the row's day. ``place``: (rows,) places in ``foods``."""
    # A cell that is not a day is a fault of its lunch, noted where the lunches are looked up.
    days = {text: attempt("on", named_day, text)[0] for text in on.values}
    by_day = {text: NO_PACKETS if day is None else known.on(day) for text, day in days.items()}

    def as_known(row: int) -> Food | None:
        if place[row] < 0:
            return None
        return food_of(foods[place[row]].id, by_day.get(on.at(row) or "", NO_PACKETS))

    return looked_up("food", as_known, faults, place, on.codes)


def asked(**given: object) -> Any:
    """One field of an item, held to the same form as in a request."""
    return getattr(LunchItem.model_validate({"food": "x", **given}), next(iter(given)))


def _weigh(food: Place, foods: list[Food], unit: TextColumn, quantity: NumberColumn, faults: RowFaults) -> Whole:
    """Milligrams of each row; 0 where the row has a fault."""

    def of_unit(row: int) -> int | None:
        return None if food[row] < 0 else unit_mg(foods[food[row]], unit.at(row))

    place, found = looked_up("unit", of_unit, faults, food, unit.codes)
    per_unit = np.array([*found, 0], np.int64)[place]
    for value, rows in quantity.wrong:
        faults.add(rows, [not_a_number("quantity", value, "1.5")])
    numbers = quantity.values
    if len(numbers) and np.isnan(numbers.min()):
        numbers = np.where(np.isnan(numbers), 1.0, numbers)
    if len(numbers) and not (numbers.min() > 0 and numbers.max() <= MOST_UNITS):
        numbers = numbers.copy()
        for row in np.flatnonzero(~((numbers > 0) & (numbers <= MOST_UNITS))).tolist():
            faults.add([row], attempt("quantity", asked, quantity=float(numbers[row]))[1])
            numbers[row] = 1.0
    heaviest = np.array([*map(heaviest_mg, foods), HEAVIEST_ITEM_MG], np.int64)
    amount = weights_mg(per_unit, np.rint(numbers * THOUSANDTHS).astype(np.int64))
    for row in np.flatnonzero((per_unit > 0) & ((amount <= 0) | (amount > heaviest[food]))).tolist():
        faults.add([row], attempt("quantity", amount_of, foods[food[row]], float(numbers[row]), unit.at(row))[1])
    return amount


@lru_cache(maxsize=PAIRS_KEPT)
def unit_mg(food: Food, unit: str | None) -> int:
    """Milligrams of one unit of a food; its usual portion where none is named."""
    used = food.units[0].name if unit is None else asked(unit=unit)
    return amount_mg_of(food, THOUSANDTHS, used)


@lru_cache(maxsize=PAIRS_KEPT)
def way_of(food: Food, wanted: str | None) -> CreditOption | None:
    """The way a food credits, the first one if none is wanted."""
    return credit_option(food, None if wanted is None else asked(credit_as=wanted))
