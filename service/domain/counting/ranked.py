"""The best and the worst combinations of a branch by score, exact, without scoring all of them.

Branch and bound over boxes: a box takes a cluster of like options from each list. It is split list by list into
smaller clusters, many boxes at a time, the most promising first; a box that cannot hold one of the best (or worst)
is dropped. At the end a box is one combination, and scored. Ties are broken by the numbers of the options, the smaller
first, so the answer is that of scoring everything. Memory stays below some 100 MB.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import prod
from typing import NamedTuple

import numpy as np

from service.domain.counting.limits import ScoreLimits
from service.domain.counting.masks import Tick
from service.domain.counting.scores import Option, OptionsTake, Real, Scorer
from service.domain.counting.spans import Mask, Whole, starts_of, sums
from service.domain.lunch.standards import Target

BOXES = 512
"""So many boxes are split at a time."""
SCORED_OUTRIGHT = 8192
"""Up to so many combinations all are scored."""
BRANCHING = 4
"""A cluster is split into so many, or into single options where it holds no more than twice as many."""
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
    targets: Sequence[Target],
    lists: Sequence[Sequence[Option]],
    k: int = 5,
    tick: Tick | None = None,
    taken: OptionsTake | None = None,
) -> BestAndWorst:
    """The ``k`` combinations with the highest and the ``k`` with the lowest score (all, where there are fewer).

    Parameters
    ----------
    lists: for each list its options, for each option the items it takes.
    tick: called between blocks; raises to stop.
    taken: what the options take off besides what the targets leave.

    The score is that of a single check before rounding. Raises ``ValueError`` for an empty list.
    """
    sizes = [len(options) for options in lists]
    if not sizes or min(sizes) < 1:
        raise ValueError(f"a branch needs at least one list, each with at least one option, not {sizes}")
    if prod(sizes) > MOST_COMBINATIONS:
        raise ValueError(f"{prod(sizes)} combinations are more than {MOST_COMBINATIONS}")
    scorer = Scorer(targets, lists, taken)
    if prod(sizes) <= SCORED_OUTRIGHT:
        totals = sums(np.concatenate(scorer.features, axis=1), sizes, starts_of(sizes))
        scores, codes = scorer.scores(totals), np.arange(prod(sizes))
        best = _Best(k, sizes, 1)
        worst = _Best(k, sizes, -1)
        best.take(scores, codes)
        worst.take(scores, codes)
        return BestAndWorst(best.ranking(), worst.ranking())
    limits = ScoreLimits(scorer)
    trees = [_tree(limits, features) for features in limits.features]
    found = []
    for sign in (1, -1):
        best = _Best(k, sizes, sign)
        _search(scorer, limits, trees, best, tick)
        found.append(best.ranking())
    return BestAndWorst(*found)


class _Best:
    """The best so far: scores (for the worst, with their sign turned) and codes of combinations."""

    def __init__(self, k: int, sizes: Sequence[int], sign: int) -> None:
        self.k = k
        self.sizes = sizes
        self.sign = sign
        self.found: list[tuple[float, int]] = []

    def may_come_in(self, promise: Real, codes: Whole) -> Mask:
        """Which may still be, or lead to, one of the best: ``codes`` are the least they lead to."""
        if self.k < 1:
            return np.zeros(len(promise), dtype=np.bool_)
        if len(self.found) < self.k:
            return np.ones(len(promise), dtype=np.bool_)
        score, code = self.found[-1]
        may: Mask = (promise > score) | ((promise == score) & (codes < code))
        return may

    def take(self, scores: Real, codes: Whole) -> None:
        """Take in scored combinations."""
        scores = self.sign * scores
        some = np.flatnonzero(self.may_come_in(scores, codes))
        if some.size > self.k:
            least = np.partition(scores[some], some.size - self.k)[some.size - self.k]
            some = some[scores[some] >= least]
            some = some[np.lexsort((codes[some], -scores[some]))[: self.k]]
        self.found += zip(scores[some].tolist(), codes[some].tolist(), strict=True)
        self.found.sort(key=lambda one: (-one[0], one[1]))
        del self.found[self.k :]

    def features(self, features: Sequence[Whole], codes: Whole) -> Whole:
        """The features of combinations by their codes."""
        total: Whole = np.zeros((len(features[0]), len(codes)), dtype=np.int64)
        for place in reversed(range(len(self.sizes))):
            codes, option = np.divmod(codes, self.sizes[place])
            total += features[place][:, option]
        return total

    def ranking(self) -> tuple[Scored, ...]:
        """The best, with the options behind the codes."""
        return tuple(Scored(self.sign * score, self._options(code)) for score, code in self.found)

    def _options(self, code: int) -> tuple[int, ...]:
        options = []
        for size in reversed(self.sizes):
            options.append(code % size)
            code //= size
        return tuple(reversed(options))


@dataclass(frozen=True, slots=True, eq=False)
class _Level:
    """The clusters of a list at one depth: least and most of each feature, first option, and which it splits into.

    The clusters that cluster i splits into are ``into[i]`` to ``into[i + 1]`` of the next level.
    """

    least: Real
    most: Real
    first: Whole
    into: Whole


def _tree(limits: ScoreLimits, features: Real) -> list[_Level]:
    """Split a list's options into ever smaller clusters of options that do the same to the score."""
    impacts = limits.impacts(features)
    clusters = [np.arange(features.shape[1])]
    levels = []
    while True:
        parts = [_split(impacts, cluster) for cluster in clusters]
        into = np.cumsum([0, *(len(part) for part in parts)])
        starts = np.cumsum([0, *(len(cluster) for cluster in clusters)])[:-1]
        ordered = features[:, np.concatenate(clusters)]
        levels.append(
            _Level(
                np.minimum.reduceat(ordered, starts, axis=1),
                np.maximum.reduceat(ordered, starts, axis=1),
                np.array([int(cluster.min()) for cluster in clusters], dtype=np.int64),
                into,
            )
        )
        if len(clusters) == features.shape[1]:
            return levels
        clusters = [cluster for part in parts for cluster in part]


