"""Amounts of a kitchen in words: grams or millilitres, and US cups, spoons, ounces and pounds."""

from collections.abc import Sequence
from fractions import Fraction
from typing import Any

from service.domain.foods.food import Food
from service.domain.messages import Message, Value, message
from service.domain.plan.kitchen_amounts import Part, customary, metric
from service.reference.messages import worded_as
from service.reference.plan.kitchen import is_poured, kitchen, volume_of

Reply = dict[str, Any]
NOT_COUNTED = ("cup", "half", "third", "quarter", "tbsp", "tsp", "oz", "fl oz", "portion", "100 g", "g", "pat")
"""Beginnings of household units that are no whole thing."""
ON_SPOONS = (1, 2, 3, 4, 8)
"""Denominators that are written as a fraction; other amounts as a decimal number."""


def kitchen_amount(food: Food, amount_mg: Fraction) -> Reply:
    """So much of a food, exact and as one measures it, metric and US; each shown amount is within ``within_percent``."""
    known = kitchen()
    volume = volume_of(food)
    ul_per_mg, cut = volume if volume is not None else (None, "")
    in_metric = metric(amount_mg, known.tolerance, ul_per_mg if is_poured(food) else None)
    in_us = customary(amount_mg, known, ul_per_mg)
    by_volume = any(part.unit not in ("oz", "lb") for part in in_us)
    return {
        "exact_grams": round(float(amount_mg) / 1000, 3),
        "metric": [_part(in_metric)],
        "us": [_part(one) for one in in_us],
        "within_percent": float(known.tolerance * 100),
        **worded_as("metric_text", _amounts([in_metric], "")),
        **worded_as("us_text", _amounts(in_us, cut if by_volume else "")),
        **worded_as("count_text", _count(food, amount_mg, known.tolerance)),
    }


def _count(food: Food, amount_mg: Fraction, tolerance: Fraction) -> Message | None:
    """How many whole ones that is, where a food is counted and the number is near enough: 12 slices."""
    unit = food.units[0] if food.units else None
    if unit is None or unit.name.startswith(NOT_COUNTED):
        return None
    number = round(amount_mg / unit.grams_mg)
    if number < 1 or abs(number * unit.grams_mg - amount_mg) > tolerance * amount_mg:
        return None
    return message("kitchen.count", number=number, unit=unit.name)


def _part(part: Part) -> Reply:
    return {"amount": float(part.amount), "unit": part.unit}


def _amounts(parts: Sequence[Part], cut: str) -> Message:
    said: list[Value] = [message("kitchen.amount", amount=_number(one), unit=_unit(one)) for one in parts]
    return message("kitchen.amounts-cut", parts=said, cut=cut) if cut else message("kitchen.amounts", parts=said)


def _unit(part: Part) -> str:
    return "cups" if part.unit == "cup" and part.amount > 1 else part.unit


def _number(part: Part) -> str | float:
    """A whole number with a fraction for cups, spoons and ounces, otherwise a decimal number.

    >>> _number(Part(Fraction(3, 2), "cup")), _number(Part(Fraction(5, 4), "kg"))
    ('1 1/2', 1.25)
    """
    amount = part.amount
    if part.unit in ("g", "kg", "ml", "l") or amount.denominator not in ON_SPOONS:
        return float(amount)
    whole, rest = divmod(amount, 1)
    return " ".join(str(one) for one in (int(whole), rest) if one)
