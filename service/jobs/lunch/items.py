"""Makes the items of a lunch ready for the engine: food, weight, way of crediting, form, and measures.

An item of the reference tables is remembered, since those do not change while the program runs; a food
sent with the request is built anew.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from service.domain.errors import LunchError, raise_all
from service.domain.foods.amounts import ItemVector, credit_option, item_vector
from service.domain.foods.food import CreditOption, Food
from service.domain.lunch.handling import Held
from service.domain.measures import CREDIT_IDS, NUTRIENT_COUNT, SCALE
from service.jobs.foods.resolve import amount_of, food_by_id, food_of_item
from service.jobs.requests import LunchItem
from service.reference.lunch.standards import crediting_scheme


@dataclass(frozen=True, slots=True, eq=False)
class PreparedItem:
    """One item made ready. ``order``: what items are sorted by, so that the order they came in does not matter.

    ``shown``: the item as the reply shows it; not to be changed.
    """

    food: Food
    amount_mg: int
    quantity: float
    unit: str
    option: CreditOption | None
    form: str | None
    held: Held
    vector: ItemVector
    order: tuple[str, str, int, str, str, str]
    shown: dict[str, Any]


def prepare(asked: Sequence[LunchItem], crediting: str, pointer: str) -> list[PreparedItem]:
    """Make items ready, in an order that does not depend on how they came; every fault is told with its place."""
    items = prepare_as_asked(asked, crediting, pointer)
    items.sort(key=_order)
    return items


def prepare_as_asked(asked: Sequence[LunchItem], crediting: str, pointer: str) -> list[PreparedItem]:
    """Make items ready, in the order asked."""
    faults: list[LunchError] = []
    items: list[PreparedItem] = []
    for place, item in enumerate(asked):
        held: Held = item.held or "cold"
        try:
            if isinstance(item.food, str) and not item.label_read:
                made = _remembered(item.food, item.quantity, item.unit, item.form, item.credit_as, held, crediting)
            else:
                food = food_of_item(item, "")
                made = _made_of(food, item.quantity, item.unit, item.form, item.credit_as, held, crediting)
            items.append(made)
        except LunchError as fault:
            faults.append(fault.under(f"{pointer}/{place}"))
    raise_all(faults)
    return items


def _order(item: PreparedItem) -> tuple[str, str, int, str, str, str]:
    return item.order


def _made(
    food_id: str,
    quantity: float,
    unit: str | None,
    form: str | None,
    credit_as: str | None,
    held: Held,
    crediting: str,
) -> PreparedItem:
    return _made_of(food_by_id(food_id, "/food"), quantity, unit, form, credit_as, held, crediting)


def _made_of(
    food: Food,
    quantity: float,
    unit: str | None,
    form: str | None,
    credit_as: str | None,
    held: Held,
    crediting: str,
) -> PreparedItem:
    amount_mg, used_unit = amount_of(food, quantity, unit)
    option = credit_option(food, credit_as)
    vector = item_vector(food, amount_mg, crediting_scheme(crediting), option)
    form = form or (food.handling.forms[0] if food.handling.forms else None)
    details = f"{form or ''} {held} {option.name if option else ''}"
    content = _content(food) if food.kind == "label" else ""
    return PreparedItem(
        food,
        amount_mg,
        quantity,
        used_unit,
        option,
        form,
        held,
        vector,
        (food.name, food.id, amount_mg, used_unit, details, content),
        _shown(food, quantity, used_unit, amount_mg, form, vector),
    )


def _content(food: Food) -> str:
    """All of a food sent with a request that a reply can show, as text to sort by."""
    return repr(
        (food.nutrients, food.ranges, food.credit_options, food.units, food.handling, food.product_kind, food.allergens)
    )


_remembered = lru_cache(maxsize=4096)(_made)


def _shown(
    food: Food, quantity: float, unit: str, amount_mg: int, form: str | None, vector: ItemVector
) -> dict[str, Any]:
    credits = {
        measure: value / SCALE
        for measure, value in zip(CREDIT_IDS, vector.nominal[NUTRIENT_COUNT:], strict=True)
        if value
    }
    return {
        "food": food.id,
        "name": food.name,
        "quantity": quantity,
        "unit": unit,
        "grams": amount_mg / 1000,
        "form": form,
        "credits": credits,
        "energy_kcal": None if food.nutrients[0] is None else vector.nominal[0] / SCALE,
        "source": food.source,
    }
