"""Searches for an offer that cannot go wrong: narrow first, then the solver; fewer choices where that is what stands in the way."""

import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import NamedTuple

from service.domain.counting.masks import Tick
from service.domain.plan.narrowing import narrowed
from service.domain.plan.robust import Candidates, InTheWay, Row, Sized, TooFew, in_the_way, too_few
from service.planning.offer_model import ChildToServe, Designed, Food, Means, Wanted, Width, alike, design
from service.planning.week_search import better_weeks

MEANS_SHARE = 0.4
"""The part of the time that is kept for the sizes of the week."""
ALL_SHARE = 0.3
"""The share of the time that is left in which an offer with all that is wanted is looked for; ours."""
CLOSE_ENOUGH = 0.05
"""The share of the weights within which the solver stops: what is promised is found, not proven best; ours."""
OFTEN_ENOUGH = 0.9
"""A target of the week that is kept in so many weeks is not looked into any more; ours."""


class Blocked(NamedTuple):
    """Why there is no offer: for which child, the rows that no choice of these foods keeps, and groups with too few foods.

    Both empty: each row could be kept by itself, but not all together; ``together``: those that leave too little of ``group``.
    """

    child: str
    rows: Sequence[InTheWay] = ()
    groups: Sequence[TooFew] = ()
    together: Sequence[Row] = ()
    group: str = ""


class Searched(NamedTuple):
    """What was found. ``choices``: how many foods each child finds at least, by child and group. ``proven``: see `Designed`."""

    designed: Designed | None
    blocked: Sequence[Blocked]
    choices: Mapping[str, Mapping[str, int]]


def search_design(
    children: Sequence[ChildToServe],
    widths: Mapping[str, Width],
    weights: Mapping[Food, float],
    seconds: float,
    chance: Callable[[Designed], float | None],
    tick: Tick | None = None,
) -> Searched:
    """An offer with small weights that is right for every child, with as many choices as can be.

    ``seconds``: about how long it may take. ``chance``: how often a week of an offer keeps the target that it keeps least often;
    None where that is not counted. Source: ours.
    """
    search = _Search(widths, weights, time.monotonic() + seconds, chance, tick)
    tried = search.tried(children)
    ready = tried.ready
    if tried.found is None:
        # As few choices as each child must have show whether there is an offer at all; of these one with as many more as can be.
        fewest = [_with_fewest_choices(one) for one in children]
        wanted = _choices(children)
        tried = search.tried(fewest, wanted=wanted)
        if tried.found is None and not tried.blocked:
            tried = search.tried(fewest)
        if tried.found is None:
            return Searched(None, tried.blocked or search.blocked_alone(fewest), _choices(fewest))
        children = [_with_choices(one, wanted[one.name], tried.found) for one in fewest]
        ready, _none = _narrowed_together(children)
    return Searched(search.sized_for_the_week(ready, children, tried.found), (), _choices(ready))


def _with_fewest_choices(one: ChildToServe) -> ChildToServe:
    groups = [group.finding(min(group.to_find, max(1, group.least))) for group in one.groups]
    return one._replace(groups=groups)


def _with_choices(one: ChildToServe, wanted: Mapping[str, int], found: Designed | None = None) -> ChildToServe:
    """A child that is to find as many foods of each group as are wanted and there: in an offer, or at all."""
    groups = []
    for group in one.groups:
        foods = (*group.foods, *group.beside)
        there = foods if found is None else set(foods) & set(found.foods.get(group.group, ()))
        groups.append(group.finding(max(group.to_find, min(len(there), wanted[group.group]))))
    return one._replace(groups=groups)


