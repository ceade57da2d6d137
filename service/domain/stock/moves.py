"""What to take out of the freezer this evening, so that enough of it is in the fridge."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta
from math import ceil
from typing import NamedTuple

from service.domain.stock.keeping import FREEZER, FRIDGE
from service.domain.stock.lots import Lot

NIGHT_HOURS = 12
"""From the evening to the morning. Common practice, no source."""


class Keep(NamedTuple):
    """That so much of a food is always to be in the fridge. ``thaw_hours``: what it takes to thaw there."""

    food: str
    amount_mg: int
    thaw_hours: float


class Move(NamedTuple):
    """What to move from the freezer to the fridge: from which lots, when it is thawed, and how much is not there.

    ``left``: lots that would help, but stay where they are since they would be over by the time they are thawed.
    """

    food: str
    parts: tuple[tuple[str, int], ...]
    ready_on: date
    short_mg: int
    left: tuple[str, ...] = ()


def ready_after(on: date, thaw_hours: float) -> date:
    """The morning on which what is moved on an evening is thawed.

    >>> ready_after(date(2026, 11, 29), 12), ready_after(date(2026, 11, 29), 24)
    (datetime.date(2026, 11, 30), datetime.date(2026, 12, 1))
    """
    return on + timedelta(days=evenings_before(thaw_hours))


def is_over(last_day: date | None, on: date) -> bool:
    """Whether what has this last day is past it on a day; with None no figure is known."""
    return last_day is not None and last_day < on


def evenings_before(thaw_hours: float) -> int:
    """On which evening before the day it is eaten something is moved: 1 for the evening before.

    >>> evenings_before(12), evenings_before(24)
    (1, 2)
    """
    return 1 + max(0, ceil((thaw_hours - NIGHT_HOURS) / 24))


def thawed_through(moved_on: date, thaw_hours: float) -> date:
    """The day on which what is moved on an evening is thawed through, from which it counts as thawed: the eve of its morning.

    >>> thawed_through(date(2026, 11, 29), 12), thawed_through(date(2026, 11, 29), 24)
    (datetime.date(2026, 11, 29), datetime.date(2026, 11, 30))
    """
    return ready_after(moved_on, thaw_hours) - timedelta(days=1)


def moves_tonight(
    lots: Sequence[Lot], keeps: Iterable[Keep], on: date, thawed: Mapping[str, date | None]
) -> list[Move]:
    """For each food that is to be in the fridge: what is moved on the evening of a day; nothing where enough is there.

    What will be over on the morning it is for does not count and is not moved. Whole portions are moved, of what was made first.
    ``thawed``: the last day of each lot in the freezer if it is moved that evening; None: no figure is known.
    """
    moves = []
    for keep in keeps:
        ready_on = ready_after(on, keep.thaw_hours)
        there = sum(
            lot.amount_mg
            for lot in lots
            if lot.food == keep.food and lot.place == FRIDGE and (lot.use_by is None or lot.use_by >= ready_on)
        )
        missing, parts = keep.amount_mg - there, []
        frozen = [one for one in lots if one.food == keep.food and one.place == FREEZER and one.amount_mg > 0]
        left = []
        for lot in sorted(frozen, key=lambda one: (one.made_on, one.use_by or date.max, one.id)):
            if missing <= 0:
                break
            if is_over(thawed[lot.id], ready_on):
                left.append(lot.id)
                continue
            whole = ceil(missing / lot.portion_mg) * lot.portion_mg
            part = min(whole, lot.amount_mg)
            parts.append((lot.id, part))
            missing -= part
        if parts or missing > 0:
            moves.append(Move(keep.food, tuple(parts), ready_on, max(0, missing), tuple(left)))
    return moves
