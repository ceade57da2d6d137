"""All that an audit asks of one branch: how many combinations keep every limit, and each row by itself.

A *limit* is what a combination must keep; a row's *own* rule is only reported, and nobody must keep it. Both lie
over the same values. Branches of everyday size are written out once, and every question is answered from that;
larger ones are counted (`combinations`), one question at a time, and give the same numbers.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from math import prod
from typing import NamedTuple

import numpy as np

from service.domain.counting.combinations import How, RowCounts, count_branch
from service.domain.counting.masks import Tick
from service.domain.counting.spans import Branch, Mask, Rule, Whole, as_branch, by_option, front_half, starts_of, sums

WRITTEN_MOST = 1 << 22
"""Values (rows times combinations) up to which a branch is written out."""
HALF_WIDTH = (1 << 31) - 1
"""Sums below this are compared in half as many bytes."""

RowRule = tuple[int, Rule]
"""A row of the values, and what is asked of it."""


class Values(NamedTuple):
    """Lowest and highest values of rows over a branch: (rows, options of all lists in a row) each, and the lists' sizes."""

    low: Whole
    high: Whole
    sizes: tuple[int, ...]


class Judged(NamedTuple):
    """How many combinations keep a rule, fall short of it or go over it for certain, or leave it open."""

    kept: int
    short: int
    over: int
    unknown: int