class _Search:
    """What one search goes by, and its steps."""

    def __init__(
        self,
        widths: Mapping[str, Width],
        weights: Mapping[Food, float],
        until: float,
        chance: Callable[[Designed], float | None],
        tick: Tick | None,
    ) -> None:
        self.widths = widths
        self.weights = weights
        self.until = until
        self.chance = chance
        self.tick = tick

    def left(self) -> float:
        """The seconds that are left, a moment at least; also told to who may stop the search."""
        if self.tick is not None:
            self.tick()
        return max(0.1, self.until - time.monotonic())

    def tried(self, children: Sequence[ChildToServe], wanted: Wanted | None = None) -> "_Tried":
        """An offer for these children with so many choices, or more up to those ``wanted``; or what stands in the way."""
        ready, blocked = _narrowed_together(children)
        if blocked:
            return _Tried(None, ready, blocked)
        found = None if wanted is None else self._with_all(ready, wanted)
        if found is None:
            found = self._solved(ready, children, self.left() * (1 - MEANS_SHARE), wanted)
        return _Tried(found, ready, [])

    def _with_all(self, ready: Sequence[ChildToServe], wanted: Wanted) -> Designed | None:
        """An offer in which every child finds all that is wanted, as far as there are foods for it; None: none found.

        Far quicker than to look for as many as can be, and most often there is one.
        """
        fuller = [_with_choices(one, wanted[one.name]) for one in ready]
        left, blocked = _narrowed_together(fuller)
        return None if blocked else self._solved(left, fuller, self.left() * ALL_SHARE)

    def _solved(
        self, ready: Sequence[ChildToServe], asked: Sequence[ChildToServe], seconds: float, wanted: Wanted | None = None
    ) -> Designed | None:
        """The foods that the solver finds, in the sizes nearest to those asked for; it stops at foods that are good enough."""
        weights = _usable(ready, self.weights, asked)
        found = design(ready, self.widths, weights, seconds=seconds, wanted=wanted, gap=CLOSE_ENOUGH)
        if found is None or found.proven:
            return found
        nearest = design(ready, self.widths, weights, seconds=min(seconds, self.left()), fixed=found.foods)
        return found if nearest is None else nearest._replace(proven=found.proven)

    def blocked_alone(self, children: Sequence[ChildToServe]) -> list[Blocked]:
        """The children for whom there is no offer even if it were for them alone; all, where each by itself has one."""
        names = list(dict.fromkeys(one.name for one in children))
        alone = [name for name in names if self._alone_fails([one for one in children if one.name == name])]
        return [Blocked(name) for name in alone or names]

    def _alone_fails(self, cases: Sequence[ChildToServe]) -> bool:
        ready, blocked = _narrowed_together(cases)
        weights = _usable(ready, self.weights, cases)
        return bool(blocked) or design(ready, self.widths, weights, seconds=self.left(), gap=1.0) is None

    def sized_for_the_week(
        self, ready: Sequence[ChildToServe], children: Sequence[ChildToServe], found: Designed
    ) -> Designed:
        """The offer in sizes that keep the week's means often enough; where that cannot be, with other foods.

        Sizes first, then the search near the offer, then the solver again, which looks at the means too: for all foods, and with
        one group after the other chosen anew.
        """
        if not any(one.means for one in ready):
            return found
        usable = _usable(ready, self.weights, children)
        best = self._best(ready, usable, None, found, swaps=False)
        best = self._best(ready, usable, best, best.designed, swaps=True)
        now = best.designed
        for means, free in _ways_to_solve_again(list(self.widths)):
            if best.often_enough or time.monotonic() > self.until:
                break
            fixed = {group: foods for group, foods in now.foods.items() if group not in free}
            seconds = self.left() / 2
            other = design(ready, self.widths, usable, seconds=seconds, fixed=fixed, means=means, gap=CLOSE_ENOUGH)
            if other is None:
                continue
            if means == "expected" or not free or other.mean_missed < now.mean_missed:
                now = other
            best = self._best(ready, usable, best, other, swaps=True)
        return best.designed._replace(proven=found.proven and best.designed.foods == found.foods)

    def _best(
        self,
        ready: Sequence[ChildToServe],
        usable: Mapping[Food, float],
        best: "_Weekly | None",
        start: Designed,
        *,
        swaps: bool,
    ) -> "_Weekly":
        """The best that is known, or what a search that begins from an offer finds."""
        if best is not None and best.often_enough:
            return best
        # That search looks at one group at a time, which a child with several cases does not allow.
        in_cases = len({one.name for one in ready}) < len(ready)
        near = start if in_cases else better_weeks(list(ready), usable, start, self.until, swaps=swaps)
        found = _Weekly(near, self.chance(near))
        return found if best is None else max(best, found, key=lambda one: one.rank)


def _ways_to_solve_again(groups: Sequence[str]) -> Iterator[tuple[Means, Sequence[str]]]:
    """What of the means the solver looks at, and the groups that are chosen anew."""
    yield "expected", groups
    yield "spread", ()
    for group in groups:
        yield "spread", (group,)


