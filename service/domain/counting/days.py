"""How likely the mean over some days lies within bounds, when each day's combination is taken at random.

Each combination of the offer is as likely as any other, and the days are independent. Exact where the offer
is of everyday size: what one list gives over all days has few different sums (the order of the days does not matter),
so the days' sums are counted list by list, in two halves. Beyond that the sums are rounded down to bins, and the
chance is given as an interval that holds the true one.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import comb, factorial, isqrt, prod

import numpy as np
import numpy.typing as npt

from service.domain.counting.rows import halves_of
from service.domain.counting.spans import NO_END, Whole

Real = npt.NDArray[np.float64]
Complex = npt.NDArray[np.complex128]
Lists = Sequence[Whole]

MOST_SUMS = 4_000_000
"""So many different sums of one half are counted exactly: enough for five lists and 5,000 combinations."""
MOST_SHARES = 1000
"""In so many ways days are given to branches and counted exactly."""
BINS = 1 << 17
"""Bins over the sum of all days where it is not counted exactly."""
WRITTEN_MOST = 1 << 16
"""So many sums of a day are written out for the bins."""
FLOAT_ERROR = Fraction(1, 10**9)
"""More than the rounding of the transforms can come to; added to both ends where they are used."""
EXACT_FLOATS = 1 << 53
MOST_WAYS = 1 << 62
LIMB = 19


@dataclass(frozen=True, slots=True)
class Chance:
    """A chance that lies between ``least`` and ``most``; the two are equal where it is exact and nothing unknown."""

    least: Fraction
    most: Fraction


def week_chance(
    branches: Sequence[tuple[Lists, Lists]],
    days: int = 5,
    at_least: int | None = None,
    at_most: int | None = None,
    *,
    above: bool = False,
    below: bool = False,
    most_sums: int = MOST_SUMS,
    bins: int = BINS,
) -> Chance:
    """How likely the mean of a row over some days lies within bounds (``above``, ``below``: without the bound itself).

    ``branches`` holds the row's lowest and highest values, list by list; ``NO_END`` and ``-NO_END`` where there is no end.
    ``most_sums``: how many different sums are counted exactly. Where there are more, ``bins`` bins over the sum of all
    days give an interval instead: with the usual number about 0.0003 wide. ``least``: the mean keeps the bounds for certain; ``most``: it does not
    break them for certain.

    Raises ``ValueError`` for fewer than one day. Source: ours.
    """
    effort = (most_sums, bins)
    if days < 1:
        raise ValueError(f"a mean needs at least one day, not {days}")
    exact = all(
        low is high or np.array_equal(low, high)
        for lows, highs in branches
        for low, high in zip(lows, highs, strict=True)
    )
    highs = [list(high) for _, high in branches]
    upper = None if at_most is None else days * at_most - int(below)
    lower = None if at_least is None else days * at_least + int(above)
    bounds = [bound for bound in (upper, None if lower is None else lower - 1) if bound is not None]
    if not bounds:
        return Chance(Fraction(1), Fraction(1))
    sure = _chances_at_most(highs, days, bounds, effort)  # at most the upper bound; then below the lower one
    if exact:
        opposite = [_rest(one) for one in sure]  # over the upper bound; at least the lower one
    else:
        lows = _negated([list(low) for low, _ in branches])
        opposite = _chances_at_most(lows, days, [-bound - 1 for bound in bounds], effort)
    kept = broken = Chance(Fraction(0), Fraction(0))
    for place, pair in enumerate(zip(sure, opposite, strict=True)):
        is_upper = upper is not None and place == 0
        kept = _sum(kept, pair[0] if is_upper else pair[1])
        broken = _sum(broken, pair[1] if is_upper else pair[0])
    least = max(Fraction(0), kept.least - (len(bounds) - 1))
    return Chance(least, max(least, 1 - broken.least))


def _negated(lists: Sequence[Lists]) -> list[list[Whole]]:
    return [[-values for values in one] for one in lists]


def _sum(one: Chance, other: Chance) -> Chance:
    return Chance(one.least + other.least, one.most + other.most)


def _rest(one: Chance) -> Chance:
    return Chance(1 - one.most, 1 - one.least)


@dataclass(frozen=True, slots=True, eq=False)
class _Day:
    """One branch of a day: what each list can add, from 0 up, and what the branch adds in any case."""

    adds: list[Whole]
    always: int


def _chances_at_most(
    branches: Sequence[Lists], days: int, bounds: Sequence[int], effort: tuple[int, int]
) -> list[Chance]:
    """How likely the sum over the days is at most each bound; values without an end never are.

    ``effort``: most sums counted exactly, and bins beyond them.
    """
    total = sum(prod(len(values) for values in lists) for lists in branches)
    known = [[values[values < NO_END] for values in lists] for lists in branches]
    known = [lists for lists in known if all(values.size for values in lists)]
    never = Chance(Fraction(0), Fraction(0))
    if not known:
        return [never] * len(bounds)
    least = min(sum(int(values.min()) for values in lists) for lists in known)
    lefts = [bound - days * least for bound in bounds]
    enough = max(lefts)
    if enough < 0:
        return [never] * len(bounds)
    each_day = []
    for lists in known:
        adds = [values - values.min() for values in lists]
        always = sum(int(values.min()) for values in lists) - least
        if always <= enough:
            each_day.append(_Day([add[add <= enough] for add in adds], always))
    most = max(day.always + sum(int(add.max()) for add in day.adds) for day in each_day)
    number = sum(prod(len(add) for add in day.adds) for day in each_day)
    everything = Fraction(number, total) ** days
    found: list[Chance | None] = [None] * len(bounds)
    for place, left in enumerate(lefts):
        if left < 0:
            found[place] = never
        elif days * most <= left:
            found[place] = Chance(everything, everything)
    open_ones = [place for place, one in enumerate(found) if one is None]
    if open_ones and _few_sums(each_day, days, effort[0]):
        for place in open_ones:
            one = Fraction(_count(each_day, days, lefts[place]), total**days)
            found[place] = Chance(one, one)
    elif open_ones:
        binned = _by_bins(each_day, days, [lefts[place] for place in open_ones], most, total, effort[1])
        for place, chance in zip(open_ones, binned, strict=True):
            found[place] = chance
    return [one for one in found if one is not None]


def _shares(days: int, branches: int) -> Iterator[tuple[int, ...]]:
    """All ways to give the days to branches."""
    if branches == 1:
        yield (days,)
        return
    for first in range(days + 1):
        for others in _shares(days - first, branches - 1):
            yield (first, *others)


def _few_sums(each_day: Sequence[_Day], days: int, most_sums: int) -> bool:
    """Whether the halves of all shares hold no more different sums together, and fit into 64 bits."""
    if comb(days + len(each_day) - 1, days) > MOST_SHARES:
        return False
    different = [[(len(adds), len(set(adds.tolist())), int(adds.max())) for adds in day.adds] for day in each_day]
    needed = 0
    for share in _shares(days, len(each_day)):
        lists = [(*one, k) for day, k in zip(different, share, strict=True) if k for one in day]
        sizes = [min(comb(values + k - 1, k), k * most + 1) for _size, values, most, k in lists]
        if needed + 2 * isqrt(prod(sizes)) > most_sums:
            return False  # two halves hold no fewer sums than twice the root of their product
        for half in halves_of(sizes):
            needed += prod(sizes[p] for p in half)
            ways = [lists[p][0] ** lists[p][3] for p in half]
            if prod(ways) > MOST_WAYS or max(ways, default=0) > EXACT_FLOATS:
                return False
        if needed > most_sums:
            return False
    return True


def _count(each_day: Sequence[_Day], days: int, left: int) -> int:
    """How many ways of taking combinations on all days stay within what is left."""
    folded: dict[tuple[int, int, int], tuple[Whole, Whole]] = {}
    count = 0
    for share in _shares(days, len(each_day)):
        here = left - sum(k * day.always for k, day in zip(share, each_day, strict=True))
        if here < 0:
            continue
        pieces = []
        for place, (day, k) in enumerate(zip(each_day, share, strict=True)):
            for number, adds in enumerate(day.adds if k else ()):
                key = (place, number, k)
                if key not in folded:
                    folded[key] = _over_days(adds, k, left)
                pieces.append(folded[key])
        orders = factorial(days) // prod(factorial(k) for k in share)
        count += orders * _pairs(pieces, here)
    return count


def _over_days(adds: Whole, days: int, left: int) -> tuple[Whole, Whole]:
    """The different sums of one list over some days, and in how many ways each comes about."""
    values, ways = np.unique(adds, return_counts=True)
    totals, counts = values, ways
    for _ in range(days - 1):
        every = (totals[:, None] + values[None, :]).ravel()
        weights = (counts[:, None] * ways[None, :]).ravel()
        some = every <= left
        totals, place = np.unique(every[some], return_inverse=True)
        counts = np.bincount(place, weights=weights[some], minlength=len(totals)).astype(np.int64)
    return totals, counts


def _pairs(pieces: Sequence[tuple[Whole, Whole]], left: int) -> int:
    """In how many ways one sum of each piece adds up to at most what is left."""
    one, other = halves_of([len(values) for values, _ in pieces])
    ones, their_ways = _together([pieces[p] for p in one], left)
    others, other_ways = _together([pieces[p] for p in other], left)
    if not ones.size or not others.size:
        return 0
    range_ = int(others.max()) + 1
    if range_ <= 4 * len(others) and int(other_ways.sum()) <= EXACT_FLOATS:
        up_to = np.bincount(others, weights=other_ways).cumsum().astype(np.int64)
        found = up_to[np.minimum(left - ones, range_ - 1)]
    else:
        order = np.argsort(others, kind="stable")
        up_to = np.concatenate([[0], np.cumsum(other_ways[order])])
        found = up_to[np.searchsorted(others[order], left - ones, side="right")]
    return _products(their_ways, found)


def _products(one: Whole, other: Whole) -> int:
    """The sum of products of non-negative numbers, exact: in limbs, so that no partial sum overflows."""
    limb = (1 << LIMB) - 1
    total = 0
    for place in range(0, int(one.max()).bit_length(), LIMB):
        for other_place in range(0, int(other.max()).bit_length(), LIMB):
            part = int(np.dot((one >> place) & limb, (other >> other_place) & limb))
            total += part << (place + other_place)
    return total


def _together(pieces: Sequence[tuple[Whole, Whole]], left: int) -> tuple[Whole, Whole]:
    """The sums of one of each piece that stay within what is left, with their ways."""
    sums: Whole = np.zeros(1, dtype=np.int64)
    ways: Whole = np.ones(1, dtype=np.int64)
    for values, times in pieces:
        sums = (sums[:, None] + values[None, :]).ravel()
        ways = (ways[:, None] * times[None, :]).ravel()
        some = sums <= left
        if not some.all():
            sums, ways = sums[some], ways[some]
    return sums, ways


def _by_bins(
    each_day: Sequence[_Day], days: int, lefts: Sequence[int], most: int, total: int, bins: int
) -> list[Chance]:
    """The chances by bins of the sum: what is rounded down to them is given as an interval.

    A day's sums are rounded once where they are few enough to be written out, else each of their two halves is.
    """
    left = max(lefts)
    reach = min(most, 2 * left + max(day.always for day in each_day))
    length = 1 << max(bins - 1, 4 * days).bit_length()  # transforms of a power of two are by far the quickest
    width = max(1, -(-days * reach // (length - 2 * days - 1)))
    written = sum(prod(len(adds) for adds in day.adds) for day in each_day) <= WRITTEN_MOST
    if written:
        sums = np.concatenate([_sums(day.adds) + day.always for day in each_day])
        counts: Real = np.bincount(sums[sums <= left] // width).astype(np.float64)
        spectrum: Complex = np.fft.rfft(counts / total, length)
    else:
        halves = [_spectrum(day, left, width, length) for day in each_day]
        spectrum = np.add.reduce(halves) / total
    power = spectrum
    for digit in bin(days)[3:]:
        power = power * power
        if digit == "1":
            power = power * spectrum
    chances = np.fft.irfft(power, length)
    slack = (1 if written else 2) * days * (width - 1)
    found = []
    for one in lefts:
        low = float(chances[: max(0, (one - slack) // width + 1)].sum())
        high = float(chances[: one // width + 1].sum())
        least = min(Fraction(1), max(Fraction(0), Fraction(low) - FLOAT_ERROR))
        found.append(Chance(least, min(Fraction(1), max(least, Fraction(high) + FLOAT_ERROR))))
    return found


def _sums(adds: Sequence[Whole]) -> Whole:
    total: Whole = np.zeros(1, dtype=np.int64)
    for values in adds:
        total = (total[:, None] + values[None, :]).ravel()
    return total


def _spectrum(day: _Day, left: int, width: int, length: int) -> Complex:
    """The transform of a day's sums, half by half."""
    sizes = [len(adds) for adds in day.adds]
    one, other = halves_of(sizes)
    factors = []
    for places, always in ((one, day.always), (other, 0)):
        sums, _ways = _together([(day.adds[p], np.ones(sizes[p], dtype=np.int64)) for p in places], left)
        counts: Real = np.bincount((sums + always) // width).astype(np.float64)
        factors.append(np.fft.rfft(counts, length))
    return factors[0] * factors[1]
