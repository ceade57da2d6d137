"""What the rows of a table say of the items: which food, how much, credited and cut how.

Foods, units, ways of crediting and forms are looked up once each by the functions of the single check; only
the weighing of the quantities runs over all rows.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any, TypeVar

from service.domain.errors import UnknownName
from service.domain.foods.amounts import HEAVIEST_ITEM_MG, amount_mg_of, credit_option
from service.domain.foods.crediting import CreditingScheme
from service.domain.foods.food import CreditOption, Food
from service.domain.measures import SCALE
from service.domain.tables.items import (
    ItemArrays,
    credit_arrays,
    food_arrays,
    item_arrays,
    weights_mg,
)
from service.jobs.foods.resolve import amount_of
from service.jobs.requests import LunchItem
from service.jobs.tables.columns import NumberColumn, RowsByCode, TextColumn, blocks, together
from service.jobs.tables.faults import Fault, RowFaults, attempt
from service.reference.foods.catalogue import find_food, near_food_ids

if TYPE_CHECKING:
    from service.domain.tables.items import Whole
    from service.jobs.tables.columns import Place

Found = TypeVar("Found")

FOODS_KEPT = 20_000
"""More than there are in all tables together."""
PAIRS_KEPT = 1 << 16
MOST_UNITS = 10_000
"""The largest quantity that ``requests.Amount`` takes; its own words tell what is wrong with more."""
HELD = ("cold", "hot", "ambient")


@dataclass(frozen=True, slots=True, eq=False)
class ItemFields:
    """What is known of each row's item; rows with a fault hold nothing of use.

    ``food``: (rows,) places in ``foods``. ``amount_mg``: (rows,). ``way``: (rows,) the food credited as asked, a
    place in ``ways``. ``form``: (rows,) places in ``forms``, -1 for the usual one. ``held``: (rows,) places in ``HELD``.
    """

    food: Place
    foods: list[Food]
    amount_mg: Whole
    way: Place
    ways: list[tuple[int, CreditOption | None]]
    form: Place
    forms: list[str]
    held: Place

    def of(self, rows: Place) -> ItemFields:
        """Some of the rows."""
        return ItemFields(
            self.food[rows],
            self.foods,
            self.amount_mg[rows],
            self.way[rows],
            self.ways,
            self.form[rows],
            self.forms,
            self.held[rows],
        )


@lru_cache(maxsize=FOODS_KEPT)
def known_food(food_id: str) -> Food:
    """A food of the tables, kept with all that was read from its name; ``UnknownName`` otherwise."""
    food = find_food(asked(food=food_id))
    if food is None:
        near, known = near_food_ids(food_id), "Find ids with packed-lunch foods WORDS, or GET /v1/foods?q=."
        raise UnknownName(pointer="/food", value=food_id, kind="food", near=near, known=known)
    return food


def item_fields(texts: dict[str, TextColumn], quantity: NumberColumn, faults: RowFaults) -> ItemFields:
    """Look up what each row says of its item; faults are noted by row."""
    import numpy as np

    ids = texts["food"]
    found = _each("food", ids, known_food, faults)
    faults.add(np.flatnonzero(ids.codes < 0), [Fault("food", "nothing", "is missing", "Add it.")])
    in_order = sorted(found, key=ids.values.__getitem__)
    place = np.full(len(ids.values) + 1, -1, np.intp)
    place[in_order] = np.arange(len(found))
    foods = [found[code] for code in in_order]
    food = place[ids.codes]

    form = texts["form"]
    _each("form", form, lambda value: asked(form=value), faults)
    held = texts["held"]
    known_held = _each("held", held, lambda value: HELD.index(asked(held=value)), faults)
    held_codes = np.zeros(len(held.values) + 1, np.intp)
    held_codes[list(known_held)] = list(known_held.values())

    amount_mg = _weigh(food, foods, texts["unit"], quantity, faults)
    way, ways = _ways(food, foods, texts["credit_as"], faults)
    return ItemFields(food, foods, amount_mg, way, ways, form.codes, form.values, held_codes[held.codes])


def asked(**given: object) -> Any:
    """One field of an item, held to the same form as in a request."""
    return getattr(LunchItem.model_validate({"food": "x", **given}), next(iter(given)))


def _each(field: str, column: TextColumn, look_up: Callable[[str], Found], faults: RowFaults) -> dict[int, Found]:
    """What each text in use stands for, by code."""
    found: dict[int, Found] = {}
    rows = RowsByCode(column.codes)
    for code in column.used():
        made, wrong = attempt(field, look_up, column.values[code])
        if made is None:
            faults.add(rows[code], wrong)
        else:
            found[code] = made
    return found


def _weigh(food: Place, foods: list[Food], unit: TextColumn, quantity: NumberColumn, faults: RowFaults) -> Whole:
    """Milligrams of each row; 0 where the row has a fault."""
    import numpy as np

    which, example = together(food, unit.codes)
    rows_with = RowsByCode(which)
    per_unit = np.zeros(len(example), np.int64)
    for number, row in enumerate(example.tolist()):
        if food[row] < 0:
            continue
        name = unit.values[unit.codes[row]] if unit.codes[row] >= 0 else None
        made, wrong = attempt("unit", unit_mg, foods[food[row]], name)
        if made is None:
            faults.add(rows_with[number], wrong)
        else:
            per_unit[number] = made
    for value, rows in quantity.wrong:
        faults.add(rows, [Fault("quantity", value, "is no number", "Write it with digits and a point, e.g. 1.5.")])
    numbers = quantity.values
    if len(numbers) and np.isnan(numbers.min()):
        numbers = np.where(np.isnan(numbers), 1.0, numbers)
    if len(numbers) and not (numbers.min() > 0 and numbers.max() <= MOST_UNITS):
        numbers = numbers.copy()
        for row in np.flatnonzero(~((numbers > 0) & (numbers <= MOST_UNITS))).tolist():
            faults.add([row], attempt("quantity", asked, quantity=float(numbers[row]))[1])
            numbers[row] = 1.0
    amount = np.empty(len(which), np.int64)
    for some in blocks(len(which)):
        thousandths = np.rint(numbers[some] * SCALE).astype(np.int64)
        amount[some] = weights_mg(per_unit[which[some]], thousandths)
    if len(amount) and amount.min() > 0 and amount.max() <= HEAVIEST_ITEM_MG:
        return amount
    odd = np.flatnonzero((per_unit[which] > 0) & ((amount <= 0) | (amount > HEAVIEST_ITEM_MG)))
    for row in odd.tolist():
        name = unit.values[unit.codes[row]] if unit.codes[row] >= 0 else None
        faults.add([row], attempt("quantity", amount_of, foods[food[row]], float(numbers[row]), name)[1])
    return amount


@lru_cache(maxsize=PAIRS_KEPT)
def unit_mg(food: Food, unit: str | None) -> int:
    """Milligrams of one unit of a food; its usual portion where none is named."""
    used = food.units[0].name if unit is None else asked(unit=unit)
    return amount_mg_of(food, SCALE, used)


def _ways(
    food: Place, foods: list[Food], credit_as: TextColumn, faults: RowFaults
) -> tuple[Place, list[tuple[int, CreditOption | None]]]:
    """The different pairs of a food and its way of crediting."""
    import numpy as np

    which, example = together(food, credit_as.codes)
    rows_with = RowsByCode(which)
    ways: list[tuple[int, CreditOption | None]] = []
    place = np.full(len(example), -1, np.intp)
    for number, row in enumerate(example.tolist()):
        if food[row] < 0:
            continue
        wanted = credit_as.values[credit_as.codes[row]] if credit_as.codes[row] >= 0 else None
        made, wrong = attempt("credit_as", way_of, foods[food[row]], wanted)
        if made is None:
            faults.add(rows_with[number], wrong)
        else:
            place[number] = len(ways)
            ways.append((int(food[row]), made[0]))
    return place[which], ways


@lru_cache(maxsize=PAIRS_KEPT)
def way_of(food: Food, wanted: str | None) -> tuple[CreditOption | None]:
    """The way a food credits, the first one if none is wanted; alone in a tuple, since it may be None."""
    return (credit_option(food, None if wanted is None else asked(credit_as=wanted)),)


def measured(items: ItemFields, scheme: Place, schemes: list[CreditingScheme | None]) -> tuple[ItemArrays, Place]:
    """The different items as arrays of measures, and which of them each row is.

    ``scheme``: (rows,) places in ``schemes``: by which scale each row's lunch is credited.
    """
    import pandas as pd

    pair, example = together(items.way, scheme)
    credited = [
        (items.foods[items.ways[items.way[row]][0]], items.ways[items.way[row]][1], schemes[scheme[row]])
        for row in example.tolist()
    ]
    amount, amounts = pd.factorize(items.amount_mg)
    item, example_row = together(pair, amount)
    foods = food_arrays(tuple(items.foods))
    credits = credit_arrays(credited)
    pairs = pair[example_row]
    return item_arrays(foods, items.food[example_row], amounts[amount[example_row]], credits, pairs), item
