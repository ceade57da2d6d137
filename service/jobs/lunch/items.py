"""Makes the items of a lunch ready for the engine: food, weight, way of crediting, form, and measures.

An item of the reference tables is remembered, since those do not change while the program runs; a food
sent with the request is built anew.
"""

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache

from service.domain.errors import Faults, at
from service.domain.foods.amounts import beside_each, credit_option, item_vector
from service.domain.foods.food import Food
from service.domain.foods.packets import NO_PACKETS, Packet, Packets
from service.domain.lunch.check import PreparedItem
from service.domain.lunch.handling import Held
from service.jobs.foods.packets import of_food
from service.jobs.foods.resolve import amount_of, food_of_item, food_with
from service.jobs.requests.lunches import LunchItem
from service.reference.lunch.standards import crediting_scheme

__all__ = ["PreparedItem", "prepare_as_asked", "prepare_in_order", "prepare_one"]


def prepare_in_order(
    asked: Sequence[LunchItem], crediting: str, packets: Packets = NO_PACKETS
) -> list[tuple[int, PreparedItem]]:
    """Items with their places in what was asked, in an order that does not depend on how they came."""
    placed = sorted(enumerate(prepare_as_asked(asked, crediting, packets)), key=_order)
    items = credited_together([item for _place, item in placed], crediting)
    return [(place, item) for (place, _item), item in zip(placed, items, strict=True)]


def credited_together(items: Sequence[PreparedItem], crediting: str) -> list[PreparedItem]:
    """The items of one lunch, a food that comes in several lines credited for all of them before it is rounded."""
    scheme = crediting_scheme(crediting)
    beside = beside_each([(item.food, item.option, item.amount_mg) for item in items])
    return [
        replace(item, vector=item_vector(item.food, item.amount_mg, scheme, item.option, before)) if before else item
        for item, before in zip(items, beside, strict=True)
    ]


def prepare_as_asked(asked: Sequence[LunchItem], crediting: str, packets: Packets = NO_PACKETS) -> list[PreparedItem]:
    """Make items ready, each by itself, in the order asked; faults have their place in the list, and all are reported."""
    faults = Faults()
    items: list[PreparedItem] = []
    for place, item in enumerate(asked):
        with faults.at(place):
            items.append(prepare_one(item, crediting, packets))
    faults.raise_all()
    return items


def prepare_one(asked: LunchItem, crediting: str, packets: Packets = NO_PACKETS) -> PreparedItem:
    """Make one item ready; faults have their place within it."""
    held: Held = asked.held or "cold"
    if isinstance(asked.food, str):
        read, salted = of_food(packets, asked.food), packets.salted_water
        return _remembered(
            asked.food, read, salted, asked.quantity, asked.unit, asked.form, asked.credit_as, held, crediting
        )
    food = food_of_item(asked, packets)
    return _made_of(food, asked.quantity, asked.unit, asked.form, asked.credit_as, held, crediting)


def _order(placed: tuple[int, PreparedItem]) -> tuple[str, str, int, str, str, str]:
    return placed[1].order


def _made(
    food_id: str,
    packets: tuple[Packet, ...],
    salted_water: bool,
    quantity: float,
    unit: str | None,
    form: str | None,
    credit_as: str | None,
    held: Held,
    crediting: str,
) -> PreparedItem:
    with at("food"):
        food = food_with(food_id, packets, salted_water)
    return _made_of(food, quantity, unit, form, credit_as, held, crediting)


def _made_of(
    food: Food,
    quantity: float,
    unit: str | None,
    form: str | None,
    credit_as: str | None,
    held: Held,
    crediting: str,
) -> PreparedItem:
    faults = Faults()
    with faults.at():
        amount_mg, used_unit = amount_of(food, quantity, unit)
    with faults.at():
        option = credit_option(food, credit_as)
    faults.raise_all()
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
    )


def _content(food: Food) -> str:
    """All of a food sent with a request that a reply can show, as text to sort by."""
    return repr(
        (
            food.nutrients,
            food.ranges,
            food.partly,
            food.credit_options,
            food.units,
            food.handling,
            food.product_kind,
            food.allergens,
        )
    )


_remembered = lru_cache(maxsize=4096)(_made)
