"""Counts over an offer for one child: how many lunches are right, each target on its own, each item's part.

A lunch is *right* when it keeps what one lunch by itself must keep of every target (the bounds, or for a
week's mean the wider limits) and holds no product over its own limit; *unknown* when that hangs on a
missing or rounded figure. The counting itself is in ``domain/combinations``.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from service.domain.amounts import ItemVector
from service.domain.combinations import Counts, Span, count
from service.domain.foods import Food
from service.domain.offer_rows import BranchRow, own_row, product_row, row_over_branch, without_energy
from service.domain.offers import Branch
from service.domain.standards import LimitRow, TargetTable

Key = tuple[str, str]
Tick = Callable[[], None]


@dataclass(slots=True)
class Tally:
    """How many lunches take an item, and how many of these are right or unknown."""

    lunches: int = 0
    right: int = 0
    unknown: int = 0


@dataclass(slots=True)
class TargetTally:
    """How many lunches keep a target itself, break it, or leave it open."""

    kept: int = 0
    broken: int = 0
    unknown: int = 0


@dataclass(slots=True)
class OfferCounts:
    """The counts over all branches of an offer."""

    targets: list[TargetTally]
    total: int = 0
    right: int = 0
    wrong: int = 0
    unknown: int = 0
    items: dict[Key, Tally] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Ingredients:
    """What the items of an offer are: measures and foods by group and key."""

    vectors: Mapping[Key, ItemVector]
    foods: Mapping[Key, Food]


def count_offer(
    table: TargetTable, branches: Sequence[Branch], of: Ingredients, tick: Tick | None = None
) -> OfferCounts:
    """Count every lunch of an offer exactly, with each target and each item on its own."""
    counts = OfferCounts([TargetTally() for _ in table.targets])
    for branch in branches:
        _add_branch(table, branch, of, counts, tick)
    return counts


def count_right(
    table: TargetTable, branches: Sequence[Branch], of: Ingredients, tick: Tick | None = None
) -> OfferCounts:
    """The counts without each target on its own: for trying changes."""
    counts = OfferCounts([])
    for branch in branches:
        _add_joint(table, branch, of, counts, tick)
    return counts


def span_of(row: BranchRow) -> Span:
    return Span(row.low, row.high, row.at_least, row.at_most)


def _joint_spans(table: TargetTable, branch: Branch, of: Ingredients, *, shares: bool = True) -> list[Span]:
    """What one lunch by itself must keep: the limit row of every target, and the product rules."""
    spans = [
        span_of(row_over_branch(target.limit, branch, of.vectors))
        for target in table.targets
        if shares or target.kind != "share_of_energy"
    ]
    products = product_row(table, branch, of.foods)
    if products is not None:
        spans.append(span_of(products))
    return spans


def _idle_part(branch: Branch, of: Ingredients) -> tuple[Branch, list[list[int]]] | None:
    """The lunches without any energy, to which no share of energy applies; with the places of their options."""
    places = without_energy(branch, of.vectors)
    if not all(places):
        return None
    lists = tuple(tuple(options[i] for i in chosen) for options, chosen in zip(branch.lists, places, strict=True))
    return Branch(lists), places


def _add_branch(table: TargetTable, branch: Branch, of: Ingredients, counts: OfferCounts, tick: Tick | None) -> None:
    _add_joint(table, branch, of, counts, tick)
    idle = _idle_part(branch, of)
    for target, tally in zip(table.targets, counts.targets, strict=True):
        row = own_row(target)
        single = _single(row, branch, of)
        tally.kept += single.right
        tally.broken += single.wrong
        tally.unknown += single.unknown
        if idle is not None and target.kind == "share_of_energy":
            among = _single(row, idle[0], of)
            tally.broken -= among.wrong
            tally.unknown -= among.unknown
            tally.kept += among.wrong + among.unknown


def _single(row: LimitRow, branch: Branch, of: Ingredients) -> Counts:
    return count([span_of(row_over_branch(row, branch, of.vectors))], _sizes(branch), per_option=False)


def _sizes(branch: Branch) -> list[int]:
    return [len(options) for options in branch.lists]


def _add_joint(table: TargetTable, branch: Branch, of: Ingredients, counts: OfferCounts, tick: Tick | None) -> None:
    found = count(_joint_spans(table, branch, of), _sizes(branch), tick=tick)
    _add(branch, found, counts, 1, None)
    idle = _idle_part(branch, of)
    if idle is not None and any(target.kind == "share_of_energy" for target in table.targets):
        part, places = idle
        _add(branch, count(_joint_spans(table, part, of), _sizes(part), tick=tick), counts, -1, places)
        _add(branch, count(_joint_spans(table, part, of, shares=False), _sizes(part), tick=tick), counts, 1, places)


def _add(branch: Branch, found: Counts, counts: OfferCounts, sign: int, places: list[list[int]] | None) -> None:
    """Add (or take away) counts; ``places``: which options of the branch the counted ones are."""
    counts.total += sign * found.total
    counts.right += sign * found.right
    counts.wrong += sign * found.wrong
    counts.unknown += sign * found.unknown
    for slot, options in enumerate(branch.lists):
        chosen = range(len(options)) if places is None else places[slot]
        lunches = found.total // len(chosen)
        for place, option_place in enumerate(chosen):
            option = options[option_place]
            for key in set(option.items):
                tally = counts.items.setdefault((option.group, key), Tally())
                tally.lunches += sign * lunches
                tally.right += sign * int(found.option_right[slot][place])
                tally.unknown += sign * int(found.option_unknown[slot][place])
