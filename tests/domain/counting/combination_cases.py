"""Random small branches, and the counting of them one combination after the other: the yardstick of the tests."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product
from math import prod
from random import Random
from typing import Any

import numpy as np
from hypothesis import strategies as st

from service.domain.counting.combinations import Counts, How, RowCounts, count_branch
from service.domain.counting.spans import NO_END, Mask, Rule, Whole, as_branch
from service.domain.counting.survey import RowRule, Values

Value = tuple[int | None, int | None]
"""Lowest and highest value of an option; None: no end."""


@dataclass(frozen=True, eq=False)
class Span:
    """One row, list by list: lowest and highest value of each option, then what is asked of it (see `Rule`)."""

    low: Sequence[Whole]
    high: Sequence[Whole]
    at_least: int | None
    at_most: int | None
    only_if_certain: bool = False
    idle: Sequence[Mask] | None = None


def values_and_rules(spans: Sequence[Span], sizes: Sequence[int]) -> tuple[Values, list[RowRule]]:
    """Rows as the counting takes them: their values stacked, and the rule of each."""
    low, high = (
        np.array([np.concatenate(ends) for ends in rows], dtype=np.int64).reshape(len(spans), -1)
        if spans
        else np.zeros((0, sum(sizes)), dtype=np.int64)
        for rows in ([span.low for span in spans], [span.high for span in spans])
    )
    rules = [Rule(span.at_least, span.at_most, span.only_if_certain, span.idle) for span in spans]
    return Values(low, high, tuple(sizes)), list(enumerate(rules))


def count(spans: Sequence[Span], sizes: Sequence[int], **how: Any) -> Counts:
    """Count a branch; ``how``: the fields of `How`."""
    values, rules = values_and_rules(spans, sizes)
    return count_branch(as_branch(values.low, values.high, [rule for _row, rule in rules], sizes), How(**how))


@dataclass(frozen=True)
class Row:
    """A row over a branch in plain Python, from which both a `Span` and the yardstick are made."""

    values: tuple[tuple[Value, ...], ...]
    at_least: int | None
    at_most: int | None
    only_if_certain: bool
    idle: tuple[tuple[bool, ...], ...] | None

    def span(self) -> Span:
        """The row as the counting takes it."""
        return Span(
            low=[np.array([-NO_END if low is None else low for low, _ in one], dtype=np.int64) for one in self.values],
            high=[
                np.array([NO_END if high is None else high for _, high in one], dtype=np.int64) for one in self.values
            ],
            at_least=self.at_least,
            at_most=self.at_most,
            only_if_certain=self.only_if_certain,
            idle=None if self.idle is None else [np.array(one, dtype=np.bool_) for one in self.idle],
        )

    def status(self, combination: Sequence[int]) -> str:
        """Status of the row in one combination."""
        if self.idle is not None and all(self.idle[place][option] for place, option in enumerate(combination)):
            return "idle"
        taken = [self.values[place][option] for place, option in enumerate(combination)]
        lows, highs = [low for low, _ in taken], [high for _, high in taken]
        low = None if None in lows else sum(one for one in lows if one is not None)
        high = None if None in highs else sum(one for one in highs if one is not None)
        if self.at_most is not None and low is not None and low > self.at_most:
            return "over"
        if self.at_least is not None and high is not None and high < self.at_least:
            return "short"
        keeps_most = self.at_most is None or (high is not None and high <= self.at_most)
        keeps_least = self.at_least is None or (low is not None and low >= self.at_least)
        return "kept" if keeps_most and keeps_least else "unknown"


def counted_one_by_one(rows: Sequence[Row], sizes: Sequence[int]) -> Counts:
    """Every combination, every row."""
    by_row = [{"kept": 0, "short": 0, "over": 0, "unknown": 0, "idle": 0} for _ in rows]
    right = wrong = unknown = total = 0
    option_right = [[0] * size for size in sizes]
    option_unknown = [[0] * size for size in sizes]
    for combination in product(*map(range, sizes)):
        total += 1
        statuses = [row.status(combination) for row in rows]
        for counts, status in zip(by_row, statuses, strict=True):
            counts[status] += 1
        hard = [s for s, row in zip(statuses, rows, strict=True) if not (row.only_if_certain and s == "unknown")]
        if "short" in hard or "over" in hard:
            wrong += 1
            continue
        tally = option_unknown if "unknown" in hard else option_right
        unknown += "unknown" in hard
        right += "unknown" not in hard
        for place, option in enumerate(combination):
            tally[place][option] += 1
    return Counts(
        total,
        right,
        wrong,
        unknown,
        tuple(RowCounts(**counts) for counts in by_row),
        tuple(map(tuple, option_right)),
        tuple(map(tuple, option_unknown)),
    )


def random_branch(chance: Random, most: int = 120, lists: int = 6) -> tuple[list[Row], list[int]]:
    """Rows and list sizes of up to ``most`` combinations, some lists of one option, now and then no rows at all."""
    sizes: list[int] = []
    while not sizes or (len(sizes) < lists and chance.random() < 0.75):
        sizes.append(chance.randint(1, max(1, min(6, most // prod(sizes)))))
    idle = None
    if chance.random() < 0.25:
        idle = tuple(tuple(chance.random() < 0.6 for _ in range(size)) for size in sizes)
    return [_random_row(chance, sizes, idle) for _ in range(chance.randint(0, 4))], sizes


def _random_row(chance: Random, sizes: list[int], idle: tuple[tuple[bool, ...], ...] | None) -> Row:
    lowest, highest = chance.choice(
        [(-3, 6), (0, 1), (0, 40), (-1_500_000, 1_500_000), (0, 10**9), ((1 << 50) - 3, 1 << 50), (-(1 << 50), 1 << 50)]
    )
    pool = [chance.randint(lowest, highest) for _ in range(chance.randint(1, 5))]
    doubtful = chance.choice([0.0, 0.0, 0.15, 0.6])
    values = tuple(tuple(_random_value(chance, pool, doubtful) for _ in range(size)) for size in sizes)
    bounds = []
    for _ in range(2):
        reached = sum(chance.choice(one)[chance.randint(0, 1)] or 0 for one in values)
        bounds.append(reached + chance.choice([0, 0, -1, 1, chance.randint(-5, 5) * max(1, highest // 7)]))
    if chance.random() < 0.9:
        bounds.sort()
    at_least = bounds[0] if chance.random() < 0.6 else None
    at_most = bounds[1] if chance.random() < 0.6 else None
    lies_idle = idle if chance.random() < 0.5 else None
    return Row(values, at_least, at_most, chance.random() < 0.25, lies_idle)


def _random_value(chance: Random, pool: list[int], doubtful: float) -> Value:
    low = chance.choice(pool)
    if chance.random() >= doubtful:
        return low, low
    high = chance.choice([None, None, min(low + chance.randint(0, 5), 1 << 50)])
    return (None if chance.random() < 0.3 else low), high


def branches(most: int = 120) -> st.SearchStrategy[tuple[list[Row], list[int]]]:
    """Random branches, drawn by a seed: thousands of them in seconds."""
    return st.builds(random_branch, st.randoms(use_true_random=True), st.just(most))
