"""How sums spread over an offer, and means over days, against the standard library and against dice."""

from collections import Counter
from collections.abc import Sequence
from fractions import Fraction
from itertools import product
from math import comb
from random import Random
from statistics import median
from typing import Any

import numpy as np
import pytest

from service.domain.counting import spread as combinations_spread
from service.domain.counting.days import Chance, week_chance
from service.domain.counting.estimate import estimate, wilson
from service.domain.counting.spans import NO_END
from service.domain.counting.spread import Spread, merged, round_edges, spread
from tests.domain.counting.combination_cases import Span, count, random_branch, values_and_rules

Branch = list[list[int]]
DIE = np.arange(1, 7)


def random_sums(chance: Random, reach: int, lists: int = 4) -> Branch:
    return [[chance.randint(-3, reach) for _ in range(chance.randint(1, 4))] for _ in range(chance.randint(1, lists))]


def arrays(branch: Branch) -> list["np.typing.NDArray[np.int64]"]:
    return [np.array(one, dtype=np.int64) for one in branch]


def mean_chance(over: Spread, days: int = 5, low: int | None = None, high: int | None = None, **how: Any) -> Chance:
    """The chance of a mean where every value is known: lowest and highest are the same."""
    return week_chance([(lists, lists) for lists in over.branches], days, low, high, **how)


