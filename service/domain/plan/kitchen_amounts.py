"""An amount of a food as one measures it in a kitchen: grams or millilitres, and US cups, spoons, ounces and pounds.

What is shown is never nothing and within a stated tolerance of the exact amount. Of the ways to say it that are within it
the one with the fewest parts is shown, and of these the nearest. Source: ours; sizes come from reference_data.
"""

import math
from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import NamedTuple


class Measure(NamedTuple):
    """A cup or spoon: its size in microlitres, the parts of it that one has, and how many one counts at most."""

    id: str
    size_ul: Fraction
    steps: tuple[Fraction, ...]
    at_most: Fraction


class Kitchen(NamedTuple):
    """The measures of a kitchen, the largest first; ``ounce_mg``; ``tolerance``: the part by which an amount shown may differ."""

    measures: tuple[Measure, ...]
    ounce_mg: Fraction
    tolerance: Fraction


class Part(NamedTuple):
    """So much of one unit: ``g``, ``kg``, ``ml``, ``l``, ``oz``, ``lb`` or the id of a measure."""

    amount: Fraction
    unit: str


OUNCES_IN_A_POUND = 16


def metric(amount_mg: Fraction, tolerance: Fraction, millilitres_per_gram: Fraction | None = None) -> Part:
    """Grams, kilograms from a kilogram on; millilitres and litres for what is poured.

    ``millilitres_per_gram``: of what is poured; None: it is weighed.

    >>> metric(Fraction(1_234_567), Fraction(1, 20))
    Part(amount=Fraction(5, 4), unit='kg')
    >>> metric(Fraction(4_700), Fraction(1, 20))
    Part(amount=Fraction(47, 10), unit='g')
    """
    exact = amount_mg / 1000 * (millilitres_per_gram or 1)
    small, large = ("g", "kg") if millilitres_per_gram is None else ("ml", "l")
    shown = _rounded(exact, tolerance)
    return Part(shown / 1000, large) if shown >= 1000 else Part(shown, small)


def _rounded(exact: Fraction, tolerance: Fraction) -> Fraction:
    """The nearest multiple of the coarsest step (50, 10, 5, 1, a half, a tenth ...) whose half is within the tolerance."""
    for step in _steps():
        if step / 2 <= exact * tolerance:
            return math.floor(exact / step + Fraction(1, 2)) * step
    raise AssertionError("the steps have no end")


def _steps() -> Iterator[Fraction]:
    yield from map(Fraction, (50, 10, 5, 1))
    step = Fraction(1, 2)
    while True:
        yield step
        yield step / 5
        step /= 10


def customary(amount_mg: Fraction, kitchen: Kitchen, ul_per_mg: Fraction | None) -> tuple[Part, ...]:
    """US cups and spoons where the volume of the food is known and these are near enough; otherwise ounces and pounds.

    ``ul_per_mg``: microlitres that a milligram takes up; None: not known.

    >>> from service.reference.plan.kitchen import kitchen
    >>> [(str(one.amount), one.unit) for one in customary(Fraction(52_000), kitchen(), Fraction("236.5882") / 104)]
    [('1/2', 'cup')]
    """
    if ul_per_mg is not None:
        found = _volume(amount_mg * ul_per_mg, kitchen)
        if found:
            return found
    return _weight(amount_mg, kitchen)


def _volume(exact_ul: Fraction, kitchen: Kitchen) -> tuple[Part, ...]:
    """The fewest parts within the tolerance; empty where none are, or where it is too much to count cups."""
    room = exact_ul * kitchen.tolerance
    for most in range(1, len(kitchen.measures) + 1):
        ways = [
            (abs(exact_ul - sum(part.amount * _size(kitchen, part.unit) for part in way)), way)
            for way in _ways(exact_ul, kitchen.measures, most)
        ]
        near = [one for one in ways if one[0] <= room]
        if near:
            return min(near, key=lambda one: (one[0], [part.unit for part in one[1]]))[1]
    return ()


def _size(kitchen: Kitchen, unit: str) -> Fraction:
    return next(one.size_ul for one in kitchen.measures if one.id == unit)


def _ways(exact: Fraction, measures: Sequence[Measure], most: int) -> Iterator[tuple[Part, ...]]:
    """Ways to say a volume with ``most`` parts, each of a smaller measure than the one before."""
    for place, measure in enumerate(measures):
        for amount in _near(exact / measure.size_ul, measure.steps, last=most == 1):
            if not 0 < amount <= measure.at_most:
                continue
            part = Part(amount, measure.id)
            if most == 1:
                yield (part,)
            else:
                for rest in _ways(exact - amount * measure.size_ul, measures[place + 1 :], most - 1):
                    yield (part, *rest)


def _near(exact: Fraction, steps: Sequence[Fraction], *, last: bool) -> list[Fraction]:
    """Whole measures with a part of one, just below an amount; and just above it for the last part that is said."""
    whole = math.floor(exact)
    parts = sorted({Fraction(0), *steps})
    below = [whole + one for one in parts if whole + one <= exact]
    above = [whole + one for one in parts if whole + one > exact]
    return [*below[-1:], *(above[:1] if last else ())]


def _weight(amount_mg: Fraction, kitchen: Kitchen) -> tuple[Part, ...]:
    """Ounces in quarters, or as finely as it needs; from a pound on pounds and whole ounces where these are near enough."""
    ounces = amount_mg / kitchen.ounce_mg
    if ounces >= OUNCES_IN_A_POUND:
        rounded = math.floor(ounces + Fraction(1, 2))
        pounds, rest = divmod(rounded, OUNCES_IN_A_POUND)
        return (Part(Fraction(pounds), "lb"), *([Part(Fraction(rest), "oz")] if rest else []))
    quarter = Fraction(1, 4)
    if quarter / 2 <= ounces * kitchen.tolerance:
        return (Part(math.floor(ounces / quarter + Fraction(1, 2)) * quarter, "oz"),)
    return (Part(_rounded(ounces, kitchen.tolerance), "oz"),)
