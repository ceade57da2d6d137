"""Food-group credits of the US school-meal programs: what a component means and how it is rounded.

The amounts that make one cup or one ounce equivalent stand next to each food; the rounding steps
stand in reference_data/crediting. Credits of a mixed dish are summed first and rounded down once
(USDA FNS Food Buying Guide, appendix A).
"""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

from service.domain.foods.food import Credit, CreditOption
from service.domain.measures import MEASURE_INDEX, SCALE

Component = tuple[tuple[str, Fraction], ...]
"""What a food credits as: the measures it counts in, and how much of each for one cup or ounce equivalent."""


class Rounding(NamedTuple):
    """Rounding of one credit measure: down to ``step``, nothing under ``minimum`` (both in parts of a unit)."""

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


def credits_from_grams_per_unit(component: Component, grams_mg_per_unit: int, basis_mg: int) -> tuple[Credit, ...]:
    """Credits of a food of which ``grams_mg_per_unit`` make one cup or ounce equivalent.

    Both in milligrams. Source of the weights: Food Buying Guide or 7 CFR 210.10(c), beside each food.

    >>> credits_from_grams_per_unit((("fruit_cup", Fraction(1)),), 125_000, 100_000)[0].per_basis  # 125 g fill a cup
    Fraction(4, 5)
    """
    return credits_from_amount(component, Fraction(basis_mg, grams_mg_per_unit))


def credits_from_amount(component: Component, amount: Fraction) -> tuple[Credit, ...]:
    """Credits of a food whose ``basis_mg`` makes ``amount`` cups or ounce equivalents.

    ``amount``: for ``basis_mg`` of the food, before rounding. Source: 7 CFR 210.10(c), table of components.
    """
    return tuple(Credit(MEASURE_INDEX[measure], amount * part) for measure, part in component)


def merge_credits(credits: tuple[Credit, ...]) -> tuple[Credit, ...]:
    """Add up credits of the same measure, in measure order.

    Not rounded yet. Source: Food Buying Guide, appendix A: credits of a dish are summed, then rounded once.
    """
    total: dict[int, Fraction] = {}
    for credit in credits:
        total[credit.measure] = total.get(credit.measure, Fraction(0)) + credit.per_basis
    return tuple(Credit(measure, total[measure]) for measure in sorted(total))


def credited(option: CreditOption, amount_mg: int, basis_mg: int, scheme: CreditingScheme) -> list[tuple[int, int]]:
    """Rounded credits of ``amount_mg`` of a food: pairs of measure index and whole parts.

    Source of the rounding: the scheme's file.

    ``amount_mg`` of a food whose credits are for ``basis_mg``; both in milligrams.

    >>> from service.reference.lunch.standards import crediting_scheme
    >>> scheme = crediting_scheme("us-school-meals")
    >>> fruit = CreditOption("fruit", credits_from_grams_per_unit((("fruit_cup", Fraction(1)),), 125_000, 100_000))
    >>> credited(fruit, 90_000, 100_000, scheme) == [(MEASURE_INDEX["fruit_cup"], 62_500_000)]  # 0.72 cup, down to an eighth
    True
    """
    result: list[tuple[int, int]] = []
    for credit in option.credits:
        rounding = scheme.rounding.get(credit.measure)
        if rounding is None:
            continue
        numerator = credit.per_basis.numerator * amount_mg * SCALE
        # One division at the end: rounding before it could lose a step.
        steps = numerator // (credit.per_basis.denominator * basis_mg * rounding.step)
        value = steps * rounding.step
        if value >= rounding.minimum and value > 0:
            result.append((credit.measure, value))
    return result
