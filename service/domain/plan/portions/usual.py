"""How likely it is that some portions are enough, where everybody chooses freely among what is left.

On each morning those who are there come in an order of chance. Each takes a number between its least and its most, each
number equally likely, one portion after another, of the foods it may take that are left: a food with twice the share is
taken twice as often. It is *short* when it finds fewer than its least.

Exact where there are few states; otherwise from a sample, with the error of its share. Source: the error is Wilson's score
interval at 95 % (E. B. Wilson, J. Am. Stat. Assoc. 22 (1927), 209); the way of choosing is our assumption.
"""

from collections.abc import Mapping, Sequence
from fractions import Fraction
from functools import cache
from itertools import permutations
from math import factorial, sqrt
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from service.domain.plan.portions.enough import Eater

MOST_STEPS = 4_000
"""Steps of the exact form (states, orders and choices) before a sample is drawn instead; a limit of ours."""
MOST_ORDERED = 5
"""Eaters of one morning whose orders are all looked at."""
PART_OF_SAMPLE = 500
"""Draws that are made together: few enough to stay in the processor's fast memory."""
CLEARLY = 3.0
"""So many standard errors below what is wanted, a chance is clearly below it; a choice of ours."""
Z_95 = 1.959964
Shares = Mapping[str, Mapping[str, float]]
"""Eater's name -> food -> how readily it is taken; a food that is not named counts 1."""
EQUAL: Shares = {}


class Chance(NamedTuple):
    """How likely it is that nobody is short. ``error``: how far the share may be off, from a sample; None: exact."""

    share: float
    error: float | None = None

    @property
    def at_least(self) -> float:
        """The share less its error."""
        return self.share - (self.error or 0.0)


class _TooMany(Exception):
    """More states than the exact form looks at."""


def chance(
    eaters: Sequence[Eater],
    portions: Mapping[str, int],
    shares: Shares = EQUAL,
    sample: int = 20_000,
    seed: int = 1,
    *,
    exactly: bool = True,
    wanted: float | None = None,
) -> Chance:
    """How likely it is that these portions are enough for everybody on all mornings.

    Parameters
    ----------
    portions: of each food. shares: how readily each eater takes each food. sample, seed: of the draws, where it is not exact.
    exactly: whether the exact form is tried first. wanted: no more is drawn once it is clear that the chance is below it.

    >>> week = frozenset(range(2))
    >>> two = [Eater("Kit", frozenset({"apple", "pear"}), week), Eater("Sam", frozenset({"pear"}), week)]
    >>> chance(two, {"apple": 2, "pear": 2})  # as long as Kit takes the apples
    Chance(share=0.375, error=None)
    """
    if exactly:
        try:
            return Chance(float(_exact(eaters, portions, shares)))
        except _TooMany:
            pass
    return _sampled(eaters, portions, shares, sample, seed, wanted)


def _weights(eater: Eater, foods: Sequence[str], shares: Shares) -> list[float]:
    known = shares.get(eater.name, {})
    return [float(known.get(food, 1.0)) if food in eater.may_take else 0.0 for food in foods]


def _exact(eaters: Sequence[Eater], portions: Mapping[str, int], shares: Shares) -> Fraction:
    foods = sorted(portions)
    weights = [[Fraction(one).limit_denominator(1_000_000) for one in _weights(each, foods, shares)] for each in eaters]
    days = max((one.last for one in eaters if one.mornings), default=-1) + 1
    here = [[place for place, one in enumerate(eaters) if day in one.mornings] for day in range(days)]
    if any(len(some) > MOST_ORDERED for some in here):
        raise _TooMany
    steps = 0

    @cache
    def after_one(place: int, left: tuple[int, ...]) -> dict[tuple[int, ...], Fraction]:
        """What may be left after one has taken, each with its chance; without those where it is short."""
        eater, found = eaters[place], dict[tuple[int, ...], Fraction]()
        numbers = range(eater.least, eater.most + 1)
        for number in numbers:
            ways = {(left, frozenset[int]()): Fraction(1, len(numbers))}
            for turn in range(number):
                further = dict[tuple[tuple[int, ...], frozenset[int]], Fraction]()
                for (rest, taken), how in ways.items():
                    free = [at for at, many in enumerate(rest) if many and weights[place][at] and at not in taken]
                    whole = sum(weights[place][at] for at in free)
                    if not free and turn >= eater.least:
                        further[(rest, taken)] = further.get((rest, taken), Fraction(0)) + how
                    for at in free:
                        less = (*rest[:at], rest[at] - 1, *rest[at + 1 :])
                        key = (less, taken if eater.repeats else taken | {at})
                        further[key] = further.get(key, Fraction(0)) + how * weights[place][at] / whole
                ways = further
            for (rest, _taken), how in ways.items():
                found[rest] = found.get(rest, Fraction(0)) + how
        return found

    now = {tuple(portions[food] for food in foods): Fraction(1)}
    for some in here:
        then = dict[tuple[int, ...], Fraction]()
        for order in permutations(some):
            ways = now
            for place in order:
                further = dict[tuple[int, ...], Fraction]()
                for left, how in ways.items():
                    steps += 1
                    if steps > MOST_STEPS:
                        raise _TooMany
                    for rest, part in after_one(place, left).items():
                        further[rest] = further.get(rest, Fraction(0)) + how * part
                ways = further
            for left, how in ways.items():
                then[left] = then.get(left, Fraction(0)) + how / factorial(len(some))
        now = then
    return sum(now.values(), Fraction(0))


