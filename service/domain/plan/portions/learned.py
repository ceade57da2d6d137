"""How readily somebody takes each food, learned from what it took when the food was on offer.

Each food starts as if it had been taken once, so that with nothing known every food is as likely as any other, and one lunch
moves little (P. S. Laplace's rule of succession, 1774, for more than two outcomes). The count as such is our choice.
"""

from collections.abc import Iterable, Mapping
from typing import NamedTuple

PRIOR = 1
"""How often each food counts as taken before anything is known."""


class TakenLunch(NamedTuple):
    """One lunch that was taken from an offer, by the ids of its foods."""

    on_offer: frozenset[str]
    taken: frozenset[str]


class Learned(NamedTuple):
    """Food -> its share of what is taken, all together 1; ``lunches``: how many of them had one of the foods on offer."""

    shares: Mapping[str, float]
    lunches: int


def learned(foods: frozenset[str], lunches: Iterable[TakenLunch]) -> Learned:
    """What lunches say of the foods among which somebody may choose; with none of them on offer, equal shares.

    >>> four = [TakenLunch(frozenset({"apple", "pear"}), frozenset({"apple"}))] * 4
    >>> found = learned(frozenset({"apple", "pear"}), four)
    >>> round(found.shares["apple"], 3), round(found.shares["pear"], 3), found.lunches
    (0.833, 0.167, 4)
    """
    known = [one for one in lunches if foods & one.on_offer]
    rates = {
        food: (sum(food in one.taken for one in known) + PRIOR)
        / (sum(food in one.on_offer for one in known) + PRIOR * len(foods))
        for food in sorted(foods)
    }
    whole = sum(rates.values())
    return Learned({food: rate / whole for food, rate in rates.items()}, len(known))
