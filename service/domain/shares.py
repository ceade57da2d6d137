"""Shares in percent, rounded so that they still say what they are."""

from math import ceil

PLACES = 1
MOST_PLACES = 6


def percent(share: float, *others: float) -> float:
    """A share in percent with one decimal, or as many as tell it from none, from all, and from the shares it is held against.

    >>> percent(0.25), percent(0.9996), percent(0.00004), percent(0.8996, 0.9), percent(1.0)
    (25.0, 99.96, 0.004, 89.96, 100.0)
    """
    apart = [one for one in (0.0, 1.0, *others) if one != share]
    for places in range(PLACES, MOST_PLACES):
        shown = round(100 * share, places)
        if all(shown != round(100 * one, places) for one in apart):
            return shown
    return round(100 * share, MOST_PLACES)


def percent_at_most(share: float) -> float:
    """A share in percent with two decimals that is not below it.

    >>> percent_at_most(0.00301), percent_at_most(0.05)
    (0.31, 5.0)
    """
    return ceil(round(100 * 100 * share, MOST_PLACES)) / 100
