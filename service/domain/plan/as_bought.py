"""From what is eaten to what is bought: yields, the Food Buying Guide's arithmetic, and whole packs."""

import math
from fractions import Fraction
from typing import NamedTuple


class BoughtAs(NamedTuple):
    """The form in which a food is bought: its food key, how much of it is bought for one gram eaten, and what is lost.

    ``waste``: what is thrown away or lost, in words; empty: nothing. ``source`` and ``status`` of the figure; empty: as eaten.
    """

    food: str
    per_gram: Fraction
    waste: str
    source: str
    status: str


def purchase_units(
    units_per_hundred: Fraction, servings: Fraction, needed: Fraction, listed: Fraction = Fraction(1)
) -> Fraction:
    """Purchase units for so many servings.

    ``units_per_hundred``: units for 100 servings of the size listed; ``needed`` and ``listed``: sizes of a serving, in one unit.
    Source: Food Buying Guide for Child Nutrition Programs, introduction, method with column 5.

    >>> float(purchase_units(Fraction(3), Fraction(460), Fraction(1, 2), Fraction(1, 4)))  # no. 10 cans of corn
    27.6
    """
    return units_per_hundred * servings / 100 * needed / listed


def rounded_up(amount: Fraction, step: Fraction = Fraction(1)) -> Fraction:
    """What to buy: the next multiple of a step. Source: Food Buying Guide: amounts to buy are rounded up.

    >>> rounded_up(Fraction("27.6")), rounded_up(Fraction("13.06"), Fraction(1, 4))
    (Fraction(28, 1), Fraction(53, 4))
    """
    return math.ceil(amount / step) * step
