"""How often an allergen may be in a kind of food, when so many of its labels named it.

A count says what labels named, not what is in one packet: it decides how loudly the label is asked for, and clears nothing.
"""

from math import comb

STEPS = 30
"""Halvings of the interval: far finer than a tenth of a percent."""


def most_percent(named: int, labels: int) -> float:
    """The upper end of the share that ``named`` of ``labels`` leaves possible, in percent.

    Source: Clopper and Pearson, Biometrika 26 (1934), one-sided at 95 %: the share at which so few would have been
    named in 5 of 100 samples. No labels at all leave everything possible.

    >>> round(most_percent(0, 100), 2), most_percent(0, 0)
    (2.95, 100.0)
    """
    if named >= labels:
        return 100.0
    low, high = named / labels, 1.0
    for _ in range(STEPS):
        share = (low + high) / 2
        at_most = sum(comb(labels, k) * share**k * (1 - share) ** (labels - k) for k in range(named + 1))
        low, high = (share, high) if at_most > 0.05 else (low, share)
    return 100 * high