def _split(impacts: Real, cluster: Whole) -> list[Whole]:
    if len(cluster) <= 2 * BRANCHING:
        return [cluster[place : place + 1] for place in range(len(cluster))]
    parts = [cluster]
    while len(parts) < BRANCHING:
        parts = [half for part in parts for half in _halves(impacts, part)]
    return parts


def _halves(impacts: Real, cluster: Whole) -> tuple[Whole, Whole]:
    """Two halves, separated where the options differ most."""
    if not len(impacts):
        return cluster[: len(cluster) // 2], cluster[len(cluster) // 2 :]
    some = impacts[:, cluster]
    widest = int((some.max(axis=1) - some.min(axis=1)).argmax())
    order = np.argsort(some[widest], kind="stable")
    middle = len(cluster) // 2
    return cluster[order[:middle]], cluster[order[middle:]]


class _Boxes(NamedTuple):
    """Boxes at one step: features between ``low`` and ``high``, least code, cluster of each list, and promise.

    ``order``: those still to be split, the most promising first.
    """

    step: int
    low: Real
    high: Real
    codes: Whole
    clusters: Whole
    promise: Real
    order: Whole


def _search(
    scorer: Scorer, limits: ScoreLimits, trees: Sequence[Sequence[_Level]], best: _Best, tick: Tick | None
) -> None:
    """Split boxes, the most promising first, until none is left that may hold one of the best."""
    places = [prod(best.sizes[place + 1 :]) for place in range(len(best.sizes))]
    deepest = max(len(tree) for tree in trees)
    steps = [(place, depth) for depth in range(deepest) for place in limits.order if depth + 1 < len(trees[place])]
    start = _Boxes(
        step=0,
        low=np.sum([tree[0].least for tree in trees], axis=0),
        high=np.sum([tree[0].most for tree in trees], axis=0),
        codes=np.zeros(1, dtype=np.int64),
        clusters=np.zeros((len(trees), 1), dtype=np.int64),
        promise=np.full(1, np.inf),
        order=np.zeros(1, dtype=np.int64),
    )
    stack = [start]
    while stack:
        boxes = stack.pop()
        which = boxes.order[best.may_come_in(boxes.promise[boxes.order], boxes.codes[boxes.order])]
        if not which.size:
            continue
        if which.size > BOXES:
            stack.append(boxes._replace(order=which[BOXES:]))
            which = which[:BOXES]
        if tick is not None:
            tick()
        place, depth = steps[boxes.step]
        split = _split_boxes(boxes, which, place, trees[place][depth : depth + 2], places[place])
        promise = limits.most(split.low, split.high) if best.sign > 0 else -limits.least(split.low, split.high)
        which = np.flatnonzero(best.may_come_in(promise, split.codes))
        if split.step == len(steps):
            codes = split.codes[which]
            best.take(scorer.scores(best.features(scorer.features, codes)), codes)
            continue
        which = which[np.lexsort((split.codes[which], -promise[which]))]
        stack.append(split._replace(promise=promise, order=which))


def _split_boxes(boxes: _Boxes, which: Whole, place: int, levels: Sequence[_Level], code: int) -> _Boxes:
    """Split one list's cluster of some boxes."""
    level, below = levels
    cluster = boxes.clusters[place, which]
    counts = level.into[cluster + 1] - level.into[cluster]
    parent = np.repeat(which, counts)
    offset = np.arange(len(parent)) - np.repeat(np.cumsum(counts) - counts, counts)
    before = boxes.clusters[place, parent]
    after = level.into[before] + offset
    clusters = boxes.clusters.take(parent, axis=1)
    clusters[place] = after
    up = np.repeat(np.arange(len(level.first)), np.diff(level.into))
    less, more = below.least - level.least[:, up], below.most - level.most[:, up]
    return _Boxes(
        step=boxes.step + 1,
        low=boxes.low.take(parent, axis=1) + less.take(after, axis=1),
        high=boxes.high.take(parent, axis=1) + more.take(after, axis=1),
        codes=boxes.codes[parent] + code * (below.first[after] - level.first[before]),
        clusters=clusters,
        promise=np.zeros(len(parent)),
        order=parent,
    )