def _sampled(
    eaters: Sequence[Eater],
    portions: Mapping[str, int],
    shares: Shares,
    sample: int,
    seed: int,
    wanted: float | None,
) -> Chance:
    """From draws in parts, each with a seed of its own."""
    kept = drawn = 0
    while drawn < sample:
        part = min(PART_OF_SAMPLE, sample - drawn)
        kept += _kept(eaters, portions, shares, part, np.random.default_rng([seed, drawn]))
        drawn += part
        if wanted is not None and kept / drawn < wanted - CLEARLY * sqrt(wanted * (1 - wanted) / drawn):
            break
    return Chance(kept / drawn, _error(kept, drawn))


def _kept(
    eaters: Sequence[Eater], portions: Mapping[str, int], shares: Shares, sample: int, draws: np.random.Generator
) -> int:
    """In how many of some draws nobody is short."""
    foods = sorted(portions)
    left = np.tile(np.array([[portions[food]] for food in foods], dtype=np.int64), sample)
    kept = np.ones(sample, dtype=bool)
    ready = np.array([_weights(one, foods, shares) for one in eaters]).T
    numbers = np.array([(one.least, one.most, one.repeats) for one in eaters], dtype=np.int64)
    for day in range(max((one.last for one in eaters if one.mornings), default=-1) + 1):
        some = np.array([place for place, one in enumerate(eaters) if day in one.mornings], dtype=np.int64)
        if not len(some):
            continue
        order = some[np.argsort(draws.random((sample, len(some))), axis=1)]
        for turn in range(len(some)):
            kept &= _take_one(numbers, order[:, turn], left, ready, draws)
    return int(kept.sum())


def _take_one(
    numbers: npt.NDArray[np.int64],
    who: npt.NDArray[np.int64],
    left: npt.NDArray[np.int64],
    ready: npt.NDArray[np.float64],
    draws: np.random.Generator,
) -> npt.NDArray[np.bool_]:
    """In each draw, one eater takes; ``left`` is changed. Whether it found its least.

    ``numbers``: least, most and repeats of each eater. ``left``: (foods, draws). ``ready``: (foods, eaters).
    """
    least: npt.NDArray[np.int64] = numbers[who, 0]
    most, repeats = numbers[who, 1], numbers[who, 2]
    number = most if (least == most).all() else draws.integers(least, most + 1)
    found = np.zeros(len(who), dtype=np.int64)
    readily = ready.take(who, axis=1)
    taken = np.zeros(left.shape, dtype=bool)
    for turn in range(int(most.max())):
        sums = readily * ((left > 0) & ~taken if turn else left > 0)
        for food in range(1, len(sums)):  # quicker than cumsum, which goes over the few foods of each draw
            sums[food] += sums[food - 1]
        may = np.flatnonzero((sums[-1] > 0) & (turn < number))
        at = np.minimum((sums < draws.random(len(who)) * sums[-1]).sum(axis=0), len(left) - 1)[may]
        left[at, may] -= 1
        taken[at, may] = repeats[may] == 0
        found[may] += 1
    return found >= least


def _error(number: int, sample: int) -> float:
    """Half the width of Wilson's interval, and how far its middle is from the share."""
    share, square = number / sample, Z_95**2
    middle = (share + square / (2 * sample)) / (1 + square / sample)
    half = Z_95 * sqrt(share * (1 - share) / sample + square / (4 * sample**2)) / (1 + square / sample)
    return max(middle + half - share, share - (middle - half))