class _Tried(NamedTuple):
    """What was found for some children, who they are without what cannot stand, and what stands in the way."""

    found: Designed | None
    ready: Sequence[ChildToServe]
    blocked: Sequence[Blocked]


class _Weekly(NamedTuple):
    """An offer, and how often a week of it keeps the target that it keeps least often; None: that is not counted."""

    designed: Designed
    chance: float | None

    @property
    def often_enough(self) -> bool:
        """Whether nothing more is looked for."""
        return self.chance is None or self.chance >= OFTEN_ENOUGH

    @property
    def rank(self) -> float:
        """What is better is greater."""
        return 1.0 if self.chance is None else self.chance


def _narrowed_together(children: Sequence[ChildToServe]) -> tuple[list[ChildToServe], list[Blocked]]:
    """Each child without the foods and sizes that cannot stand; a food that cannot stand for one stands for nobody."""
    now = list(children)
    first = alike(children)  # those after it stay like it
    while True:
        stopped = [
            None if one.calls or place != first[place] else _blocked(asked, one)
            for place, (asked, one) in enumerate(zip(children, now, strict=True))
        ]
        blocked: dict[str, Blocked] = {}
        for place, one in enumerate(now):
            found = stopped[first[place]]
            if found is not None:
                blocked.setdefault(one.name, found._replace(child=one.name))
        if blocked:
            return now, list(blocked.values())
        # A case that a food calls up says nothing of the others: without that food there is no such case.
        left = {
            place: one.groups if one.calls else narrowed(one.rows, one.groups)
            for place, one in enumerate(now)
            if place == first[place]
        }
        less = [one._replace(groups=left[first[place]]) for place, one in enumerate(now)]
        gone = _gone(now, less)
        if not gone:
            return less, []
        now = [one._replace(groups=[_without(group, gone) for group in one.groups]) for one in less]


def _blocked(asked: ChildToServe, now: ChildToServe) -> Blocked | None:
    """What stands in the way for a child, with what is left of what was asked for; None where nothing does yet."""
    few = too_few(asked.groups)
    if few:
        return Blocked(asked.name, groups=few)
    left = too_few(now.groups)
    if not left:
        rows = in_the_way(now.rows, now.groups)
        return Blocked(now.name, rows=rows) if rows else None
    group = next(one for one in asked.groups if one.group == left[0].group)
    sizes = sum(len(some) for some in group.foods.values())
    together = []
    for row in range(len(asked.rows)):
        alone = _only(row, asked)
        after = next(one for one in narrowed(alone.rows, alone.groups) if one.group == group.group)
        if sum(len(some) for some in after.foods.values()) < sizes:
            together.append(asked.rows[row])
    return Blocked(asked.name, together=together, group=group.group)


def _only(row: int, child: ChildToServe) -> ChildToServe:
    """A child of whom only one row is looked at."""
    groups = [
        replace(
            group,
            foods={
                food: tuple(Sized(one.size, (one.values[row],)) for one in sizes) for food, sizes in group.foods.items()
            },
        )
        for group in child.groups
    ]
    return child._replace(rows=[child.rows[row]], groups=groups, means=())


def _without(group: Candidates, gone: set[Food]) -> Candidates:
    foods = {food: sizes for food, sizes in group.foods.items() if (group.group, food) not in gone}
    return replace(group, foods=foods)


def _usable(
    ready: Sequence[ChildToServe], weights: Mapping[Food, float], children: Sequence[ChildToServe]
) -> dict[Food, float]:
    """The foods that may stand in the offer: those that every child who might take them can have in some size."""
    asked = {(group.group, food) for one in children for group in one.groups for food in group.foods}
    return {food: weight for food, weight in weights.items() if food in asked - _gone(children, ready)}


def _gone(before: Sequence[ChildToServe], after: Sequence[ChildToServe]) -> set[Food]:
    """The foods that some child had before and has no more, by group."""
    return {
        (was.group, food)
        for one, narrower in zip(before, after, strict=True)
        for was, now in zip(one.groups, narrower.groups, strict=True)
        for food in was.foods.keys() - now.foods.keys()
    }


def _choices(children: Sequence[ChildToServe]) -> dict[str, dict[str, int]]:
    found: dict[str, dict[str, int]] = {}
    for one in children:
        mine = found.setdefault(one.name, {})
        for group in one.groups if not one.calls else ():
            mine[group.group] = max(mine.get(group.group, 0), group.to_find)
    return found
