"""One food against one avoided allergen as a plain dictionary (published shape: service/api/replies.py)."""

from functools import lru_cache
from typing import Any

from service.domain.allergens.screening import Screened
from service.domain.foods.food import Food


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
        "evidence": one.evidence.evidence,
        "do_not_pack": one.do_not_pack,
    }


_remembered_row = lru_cache(maxsize=8192)(_screened_row)
