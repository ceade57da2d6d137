"""Counts over an offer for one child: how many lunches are right, each target on its own, each item's part.

A lunch is *right* when it keeps what one lunch by itself must keep of every target (the bounds, or for a
week's mean the wider limits) and holds no product over its own limit; *unknown* when that hangs on a
missing or rounded figure. The counting itself is in ``domain/counting``.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from service.domain.counting.masks import Tick
from service.domain.counting.survey import Survey, survey
from service.domain.lunch.standards import TargetTable
from service.domain.offers.branches import Branch, Key
from service.domain.offers.rows import SHARE, OfferItems


@dataclass(slots=True)
class Tally:
    """How many lunches take an item, and how many of these are right or unknown."""

    lunches: int = 0
    right: int = 0
    unknown: int = 0


@dataclass(slots=True)
class TargetTally:
    """How many lunches keep a target itself, break it, or leave it open; to how many it does not apply."""

    kept: int = 0
    broken: int = 0
    unknown: int = 0
    not_applicable: int = 0


@dataclass(slots=True)
class OfferCounts:
    """The counts over all branches of an offer; ``parts``: each branch with what was found in it."""

    parts: list[tuple[Branch, Survey]]
    targets: list[TargetTally]
    total: int = 0
    right: int = 0
    wrong: int = 0
    unknown: int = 0
    _items: dict[Key, Tally] = field(default_factory=dict)

    def items(self) -> dict[Key, Tally]:
        """Each item's part; an item taken twice in a lunch counts once."""
        if not self._items:
            for branch, found in self.parts:
                self._add_items(branch, *found.options())
        return self._items

    def _add_items(self, branch: Branch, right: list[int], unknown: list[int]) -> None:
        at = 0
        for options in branch.lists:
            each = branch.size // len(options)
            for option in options:
                for key in set(option.items):
                    tally = self._items.setdefault((option.group, key), Tally())
                    tally.lunches += each
                    tally.right += right[at]
                    tally.unknown += unknown[at]
                at += 1


class Verdicts(NamedTuple):
    """How many lunches a single check would pack, find wrong, not know of, and ask to read a label for."""

    right: int
    wrong: int
    unknown: int
    check_label: int


def count_offer(
    table: TargetTable, branches: Sequence[Branch], of: OfferItems, tick: Tick | None = None
) -> OfferCounts:
    """Count every lunch of an offer exactly, with each target and each item on its own.

    ``tick``: called now and then, may raise to stop. Source: ours; exact, as ``domain/counting`` counts.
    """
    counts = OfferCounts([], [TargetTally() for _ in table.targets])
    for branch in branches:
        found = survey(of.values(table, branch), of.limits(table, branch), of.own(table, branch), tick)
        _add(counts, branch, found)
        _add_targets(counts.targets, table, found, of.without_energy(branch))
    return counts


def count_kept(table: TargetTable, branches: Sequence[Branch], of: OfferItems, tick: Tick | None = None) -> OfferCounts:
    """Count how many lunches keep every target itself, and each on its own, whatever else speaks against a lunch.

    ``right`` are those that keep all. A target that does not apply to a lunch is none that it breaks. ``tick``: as in
    ``count_offer``. Source: ours; exact.
    """
    counts = OfferCounts([], [TargetTally() for _ in table.targets])
    for branch in branches:
        own = of.own(table, branch)
        found = survey(of.values(table, branch), own, own, tick)
        _add(counts, branch, found)
        _add_targets(counts.targets, table, found, of.without_energy(branch))
    return counts


def _add_targets(tallies: Sequence[TargetTally], table: TargetTable, found: Survey, without_energy: int) -> None:
    for target, tally, row in zip(table.targets, tallies, found.own, strict=True):
        resting = without_energy if target.kind == SHARE else 0
        tally.not_applicable += resting
        tally.kept += row.kept - resting
        tally.broken += row.short + row.over
        tally.unknown += row.unknown


def count_right(
    table: TargetTable, branches: Sequence[Branch], of: OfferItems, tick: Tick | None = None
) -> OfferCounts:
    """The counts without each target on its own: for trying changes.

    ``tick``: called now and then, so that a caller can stop the work. Source: ours; exact, however many lunches there are.

    >>> from datetime import date
    >>> from service.domain.lunch.compiling import compile_targets
    >>> from service.reference.lunch.standards import standard
    >>> school = standard("us-school-lunch")
    >>> table = compile_targets(school, school.group("grades-k-5"), date(2025, 9, 1))
    >>> from service.domain.foods.amounts import item_vector
    >>> from service.domain.offers.branches import branches
    >>> from service.domain.offers.offer import ChoiceGroup, Offer, Take
    >>> from service.reference.foods.catalogue import find_food
    >>> foods = {("fruit", key): find_food(key) for key in ("apple", "clementine")}
    >>> of = OfferItems({key: item_vector(food, 100_000, None) for key, food in foods.items()}, foods)
    >>> offer = Offer((ChoiceGroup("fruit", ("apple", "clementine"), Take(1, 2)),))
    >>> found = count_right(table, branches(offer), of)
    >>> found.total, found.right  # apple, clementine, both: none is a lunch
    (3, 0)
    """
    counts = OfferCounts([], [])
    for branch in branches:
        _add(counts, branch, survey(of.values(table, branch), of.limits(table, branch), None, tick))
    return counts


def without_items(branches: Sequence[Branch], keys: Collection[Key]) -> list[Branch]:
    """The lunches of an offer that hold none of some items."""
    lists = [
        [
            tuple(way for way in options if not any((way.group, key) in keys for key in way.items))
            for options in branch.lists
        ]
        for branch in branches
    ]
    return [Branch(tuple(some)) for some in lists if all(some)]


def verdicts_of(
    table: TargetTable, counts: OfferCounts, of: OfferItems, unread: Collection[Key], tick: Tick | None = None
) -> Verdicts:
    """Counts as the verdicts of single checks: a lunch with a packet still to be read is ``check_label`` until then.

    ``unread``: the items whose packet is still to be read. Source: as in service/domain/lunch/verdict.py.
    """
    if not unread:
        return Verdicts(counts.right, counts.wrong, counts.unknown, 0)
    read = count_right(table, without_items([branch for branch, _found in counts.parts], unread), of, tick)
    return Verdicts(read.right, read.wrong, read.unknown, counts.total - read.total)


def _add(counts: OfferCounts, branch: Branch, found: Survey) -> None:
    counts.parts.append((branch, found))
    counts.total += found.total
    counts.right += found.right
    counts.wrong += found.wrong
    counts.unknown += found.unknown
