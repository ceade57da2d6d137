"""How varied a week is: kinds of fruit, vegetables and mains, what came again, and what is new."""

from collections.abc import Sequence
from datetime import date
from typing import NamedTuple

from service.domain.weeks.frequency import CountedItem

VARIED = ("fruit", "vegetable", "main")


class Variety(NamedTuple):
    """Kinds by group, kinds that came on more than one day (with how many), foods not seen in the weeks before.

    ``new`` is None where no earlier day was given: then it is not known. ``unsorted``: items that nobody said
    the groups of, so more kinds may be among them.
    """

    kinds: dict[str, tuple[str, ...]]
    repeats: tuple[tuple[str, str, int], ...]
    new: tuple[str, ...] | None
    unsorted: tuple[str, ...]


def variety_of(days: Sequence[tuple[date, Sequence[CountedItem]]], earlier: Sequence[Sequence[CountedItem]]) -> Variety:
    """The variety of a week's days; ``earlier``: the items of days before it.

    ``days``: in any order. Source: ours.

    >>> apple = CountedItem("apple", frozenset({"fruit"}), "apple", 182_000, {})
    >>> variety_of([(date(2026, 11, 23), [apple]), (date(2026, 11, 24), [apple])], []).repeats
    (('fruit', 'apple', 2),)
    """
    kinds: dict[str, dict[str, set[date]]] = {group: {} for group in VARIED}
    unsorted: dict[str, None] = {}
    names: dict[str, None] = {}
    for on, items in sorted(days, key=lambda day: day[0]):
        for item in items:
            # A part of a dish is a kind of vegetable, but not a food that was served.
            if item.served:
                names[item.name] = None
            if item.groups is None:
                unsorted[item.name] = None
                continue
            for group in VARIED:
                if group in item.groups:
                    kinds[group].setdefault(item.kind, set()).add(on)
    repeats = tuple(
        (group, kind, len(on)) for group in VARIED for kind, on in sorted(kinds[group].items()) if len(on) > 1
    )
    before = {item.name for items in earlier for item in items}
    new = tuple(sorted(name for name in names if name not in before)) if earlier else None
    return Variety({group: tuple(sorted(kinds[group])) for group in VARIED}, repeats, new, tuple(sorted(unsorted)))