@pytest.mark.parametrize("flat", [0, 1 << 16], ids=["in halves", "written out"])
def test_a_spread_is_that_of_all_sums(flat: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Against ``statistics.median``, ``numpy.histogram`` and sorting, for one to three branches."""
    monkeypatch.setattr(combinations_spread, "FLAT_MOST", flat)
    for seed in range(250):
        chance = Random(seed)  # noqa: S311 - no secret
        branches = [random_sums(chance, chance.choice([2, 9, 1000])) for _ in range(chance.randint(1, 3))]
        sums = sorted(sum(one) for branch in branches for one in product(*branch))
        found = merged([spread(arrays(branch)) for branch in branches])
        assert found.total == len(sums)
        assert (found.smallest, found.largest) == (sums[0], sums[-1])
        assert found.median == median(map(Fraction, sums))
        rank = chance.randint(1, len(sums))
        assert found.ranked(rank) == sums[rank - 1]
        bars = found.histogram()
        assert (bars.below, bars.above) == (0, 0)
        assert list(bars.counts) == np.histogram(sums, bars.edges)[0].tolist()
        bars = found.histogram([sums[0] - 1, sums[len(sums) // 2], sums[-1] + 5])
        assert list(bars.counts) == np.histogram(sums, bars.edges)[0].tolist()


def test_a_large_spread_is_not_written_out() -> None:
    """10 ** 10 combinations of ten lists of the digits: the binomial-like spread of ten digits is symmetric about 45."""
    found = spread([np.arange(10)] * 10)
    assert (found.total, found.smallest, found.largest, found.median) == (10**10, 0, 90, 45)
    assert found.at_most(44) == found.total - found.at_most(45)
    assert found.at_most(2) == 1 + 10 + comb(11, 2)


@pytest.mark.parametrize(
    ("smallest", "largest", "bins", "edges"),
    [(0, 10, 10, tuple(range(11))), (13, 95, 5, (0, 20, 40, 60, 80, 100)), (-7, -7, 4, (-7, -6)), (0, 0, 1, (0, 1))],
)
def test_edges_are_round_and_hold_everything(smallest: int, largest: int, bins: int, edges: Sequence[int]) -> None:
    assert round_edges(smallest, largest, bins) == tuple(edges)


def test_a_spread_refuses_what_it_cannot_hold() -> None:
    for values in (
        [],
        [np.array([], dtype=np.int64)],
        [np.array([NO_END])],
        [np.arange(70_000)] * 3,
        [np.arange(8_000)] * 3,
    ):
        with pytest.raises(ValueError, match=r"spread needs|more than|too many"):
            spread(values)
    for edges in ([1], [2, 1], [1, 1]):
        with pytest.raises(ValueError, match="two edges"):
            spread([DIE]).histogram(edges)


def by_convolution(branches: list[Branch], days: int, low: int | None, high: int | None) -> Fraction:
    """The chance by writing out every sum over the days, in plain Python."""
    day = Counter(sum(one) for branch in branches for one in product(*branch))
    over = Counter({0: 1})
    for _ in range(days):
        more: Counter[int] = Counter()
        for total, ways in over.items():
            for value, times in day.items():
                more[total + value] += ways * times
        over = more
    inside = sum(n for s, n in over.items() if (low is None or s >= low) and (high is None or s <= high))
    return Fraction(inside, over.total())


def test_the_chance_of_a_mean_is_that_of_writing_out_all_days() -> None:
    for seed in range(200):
        chance = Random(seed)  # noqa: S311 - no secret
        reach = chance.choice([2, 9, 1000])
        branches = [random_sums(chance, reach, 3) for _ in range(chance.randint(1, 3))]
        over = merged([spread(arrays(branch)) for branch in branches])
        days = chance.choice([1, 2, 3, 5])
        middle = over.ranked(chance.randint(1, over.total))
        low = chance.choice([None, middle - 1, middle])
        high = chance.choice([None, middle, middle + chance.randint(0, reach)])
        above, below = chance.random() < 0.3, chance.random() < 0.3
        expected = by_convolution(
            branches,
            days,
            None if low is None else days * low + above,
            None if high is None else days * high - below,
        )
        exact = mean_chance(over, days, low, high, above=above, below=below)
        assert exact.least == exact.most
        assert exact.least == expected
        for bins in (16, 1 << 12):
            rough = mean_chance(over, days, low, high, above=above, below=below, most_sums=0, bins=bins)
            assert rough.least <= expected <= rough.most


def test_five_dice() -> None:
    """The mean of five dice: symmetric about 3.5; 126 of 7,776 throws add up to 9 or less (C(9, 5), counted by hand)."""
    die = spread([DIE])
    assert mean_chance(die, 5, high=3, below=False).least == by_convolution([[[1, 2, 3, 4, 5, 6]]], 5, None, 15)
    doubled = spread([2 * DIE])
    assert mean_chance(doubled, 5, high=7).least == Fraction(1, 2)
    assert mean_chance(doubled, 5, low=7, above=True).least == Fraction(1, 2)
    shifted = spread([5 * DIE])
    assert mean_chance(shifted, 5, high=9).least == Fraction(comb(9, 5), 6**5)
    assert mean_chance(die).least == 1


def test_a_large_offer_tells_how_far_off_its_chance_may_be() -> None:
    values = [np.random.default_rng(place).integers(0, 300_000, 60) for place in range(5)]
    over = spread(values)
    found = mean_chance(over, 5, high=int(over.median))
    assert found.least < found.most
    assert found.most - found.least < Fraction(1, 1000)
    draw = np.random.default_rng(9)
    sums = sum(part[draw.integers(0, 60, (40_000, 5))].sum(axis=1) for part in values)
    share = float(np.mean(sums <= 5 * int(over.median)))
    assert abs(share - float((found.least + found.most) / 2)) < 0.012  # some five standard errors of a sample of 40,000


def test_large_weights_stay_exact() -> None:
    """Some 10 ** 27 ways over five days, symmetric about a mean that no sum hits: just half of them lie below."""
    found = mean_chance(spread([2 * np.arange(12)] * 5), 5, high=55)
    assert found.least == Fraction(1, 2)
    assert found.least == found.most


def test_an_unknown_value_parts_the_ends_of_the_chance() -> None:
    """Two options, one without an upper end: over two days a quarter of all weeks holds none of it."""
    low, high = [np.array([1, 0])], [np.array([1, NO_END])]
    found = week_chance([(low, high)], 2, at_most=1)
    assert (found.least, found.most) == (Fraction(1, 4), Fraction(1))
    found = week_chance([(low, high)], 2, at_least=1)
    assert (found.least, found.most) == (Fraction(1, 4), Fraction(1))
    found = week_chance([([np.array([-NO_END, 3])], [np.array([2, 3])])], 2, at_most=2)
    assert (found.least, found.most) == (Fraction(1, 4), Fraction(3, 4))
    with pytest.raises(ValueError, match="at least one day"):
        week_chance([(low, high)], 0)


def test_an_interval_keeps_the_true_chance_between_its_ends() -> None:
    """Whatever the true values in the intervals are, the chance lies between the two ends."""
    for seed in range(120):
        chance = Random(seed)  # noqa: S311 - no secret
        nominal = random_sums(chance, 20, 3)
        lows = [[value - chance.randint(0, 3) for value in one] for one in nominal]
        highs = [[value + chance.randint(0, 3) for value in one] for one in nominal]
        middle = sum(one[0] for one in nominal)
        low, high = chance.choice([None, middle - 4]), chance.choice([None, middle + 2])
        found = week_chance([(arrays(lows), arrays(highs))], 3, low, high)
        true = by_convolution([nominal], 3, None if low is None else 3 * low, None if high is None else 3 * high)
        assert found.least <= true <= found.most


@pytest.mark.parametrize(
    ("hits", "drawn", "low", "high"),
    [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718)],
)
def test_the_interval_of_an_estimate_is_wilsons(hits: int, drawn: int, low: float, high: float) -> None:
    """R. G. Newcombe, Statistics in Medicine 17 (1998) 857-872, table I, score method (figures from memory)."""
    found = wilson(hits, drawn)
    assert found == (pytest.approx(low, abs=5e-5), pytest.approx(high, abs=5e-5))


def test_an_estimate_judges_what_it_draws_like_the_count() -> None:
    """Drawing very many from a small offer comes near its exact shares, unknown and idle ones told apart."""
    for seed in range(12):
        chance = Random(seed)  # noqa: S311 - no secret
        branches = []
        for _ in range(chance.randint(1, 3)):
            rows, sizes = random_branch(chance)
            branches.append(([one.span() for one in rows], sizes))
        counts = [count(spans, sizes) for spans, sizes in branches]
        drawn_from = [values_and_rules(spans, sizes) for spans, sizes in branches]
        total = sum(one.total for one in counts)
        found = estimate(drawn_from, 40_000, seed)
        for drawn, exact in (
            (found.right, sum(one.right for one in counts)),
            (found.unknown, sum(one.unknown for one in counts)),
        ):
            assert abs(drawn / 40_000 - exact / total) < 0.013  # some five standard errors
            assert exact not in (0, total) or drawn / 40_000 == exact / total
        assert found == estimate(drawn_from, 40_000, seed)
        assert found.low <= found.right_share <= found.high
    with pytest.raises(ValueError, match="nothing to draw"):
        estimate([], 10, 1)


def test_most_intervals_hold_the_true_share() -> None:
    """Of 400 samples of a share of three in eight, about 95 in 100 intervals hold it."""
    coin = [np.array([0, 1])] * 3
    span = Span(coin, coin, 1, 1)
    held = 0
    for seed in range(400):
        found = estimate([values_and_rules([span], [2, 2, 2])], 200, seed)
        held += found.low <= 3 / 8 <= found.high
    assert 0.91 < held / 400 < 0.985
