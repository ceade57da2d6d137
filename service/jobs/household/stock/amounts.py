"""Portions as people say them, grams as they are kept, and whole milligrams as they are counted."""

from fractions import Fraction

CRUMB_MG = 4
"""What quarters of a portion may be off by, since a milligram is not cut: less than this is none, or all."""


def mg_of(grams: float) -> int:
    """Whole milligrams.

    >>> mg_of(133.333)
    133333
    """
    return round(grams * 1000)


def grams_of(amount_mg: int) -> float:
    """Grams, from which ``mg_of`` gives the same milligrams."""
    return amount_mg / 1000


def amount_of(portions: float, portion_mg: int, there_mg: int | None = None) -> int:
    """Milligrams of so many portions; all that is there where it is no more than a crumb off.

    >>> amount_of(1.5, 133_333), amount_of(0.25, 33, 7)
    (200000, 7)
    """
    amount = round(Fraction(portions) * portion_mg)
    return there_mg if there_mg is not None and abs(there_mg - amount) < CRUMB_MG else amount


def portions_of(amount_mg: int, portion_mg: int) -> float:
    """Portions to three places, as they are shown.

    >>> portions_of(100_000, 133_333)
    0.75
    """
    return round(amount_mg / max(1, portion_mg), 3)
