"""Searches for an offer that cannot go wrong: narrow first, then the solver; fewer choices where that is what stands in the way."""

import time
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import NamedTuple

from service.domain.counting.masks import Tick
from service.domain.plan.robust import Candidates, InTheWay, Row, Sized, TooFew, in_the_way, narrowed, too_few
from service.planning.offer_model import ChildToServe, Designed, Food, Width, design

MEANS_SHARE = 0.4
"""The part of the time that is kept for the sizes of the week."""
GOOD_ENOUGH = 1e-6


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
    tick: Tick | None = None,
) -> Searched:
    """The offer with the smallest weights that is right for every child, with as many choices as can be.

    ``seconds``: about how long it may take. Source: ours.
    """
    until = time.monotonic() + seconds
    asked = list(children)
    children = asked
    while True:
        if tick is not None:
            tick()
        found, blocked = _tried(children, widths, weights, until)
        if found is not None:
            break
        fewer = _fewer_choices(children, blocked)
        if fewer is None or time.monotonic() > until:
            return Searched(None, blocked, _choices(children))
        children = fewer
    for group in widths:
        more = _one_choice_more(children, asked, group)
        while more is not None and time.monotonic() < until:
            better, _blocked = _tried(more, widths, weights, until)
            if better is None:
                break
            children, found = more, better
            more = _one_choice_more(children, asked, group)
    ready, _none = _narrowed_together(children)
    settled = _sized_for_the_week(ready, widths, _usable(ready, weights, children), found, until, tick)
    return Searched(settled, (), _choices(ready))


def _tried(
    children: Sequence[ChildToServe], widths: Mapping[str, Width], weights: Mapping[Food, float], until: float
) -> tuple[Designed | None, list[Blocked]]:
    """An offer for these children with so many choices; or what stands in the way."""
    ready, blocked = _narrowed_together(children)
    if blocked:
        return None, blocked
    left = max(0.1, until - time.monotonic()) * (1 - MEANS_SHARE)
    found = design(ready, widths, _usable(ready, weights, children), seconds=left)
    if found is not None:
        return found, []
    alone = [Blocked(one.name) for one in children if _alone_fails(one, widths, weights, left)]
    return None, alone or [Blocked(one.name) for one in children]


def _one_choice_more(
    children: Sequence[ChildToServe], asked: Sequence[ChildToServe], group: str
) -> list[ChildToServe] | None:
    """Each child with one choice more in a group where it was given up; None where none was."""
    more = []
    for one, first in zip(children, asked, strict=True):
        groups = [
            replace(now, choices=now.choices + 1) if now.group == group and now.choices < then.choices else now
            for now, then in zip(one.groups, first.groups, strict=True)
        ]
        more.append(one._replace(groups=groups))
    return None if more == list(children) else more


def _narrowed_together(children: Sequence[ChildToServe]) -> tuple[list[ChildToServe], list[Blocked]]:
    """Each child without the foods and sizes that cannot stand; a food that cannot stand for one stands for nobody."""
    now = list(children)
    while True:
        blocked = [
            found for asked, one in zip(children, now, strict=True) if (found := _blocked(asked, one)) is not None
        ]
        if blocked:
            return now, blocked
        less = [one._replace(groups=narrowed(one.rows, one.groups)) for one in now]
        gone = {
            (before.group, food)
            for one, narrower in zip(now, less, strict=True)
            for before, after in zip(one.groups, narrower.groups, strict=True)
            for food in before.foods.keys() - after.foods.keys()
        }
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
    gone = {
        (before.group, food)
        for one, narrower in zip(children, ready, strict=True)
        for before, after in zip(one.groups, narrower.groups, strict=True)
        for food in before.foods.keys() - after.foods.keys()
    }
    return {food: weight for food, weight in weights.items() if food in asked - gone}


def _alone_fails(one: ChildToServe, widths: Mapping[str, Width], weights: Mapping[Food, float], seconds: float) -> bool:
    ready, blocked = _narrowed_together([one])
    return bool(blocked) or design(ready, widths, _usable(ready, weights, [one]), seconds=seconds) is None


def _fewer_choices(children: Sequence[ChildToServe], blocked: Sequence[Blocked]) -> list[ChildToServe] | None:
    """The children with one choice less where that helps most; None where there is nothing left to give up."""
    changed = False
    found = list(children)
    for block in blocked:
        at = next(place for place, one in enumerate(found) if one.name == block.child)
        one = found[at]
        free = [place for place, group in enumerate(one.groups) if group.choices > max(1, group.least)]
        if block.groups:
            short = {group.group for group in block.groups}
            free = [place for place in free if one.groups[place].group in short]
        if not free:
            continue
        helped = max(free, key=lambda place, one=one, block=block: _helped(one, place, block))  # type: ignore[misc]
        groups = list(one.groups)
        groups[helped] = replace(groups[helped], choices=groups[helped].choices - 1)
        found[at] = one._replace(groups=groups)
        changed = True
    return found if changed else None


def _helped(one: ChildToServe, place: int, block: Blocked) -> tuple[float, int]:
    """How much of what stands in the way goes with one choice less in a group; then the group with most choices."""
    group = one.groups[place]
    if not block.rows:
        return 0.0, group.choices
    fewer = list(one.groups)
    fewer[place] = replace(group, choices=group.choices - 1)
    after = {each.row: each.missed_by for each in in_the_way(one.rows, fewer)}
    gained = sum((each.missed_by - after.get(each.row, 0)) / max(abs(each.row.bound), 1) for each in block.rows)
    return gained, group.choices


def _sized_for_the_week(
    ready: Sequence[ChildToServe],
    widths: Mapping[str, Width],
    weights: Mapping[Food, float],
    found: Designed,
    until: float,
    tick: Tick | None,
) -> Designed:
    """The same foods in sizes that keep the week's means; where that cannot be, with one group at a time chosen anew."""
    if not any(one.means for one in ready):
        return found

    def tried(fixed: Mapping[str, Sequence[str]]) -> Designed | None:
        if tick is not None:
            tick()
        left = until - time.monotonic()
        return (
            design(ready, widths, weights, seconds=max(0.1, left / 2), fixed=fixed, with_means=True)
            if left > 0
            else None
        )

    best = tried(found.foods) or found
    if best is found:
        return found
    for group in widths:
        if best.mean_missed <= GOOD_ENOUGH:
            break
        other = tried({one: foods for one, foods in best.foods.items() if one != group})
        if other is not None and other.mean_missed < best.mean_missed - GOOD_ENOUGH:
            best = tried(other.foods) or other
    return best._replace(proven=found.proven)


def _choices(children: Sequence[ChildToServe]) -> dict[str, dict[str, int]]:
    return {one.name: {group.group: group.choices for group in one.groups} for one in children}
