"""The lunches of a table and their items made ready: what each stands for, as places in what there is of it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from service.domain.allergens.screening import Avoidance
from service.domain.foods.crediting import CreditingScheme
from service.domain.foods.food import CreditOption, Food
from service.domain.lunch.handling import Held, Holding
from service.domain.lunch.standards import TargetTable
from service.domain.lunch.yardsticks import Yardstick
from service.domain.tables.codes import Place, joint_codes
from service.domain.tables.items import ItemArrays, Whole, credit_arrays, food_arrays, item_arrays

HELD: tuple[Held, ...] = ("cold", "hot", "ambient")
"""A way of keeping in an array is its place here."""


@dataclass(frozen=True, slots=True, eq=False)
class LunchFields:
    """What is known of ``n`` lunches apart from their items; -1 for a lunch with a fault in these fields.

    ``table``, ``avoided``, ``kept``, ``beside``: (n,) places in ``tables``, ``avoidances``, ``holdings`` and ``yardsticks``. ``months``: (n,)
    the child's age, or the youngest of its age group. ``days``: (n,) places in ``day_texts``.
    """

    table: Place
    tables: list[TargetTable]
    avoided: Place
    avoidances: list[list[Avoidance]]
    kept: Place
    holdings: list[Holding]
    months: Place
    days: Place
    day_texts: list[str]
    beside: Place
    yardsticks: list[tuple[Yardstick, ...]]

    def of(self, chosen: Place) -> LunchFields:
        """Some of the lunches."""
        columns = {
            name: getattr(self, name)[chosen] for name in ("table", "avoided", "kept", "months", "days", "beside")
        }
        return replace(self, **columns)


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
    beside_mg: Whole | None = None
    """(rows,) how much of the same food its lunch holds before it; None: no lunch holds a food twice."""

    def of(self, rows: Place) -> ItemFields:
        """Some of the rows."""
        columns = {name: getattr(self, name)[rows] for name in ("food", "amount_mg", "way", "form", "held")}
        return replace(self, **columns)


def with_food_beside(items: ItemFields, lunch_of_row: Place) -> ItemFields:
    """The items, with how much of the same food each has before it in its lunch; see ``amounts.beside_each``."""
    seen: dict[tuple[str, int], int] = {}
    alike = [seen.setdefault((items.foods[food].id, id(option)), len(seen)) for food, option in items.ways]
    same = lunch_of_row * len(seen) + np.array(alike, np.intp)[items.way]
    if not pd.Series(same).duplicated().any():
        return items
    order = np.argsort(same, kind="stable")
    amount = items.amount_mg[order]
    before = np.cumsum(amount) - amount
    first = np.flatnonzero(np.diff(same[order], prepend=-1))
    beside = np.empty_like(amount)
    beside[order] = before - np.repeat(before[first], np.diff(first, append=len(order)))
    return replace(items, beside_mg=beside)


def measured(items: ItemFields, scheme: Place, schemes: list[CreditingScheme | None]) -> tuple[ItemArrays, Place]:
    """The different items as arrays of measures, and which of them each row is.

    ``scheme``: (rows,) places in ``schemes``: by which scale each row's lunch is credited.
    """
    pair, example = joint_codes(items.way, scheme)
    credited = [
        (items.foods[items.ways[items.way[row]][0]], items.ways[items.way[row]][1], schemes[scheme[row]])
        for row in example.tolist()
    ]
    amount, amounts = pd.factorize(items.amount_mg)
    beside, besides = (
        (np.zeros_like(amount), np.zeros(1, np.int64)) if items.beside_mg is None else pd.factorize(items.beside_mg)
    )
    item, example_row = joint_codes(pair, amount, beside)
    foods = food_arrays(tuple(items.foods))
    credits = credit_arrays(credited)
    pairs = pair[example_row]
    weights, before = amounts[amount[example_row]], besides[beside[example_row]]
    return item_arrays(foods, items.food[example_row], weights, credits, pairs, before), item
