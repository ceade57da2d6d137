"""The cheapest packs that cover an amount."""

import math
from collections.abc import Sequence
from fractions import Fraction
from typing import NamedTuple

MOST_STEPS = 20_000
"""How many choices are looked at: far more than a shelf has sizes for; our choice."""


MOST_SIZES = 40
"""How many sizes are looked at, those with the cheapest gram: our choice."""


class Pack(NamedTuple):
    """A pack as the shop has it: its weight in milligrams and its price in minor units."""

    pack_mg: int
    amount_minor: int

    @property
    def per_mg(self) -> Fraction:
        """What a milligram of it costs."""
        return Fraction(self.amount_minor, self.pack_mg)


class Packed(NamedTuple):
    """How many of each pack, what they cost together, and whether it is sure that nothing is cheaper."""

    counts: tuple[tuple[Pack, int], ...]
    amount_minor: int
    proven: bool

    @property
    def amount_mg(self) -> int:
        """What all packs weigh together."""
        return sum(pack.pack_mg * number for pack, number in self.counts)


def cheapest(packs: Sequence[Pack], amount_mg: int | Fraction) -> Packed:
    """The cheapest packs that weigh at least so much together; of equally cheap ones those with the least left over.

    Exact, by branch and bound on the price of a gram. ``packs``: at least one. Source: ours.

    >>> large, small = Pack(1_000_000, 300), Pack(250_000, 100)
    >>> [(pack.pack_mg // 1000, number) for pack, number in cheapest([small, large], 1_200_000).counts]
    [(1000, 1), (250, 1)]
    """
    order = sorted(dict.fromkeys(packs), key=lambda one: (one.per_mg, -one.pack_mg))
    cut = len(order) > MOST_SIZES
    order = order[:MOST_SIZES]
    best: tuple[Fraction | int, Fraction | int, list[int]] | None = None
    steps = 0
    exhausted = cut

    def look(place: int, left: int | Fraction, cost: int, numbers: list[int]) -> None:
        nonlocal best, steps, exhausted
        if left <= 0:
            found = (cost, -left, [*numbers, *[0] * (len(order) - len(numbers))])
            if best is None or found[:2] < best[:2]:
                best = found
            return
        if place == len(order):
            return
        pack = order[place]
        after = order[place + 1].per_mg if place + 1 < len(order) else None
        for number in range(math.ceil(Fraction(left) / pack.pack_mg), -1, -1):
            steps += 1
            if steps > MOST_STEPS:
                exhausted = True
                return
            rest = left - number * pack.pack_mg
            least = cost + number * pack.amount_minor
            if rest > 0 and after is None:
                return
            bound = least + (rest * after if rest > 0 and after is not None else 0)
            if best is not None and bound > best[0]:
                if rest > 0:
                    return  # fewer of this pack leave more to the dearer ones
                continue
            look(place + 1, rest, least, [*numbers, number])

    look(0, amount_mg, 0, [])
    assert best is not None  # noqa: S101 - the first choice covers the amount
    counts = tuple((pack, number) for pack, number in zip(order, best[2], strict=True) if number)
    return Packed(counts, int(best[0]), not exhausted)