@dataclass(slots=True)
class Survey:
    """What was found; ``limits`` and ``own`` are empty where only the limits together were asked for."""

    sizes: tuple[int, ...]
    total: int
    right: int
    wrong: int
    unknown: int
    limits: list[Judged] = field(default_factory=list)
    own: list[Judged] = field(default_factory=list)
    _options: tuple[list[int], list[int]] | None = None
    _masks: Mask | None = None
    _broken: tuple[dict[int, Mask], dict[int, Mask]] | None = None
    _counted: tuple[Values, Sequence[RowRule], Tick | None] | None = None

    def options(self) -> tuple[list[int], list[int]]:
        """How many right and how many unknown combinations take each option, the options of all lists in a row."""
        if self._options is None:
            if self._masks is None:
                raise ValueError("a survey holds its options or the combinations themselves")
            right, unknown = by_option(self._masks, self.sizes).tolist()
            self._options = (right, unknown)
        return self._options

    def failures_by_option(self, limit: int, *, short: bool) -> list[int]:
        """How many of the combinations that fall short of a limit (or go over it) take each option."""
        if self._broken is not None:
            broken = self._broken[0 if short else 1].get(limit)
            if broken is None:
                return [0] * sum(self.sizes)
            found: list[int] = by_option(broken[None, :], self.sizes)[0].tolist()
            return found
        if self._counted is None:
            raise ValueError("only the limits together were asked for")
        values, limits, tick = self._counted
        row, rule = limits[limit]
        side = rule._replace(at_most=None) if short else rule._replace(at_least=None)
        counts = count_branch(_rows(values, [(row, side)]), How(per_row=False, tick=tick))
        each = [counts.total // size for size in self.sizes for _ in range(size)]
        right = [one for part in counts.option_right for one in part]
        unknown = [one for part in counts.option_unknown for one in part]
        return [all_ - one - other for all_, one, other in zip(each, right, unknown, strict=True)]


def survey(
    values: Values,
    limits: Sequence[RowRule],
    own: Sequence[RowRule] | None = None,
    tick: Tick | None = None,
    *,
    written_most: int = WRITTEN_MOST,
) -> Survey:
    """Count a branch: the limits together, and with ``own`` rules also each limit and each of these by itself.

    ``tick``: called between steps; raises to stop. ``written_most``: up to which size a branch is written out; what
    is larger raises ``ValueError`` beyond the limits of `spans`.
    """
    if tick is not None:
        tick()
    if len(values.low) * prod(values.sizes) <= written_most and limits:
        return _written(values, limits, own)
    return _counted(values, limits, own, tick)


def right_with_each(values: Values, limits: Sequence[RowRule], place: int, picks: Sequence[Whole]) -> Mask:
    """Which options of one list keep every limit for certain, beside some combinations of all the other lists.

    ``place``: of the list. ``picks``: for each other list, in order, which of its options each combination takes.
    The answer is (combinations, options of the list).
    """
    starts = starts_of(values.sizes)
    others = [other for other in range(len(values.sizes)) if other != place]
    chosen = [starts[other] + pick for other, pick in zip(others, picks, strict=True)]
    own = slice(starts[place], starts[place] + values.sizes[place])
    number = len(picks[0]) if picks else 1

    def two_lists(rows: Whole) -> Whole:
        rest = np.zeros((len(rows), number), dtype=np.int64)
        for columns in chosen:
            rest += rows[:, columns]
        return np.concatenate([rest, rows[:, own]], axis=1)

    low = two_lists(values.low)
    high = low if values.high is values.low else two_lists(values.high)
    idle: dict[int, list[Mask]] = {}
    rules = []
    for row, rule in limits:
        masks = rule.idle
        if masks is not None and id(masks) not in idle:
            rest: Mask = np.ones(number, dtype=np.bool_)
            for other, pick in zip(others, picks, strict=True):
                rest &= masks[other][pick]
            idle[id(masks)] = [rest, masks[place]]
        rules.append((row, rule._replace(idle=None if masks is None else idle[id(masks)])))
    found = _written(Values(low, high, (number, values.sizes[place])), rules, None)
    assert found._masks is not None  # noqa: S101 - what is written out has them
    right: Mask = found._masks[0].reshape(number, values.sizes[place])
    return right


def _rows(values: Values, rules: Sequence[RowRule]) -> Branch:
    rows = [row for row, _rule in rules]
    return as_branch(values.low[rows], values.high[rows], [rule for _row, rule in rules], values.sizes)


def _counted(values: Values, limits: Sequence[RowRule], own: Sequence[RowRule] | None, tick: Tick | None) -> Survey:
    found = count_branch(_rows(values, limits), How(per_row=own is not None, tick=tick))
    made = Survey(values.sizes, found.total, found.right, found.wrong, found.unknown)
    made._options = (
        [one for part in found.option_right for one in part],
        [one for part in found.option_unknown for one in part],
    )
    if own is not None:
        made.limits = [_row(one) for one in found.rows]
        alone = count_branch(_rows(values, own), How(per_option=False, tick=tick))
        made.own = [_row(one) for one in alone.rows]
        made._counted = (values, limits, tick)
    return made


def _row(counts: RowCounts) -> Judged:
    return Judged(counts.kept + counts.idle, counts.short, counts.over, counts.unknown)


def _written(values: Values, limits: Sequence[RowRule], own: Sequence[RowRule] | None) -> Survey:
    low = _halves(values.low, values.sizes)
    open_rows = set() if values.low is values.high else _open_rows(values)
    high = _halves(values.high, values.sizes) if open_rows else low
    short, over = _broken(low, high, limits, values.sizes)
    not_wrong = ~_any(_any(np.zeros(low.total, dtype=np.bool_), short), over)
    right = not_wrong
    unsure = {place for place, (row, rule) in enumerate(limits) if row in open_rows and not rule.only_if_certain}
    if unsure:
        kept = _kept(low, high, [limits[place] for place in unsure], values.sizes)
        right = not_wrong & kept.all(axis=0)
    masks = np.stack([right, not_wrong & ~right]) if unsure else np.stack([right, np.zeros_like(right)])
    rights, unknowns = int(np.count_nonzero(right)), int(np.count_nonzero(masks[1]))
    made = Survey(values.sizes, low.total, rights, low.total - rights - unknowns, unknowns, _masks=masks)
    if own is not None:
        made._broken = (short, over)
        made.limits = _judged(low, high, limits, (short, over), open_rows, values.sizes)
        made.own = _judged(low, high, own, _broken(low, high, own, values.sizes), open_rows, values.sizes)
    return made


class _Halves(NamedTuple):
    """Sums of rows over the first lists and over the others: (rows, sums) each; a combination takes one of each."""

    one: Whole
    other: Whole
    total: int


def _halves(values: Whole, sizes: tuple[int, ...]) -> _Halves:
    starts, half = starts_of(sizes), front_half(sizes)
    return _Halves(sums(values, sizes[:half], starts[:half]), sums(values, sizes[half:], starts[half:]), prod(sizes))


def _open_rows(values: Values) -> set[int]:
    rows: list[int] = np.flatnonzero((values.low != values.high).any(axis=1)).tolist()
    return set(rows)


def _any(masks: Mask, more: dict[int, Mask]) -> Mask:
    for one in more.values():
        masks |= one
    return masks


def _beyond(halves: _Halves, bounds: dict[int, tuple[int, int]], *, above: bool) -> dict[int, Mask]:
    """Which combinations' sums lie above a bound (or below it): ``bounds`` and answers by rule, a bound with its row."""
    if not bounds:
        return {}
    rows = [row for row, _bound in bounds.values()]
    limit: Whole = np.array([bound for _row, bound in bounds.values()], dtype=np.int64)
    # The same comparison as in `judging_arrays`, but of sums of two halves: "one + other > bound" is asked as
    # "other > bound - one", so that no sum is ever written out, and in half the width where the values allow it.
    other = halves.other[rows]
    left = limit[:, None] - halves.one[rows]
    if int(other.min()) > -HALF_WIDTH and int(other.max()) < HALF_WIDTH:
        other = other.astype(np.int32)
        left = left.clip(-HALF_WIDTH, HALF_WIDTH).astype(np.int32)
    compare = np.greater if above else np.less
    found: Mask = compare(other[:, None, :], left[:, :, None]).reshape(len(rows), halves.total)
    return dict(zip(bounds, found, strict=True))


def _broken(
    low: _Halves, high: _Halves, rules: Sequence[RowRule], sizes: tuple[int, ...]
) -> tuple[dict[int, Mask], dict[int, Mask]]:
    """Which combinations fall short of each rule with a lower bound, and go over each with an upper one, for certain."""
    lower = {at: (row, rule.at_least) for at, (row, rule) in enumerate(rules) if rule.at_least is not None}
    upper = {at: (row, rule.at_most) for at, (row, rule) in enumerate(rules) if rule.at_most is not None}
    short, over = _beyond(high, lower, above=False), _beyond(low, upper, above=True)
    for at, idle in _idle(rules, sizes):
        for broken in (short, over):
            if at in broken:
                broken[at] &= ~idle
    return short, over


def _kept(low: _Halves, high: _Halves, rules: Sequence[RowRule], sizes: tuple[int, ...]) -> Mask:
    """Which combinations keep each rule for certain."""
    lower = {at: (row, rule.at_least) for at, (row, rule) in enumerate(rules) if rule.at_least is not None}
    upper = {at: (row, rule.at_most) for at, (row, rule) in enumerate(rules) if rule.at_most is not None}
    kept: Mask = np.ones((len(rules), low.total), dtype=np.bool_)
    for beyond in (_beyond(low, lower, above=False), _beyond(high, upper, above=True)):
        for at, mask in beyond.items():
            kept[at] &= ~mask
    for at, idle in _idle(rules, sizes):
        kept[at] |= idle
    return kept


def _judged(
    low: _Halves,
    high: _Halves,
    rules: Sequence[RowRule],
    broken: tuple[dict[int, Mask], dict[int, Mask]],
    open_rows: set[int],
    sizes: tuple[int, ...],
) -> list[Judged]:
    """How each rule fares by itself."""
    shorts, overs = ({at: int(np.count_nonzero(mask)) for at, mask in side.items()} for side in broken)
    places = [at for at, (row, _rule) in enumerate(rules) if row in open_rows]
    sure = _kept(low, high, [rules[at] for at in places], sizes)
    kept = dict(zip(places, np.count_nonzero(sure, axis=1).tolist(), strict=True)) if places else {}
    found = []
    for at in range(len(rules)):
        short, over = shorts.get(at, 0), overs.get(at, 0)
        fine = kept.get(at, low.total - short - over)
        found.append(Judged(fine, short, over, low.total - fine - short - over))
    return found


def _idle(rules: Sequence[RowRule], sizes: tuple[int, ...]) -> Iterator[tuple[int, Mask]]:
    """The rules that can lie idle, and in which combinations they do."""
    made: dict[int, Mask] = {}
    for place, (_row, rule) in enumerate(rules):
        if rule.idle is None or not all(part.any() for part in rule.idle):
            continue
        if id(rule.idle) not in made:
            combined: Mask = np.ones(1, dtype=np.bool_)
            for part in rule.idle:
                combined = (combined[:, None] & part[None, :]).ravel()
            made[id(rule.idle)] = combined
        yield place, made[id(rule.idle)]
