"""One food against one avoided allergen as a plain dictionary (published shape: service/api/replies.py)."""

from collections.abc import Iterable
from typing import Any

from service.domain.allergens.screening import Screened
from service.domain.foods.food import Food
from service.domain.messages import Message, message
from service.reference.messages import kept_by_language, worded_as


def screened_row(food: Food, one: Screened) -> dict[str, Any]:
    """The row without the item's place; not to be changed: remembered for foods of the reference tables."""
    return _screened_row(food, one) if food.kind == "label" else _remembered_row(food, one)


def _screened_row(food: Food, one: Screened) -> dict[str, Any]:
    return {
        "food": food.id,
        "name": food.name,
        "allergen": one.avoidance.allergen,
        "avoided_by": one.avoidance.by,
        "threshold": one.avoidance.threshold,
        "outcome": one.outcome,
        "found": one.found,
        "level": one.evidence.level,
        "basis": one.evidence.basis,
        **worded_as("evidence", one.evidence.evidence),
        "do_not_pack": one.do_not_pack,
    }


_remembered_row = kept_by_language(8192)(_screened_row)


def not_read_cautions(foods: Iterable[Food]) -> list[Message]:
    """Say of each food whose label or packet was given and could not be read that it settles nothing, and what to do."""
    said: list[Message] = []
    for food in foods:
        for seen in food.allergens.statements_not_read():
            one = not_read_caution(food.name, seen)
            if one not in said:
                said.append(one)
    return said


def not_read_caution(name: str, seen: Message) -> Message:
    """That what was given of a label or packet settles nothing. ``name``: of the food; ``seen``: why, and what to do."""
    return message("caution.not-read", item=name, seen=seen)
