"""The best and the worst combinations of a branch by score, exact, without scoring all of them.

Branch and bound: combinations are built up list by list, many at a time; a beginning that can no longer come among
the best (or worst) so far is dropped. Ties are broken by the numbers of the options, the smaller first, so the answer is
that of scoring everything. Memory stays below some 100 MB.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate
from math import prod
from typing import NamedTuple

import numpy as np

from service.domain.combinations_masks import Tick
from service.domain.combinations_scores import Option, Real, Scorer, option_values
from service.domain.combinations_spans import Mask, Whole
from service.domain.standards import Target

PARENTS = 256
"""So many beginnings are built up further at a time."""
MOST_COMBINATIONS = 1 << 62


class Scored(NamedTuple):
    """A combination by the numbers of its options, and its score before rounding."""

    score: float
    options: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class BestAndWorst:
    """The best combinations, best first, and the worst, worst first."""

    best: tuple[Scored, ...]
    worst: tuple[Scored, ...]


def best_and_worst(
    targets: Sequence[Target], lists: Sequence[Sequence[Option]], k: int = 5, tick: Tick | None = None
) -> BestAndWorst:
    """The ``k`` combinations with the highest and the ``k`` with the lowest score (all, where there are fewer).

    Parameters
    ----------
    lists: for each list its options, for each option the items it takes.
    tick: called between blocks; raises to stop.

    The score is that of a single check before rounding. Raises ``ValueError`` for an empty list.
    """
    sizes = [len(options) for options in lists]
    if not sizes or min(sizes) < 1:
        raise ValueError(f"a branch needs at least one list, each with at least one option, not {sizes}")
    if prod(sizes) > MOST_COMBINATIONS:
        raise ValueError(f"{prod(sizes)} combinations are more than {MOST_COMBINATIONS}")
    scorer = Scorer(targets)
    features = [scorer.features(option_values(options)) for options in lists]
    return BestAndWorst(
        tuple(_Search(scorer, features, k, tick, best=True).run()),
        tuple(_Search(scorer, features, k, tick, best=False).run()),
    )


class _Search:
    """One search; for the worst, scores are turned round so that more is better here too."""

    def __init__(self, scorer: Scorer, features: list[Whole], k: int, tick: Tick | None, *, best: bool) -> None:
        self.scorer = scorer
        self.k = k
        self.tick = tick
        self.best = best
        sizes = [one.shape[1] for one in features]
        places = [prod(sizes[place + 1 :]) for place in range(len(sizes))]
        self.sizes = sizes
        order = sorted(range(len(sizes)), key=lambda place: -self._reach(features[place]))
        self.features = [features[place] for place in order]
        self.places = [places[place] for place in order]
        width = features[0].shape[0]
        nothing: Whole = np.zeros(width, dtype=np.int64)
        self.least_rest = list(accumulate((one.min(axis=1) for one in self.features[::-1]), initial=nothing))[::-1]
        self.most_rest = list(accumulate((one.max(axis=1) for one in self.features[::-1]), initial=nothing))[::-1]
        exact = [scorer.is_exact(one) for one in self.features]
        everything = np.ones(len(scorer.targets), dtype=np.bool_)
        self.exact_rest = list(accumulate(exact[::-1], np.logical_and, initial=everything))[::-1]
        self.found: list[tuple[float, int]] = []
        self.scored = 0

    def _reach(self, features: Whole) -> float:
        """How much a list can move the score, roughly: what it varies in each row by the width of its bounds."""
        reach = 0.0
        for place, target in enumerate(self.scorer.targets):
            row = features[3 * place]
            bounds = [abs(bound) for bound in (target.low, target.high) if bound]
            size = max(bounds) if bounds else max(1, int(np.abs(row).max()))
            reach += target.weight * min(1.0, float(row.max() - row.min()) / size)
        return reach

    def run(self) -> list[Scored]:
        """Search; the ``k`` found, best first."""
        if self.k < 1:
            return []
        start = np.zeros((self.features[0].shape[0], 1), dtype=np.int64)
        stack: list[tuple[int, Whole, Whole, Real]] = [(0, start, np.zeros(1, dtype=np.int64), np.full(1, np.inf))]
        while stack:
            depth, totals, codes, promise = stack.pop()
            some = np.flatnonzero(self._may_come_in(promise, codes))
            if not some.size:
                continue
            if some.size > PARENTS:
                later = some[PARENTS:]
                stack.append((depth, totals[:, later], codes[later], promise[later]))
                some = some[:PARENTS]
            if self.tick is not None:
                self.tick()
            totals, codes = self._built_up(depth, totals[:, some], codes[some])
            if depth + 1 == len(self.features):
                self._take(totals, codes)
                continue
            promise = self._promise(depth + 1, totals)
            some = np.flatnonzero(self._may_come_in(promise, codes))
            some = some[np.lexsort((codes[some], -promise[some]))]
            if some.size:
                stack.append((depth + 1, totals[:, some], codes[some], promise[some]))
        return [Scored(score if self.best else -score, self._options(code)) for score, code in self.found]

    def _built_up(self, depth: int, totals: Whole, codes: Whole) -> tuple[Whole, Whole]:
        features = self.features[depth]
        size = features.shape[1]
        totals = (totals[:, :, None] + features[:, None, :]).reshape(len(totals), -1)
        codes = (codes[:, None] + self.places[depth] * np.arange(size, dtype=np.int64)).ravel()
        return totals, codes

    def _promise(self, depth: int, totals: Whole) -> Real:
        rest = (self.least_rest[depth], self.most_rest[depth])
        if self.best:
            return self.scorer.most(totals, *rest)
        return -self.scorer.least(totals, *rest, self.exact_rest[depth])

    def _may_come_in(self, promise: Real, codes: Whole) -> Mask:
        """Whether a beginning may still lead to one of the best; its code is the least that it can lead to."""
        if len(self.found) < self.k:
            return np.ones(len(promise), dtype=np.bool_)
        score, code = self.found[-1]
        may: Mask = (promise > score) | ((promise == score) & (codes < code))
        return may

    def _take(self, totals: Whole, codes: Whole) -> None:
        """Score whole combinations and keep the best."""
        self.scored += len(codes)
        scores = self.scorer.scores(totals)
        if not self.best:
            scores = -scores
        some = np.flatnonzero(self._may_come_in(scores, codes))
        if some.size > self.k:
            some = some[np.lexsort((codes[some], -scores[some]))[: self.k]]
        self.found += zip(scores[some].tolist(), codes[some].tolist(), strict=True)
        self.found.sort(key=lambda one: (-one[0], one[1]))
        del self.found[self.k :]

    def _options(self, code: int) -> tuple[int, ...]:
        options = []
        for size in reversed(self.sizes):
            options.append(code % size)
            code //= size
        return tuple(reversed(options))
