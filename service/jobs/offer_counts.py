"""Counts over an offer for one child: how many lunches are right, each target on its own, each item's part.

A lunch is *right* when it keeps what one lunch by itself must keep of every target (the bounds, or for a
week's mean the wider limits) and holds no product over its own limit; *unknown* when that hangs on a
missing or rounded figure. The counting itself is in ``domain/combinations``.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from service.domain.combinations import Span, count
from service.domain.offer_rows import BranchRow, Key, Mask, OfferItems, own_row
from service.domain.offers import Branch
from service.domain.standards import Target, TargetTable

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


def count_offer(
    table: TargetTable, branches: Sequence[Branch], of: OfferItems, tick: Tick | None = None
) -> OfferCounts:
    """Count every lunch of an offer exactly, with each target and each item on its own."""
    counts = OfferCounts([TargetTally() for _ in table.targets])
    for branch in branches:
        _add_joint(table, branch, of, counts, tick)
        idle = of.without_energy(branch)
        spans = [
            _span(of.row(own_row(target), branch), idle if target.kind == SHARE else None) for target in table.targets
        ]
        rows = count(spans, sizes_of(branch), per_option=False, tick=tick).rows
        for tally, row in zip(counts.targets, rows, strict=True):
            tally.kept += row.kept + row.idle
            tally.broken += row.broken
            tally.unknown += row.unknown
    return counts


def count_right(
    table: TargetTable, branches: Sequence[Branch], of: OfferItems, tick: Tick | None = None
) -> OfferCounts:
    """The counts without each target on its own: for trying changes."""
    counts = OfferCounts([])
    for branch in branches:
        _add_joint(table, branch, of, counts, tick)
    return counts


SHARE = "share_of_energy"


def sizes_of(branch: Branch) -> list[int]:
    """How many options each list of a branch has."""
    return [len(options) for options in branch.lists]


def _span(row: BranchRow, idle: Sequence[Mask] | None = None, *, only_if_certain: bool = False) -> Span:
    return Span(row.low, row.high, row.at_least, row.at_most, only_if_certain, idle)


def joint_spans(table: TargetTable, branch: Branch, of: OfferItems) -> list[Span]:
    """What one lunch by itself must keep: the limit row of every target, and the product rules.

    A week's mean counts against a lunch only where its limit is broken for certain, as in a single check.
    """
    idle = of.without_energy(branch)
    spans = [
        _span(
            of.row(target.limit, branch),
            idle if target.kind == SHARE else None,
            only_if_certain=not target.firm,
        )
        for target in table.targets
    ]
    products = of.products(table, branch)
    if products is not None:
        spans.append(_span(products))
    return spans


def limit_span(target: Target, branch: Branch, of: OfferItems, *, lower: bool) -> Span:
    """One side of what one lunch must keep of a target."""
    limit = target.limit._replace(high=None) if lower else target.limit._replace(low=None)
    idle = of.without_energy(branch) if target.kind == SHARE else None
    return _span(of.row(limit, branch), idle, only_if_certain=not target.firm)


def _add_joint(table: TargetTable, branch: Branch, of: OfferItems, counts: OfferCounts, tick: Tick | None) -> None:
    found = count(joint_spans(table, branch, of), sizes_of(branch), per_row=False, tick=tick)
    counts.total += found.total
    counts.right += found.right
    counts.wrong += found.wrong
    counts.unknown += found.unknown
    for slot, options in enumerate(branch.lists):
        each = found.total // len(options)
        for place, option in enumerate(options):
            for key in set(option.items):
                tally = counts.items.setdefault((option.group, key), Tally())
                tally.lunches += each
                tally.right += found.option_right[slot][place]
                tally.unknown += found.option_unknown[slot][place]
