"""Food-group credits of the US school-meal programs: what a component means and how it is rounded.

The amounts that make one cup or one ounce equivalent stand beside each food; the rounding steps
stand in reference_data/crediting. Credits of a mixed dish are summed first and rounded down once
(USDA FNS Food Buying Guide, appendix A).
"""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

from service.domain.foods.food import Credit, CreditOption
from service.domain.measures import MEASURE_INDEX, SCALE

ONE = Fraction(1)
LEGUME_CUP_PER_OZ_EQ = Fraction(1, 4)
"""Beans credited as meat alternate still count in the weekly legume subgroup, a quarter cup for each
ounce equivalent (7 CFR 210.10(c)(2)(iv)(E)), but not in the vegetables."""

COMPONENT_MEASURES: dict[str, tuple[tuple[str, Fraction], ...]] = {
    "fluid_milk": (("fluid_milk_cup", ONE),),
    "meat_alternate": (("meat_alternate_oz_eq", ONE),),
    "meat_alternate_legume": (("meat_alternate_oz_eq", ONE), ("vegetable_legume_cup", LEGUME_CUP_PER_OZ_EQ)),
    "grain": (("grain_oz_eq", ONE),),
    "whole_grain_rich": (("grain_oz_eq", ONE), ("whole_grain_rich_oz_eq", ONE)),
    "grain_dessert": (("grain_oz_eq", ONE), ("grain_dessert_oz_eq", ONE)),
    "fruit": (("fruit_cup", ONE),),
    "fruit_juice": (("fruit_cup", ONE), ("fruit_juice_cup", ONE)),
    "dark_green": (("vegetable_cup", ONE), ("vegetable_dark_green_cup", ONE)),
    "red_orange": (("vegetable_cup", ONE), ("vegetable_red_orange_cup", ONE)),
    "legume": (("vegetable_cup", ONE), ("vegetable_legume_cup", ONE)),
    "starchy": (("vegetable_cup", ONE), ("vegetable_starchy_cup", ONE)),
    "other_vegetable": (("vegetable_cup", ONE), ("vegetable_other_cup", ONE)),
    "vegetable_juice": (("vegetable_cup", ONE), ("vegetable_juice_cup", ONE)),
}
"""Component named beside a food -> the measures it counts in, and how much of each for one unit."""


class Rounding(NamedTuple):
    """Rounding of one credit measure: down to ``step``, nothing under ``minimum`` (both thousandths)."""

    step: int
    minimum: int
    source: str
    status: str


@dataclass(frozen=True, slots=True, eq=False)
class CreditingScheme:
    """A named crediting scale with its rounding per measure index."""

    id: str
    title: str
    rounding: Mapping[int, Rounding]
    grain_group_grams_mg: Mapping[str, int]
    creditable_grain_mg: int
    source: str


def credits_from_grams_per_unit(component: str, grams_mg_per_unit: int, basis_mg: int) -> tuple[Credit, ...]:
    """Credits of a food of which ``grams_mg_per_unit`` make one cup or ounce equivalent."""
    return credits_from_amount(component, Fraction(basis_mg, grams_mg_per_unit))


def credits_from_amount(component: str, amount: Fraction) -> tuple[Credit, ...]:
    """Credits of a food whose ``basis_mg`` makes ``amount`` cups or ounce equivalents."""
    return tuple(Credit(MEASURE_INDEX[measure], amount * part) for measure, part in COMPONENT_MEASURES[component])


def merge_credits(credits: tuple[Credit, ...]) -> tuple[Credit, ...]:
    """Add up credits of the same measure, in measure order."""
    total: dict[int, Fraction] = {}
    for credit in credits:
        total[credit.measure] = total.get(credit.measure, Fraction(0)) + credit.per_basis
    return tuple(Credit(measure, total[measure]) for measure in sorted(total))


def credited(option: CreditOption, amount_mg: int, basis_mg: int, scheme: CreditingScheme) -> list[tuple[int, int]]:
    """Rounded credits of ``amount_mg`` of a food: pairs of measure index and whole thousandths.

    Source of the rounding: the scheme's file.
    """
    result: list[tuple[int, int]] = []
    for credit in option.credits:
        rounding = scheme.rounding.get(credit.measure)
        if rounding is None:
            continue
        numerator = credit.per_basis.numerator * amount_mg * SCALE
        steps = numerator // (credit.per_basis.denominator * basis_mg * rounding.step)
        value = steps * rounding.step
        if value >= rounding.minimum and value > 0:
            result.append((credit.measure, value))
    return result
