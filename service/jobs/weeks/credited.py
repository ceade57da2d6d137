"""A change to a week, with the credits of each day it touches rounded as the week itself rounds them.

A food that stands in several items of a day is credited once: taking one of them away, or making it larger, may move the
credits by a step more or less than the item by itself.
"""

from collections.abc import Sequence
from dataclasses import replace

from service.domain.foods.amounts import ItemVector, Portion, beside_each, item_vector
from service.domain.foods.crediting import CreditingScheme
from service.domain.foods.food import CreditOption, Food
from service.domain.lunch.changing.changes import LunchChange, Move
from service.domain.measures import MEASURE_COUNT, NUTRIENT_COUNT
from service.jobs.weeks.days import DayOfWeek

Credited = tuple[Food, CreditOption | None, int]


class CreditedByDay:
    """Changes to some days with the credits of each day that they touch. What the same moves come to on a day is worked out once."""

    def __init__(self, days: Sequence[DayOfWeek], scheme: CreditingScheme | None) -> None:
        self.days, self.scheme = days, scheme
        self._known: dict[tuple[Portion | None, tuple[Move, ...]], tuple[int, ...]] = {}

    def of(self, change: LunchChange) -> LunchChange:
        """The change, its moves bringing in just what the credits of their days come to."""
        if self.scheme is None:
            return change
        moves = list(change.where)
        for place in {move.day for move in moves}:
            here = [at for at, move in enumerate(moves) if move.day == place]
            key = (change.into, tuple(moves[at] for at in here))
            if key not in self._known:
                self._known[key] = _beyond(*key, self.days[place], self.scheme)
            if any(self._known[key]):
                last = here[-1]
                moves[last] = moves[last]._replace(into=_plus(moves[last].into, self._known[key]))
        return replace(change, where=tuple(moves))


def _beyond(into: Portion | None, moves: Sequence[Move], day: DayOfWeek, scheme: CreditingScheme) -> tuple[int, ...]:
    """Of each measure, what the items of a day credit after the moves beyond what these say; ``into``: what comes in."""
    gone = {move.item for move in moves}
    kept = [place for place, left in enumerate(day.eaten_mg) if left and place not in gone]
    after: list[Credited] = [(day.items[at].food, day.items[at].option, day.eaten_mg[at]) for at in kept]
    said = [day.eaten[at] for at in kept]
    for move in moves:
        if into is not None and move.into is not None:
            after.append((into.food, into.option, into.amount_mg))
            said.append(move.into)
    before = beside_each(after)
    found = [
        item_vector(food, amount_mg, scheme, option, beside)
        for (food, option, amount_mg), beside in zip(after, before, strict=True)
    ]
    return tuple(a - b for a, b in zip(_credits(found), _credits(said), strict=True))


def _credits(vectors: Sequence[ItemVector]) -> list[int]:
    """The credits of some items, in the order of the measures; no nutrients."""
    nothing = [0] * (MEASURE_COUNT - NUTRIENT_COUNT)
    sums = map(sum, zip(nothing, *(one.nominal[NUTRIENT_COUNT:] for one in vectors), strict=True))
    return [0] * NUTRIENT_COUNT + list(sums)


def _plus(into: ItemVector | None, more: Sequence[int]) -> ItemVector:
    if into is None:
        return ItemVector(tuple(more), ())
    entries = tuple(
        (measure, low + more[measure], None if high is None else high + more[measure])
        for measure, low, high in into.interval_entries
    )
    return ItemVector(tuple(a + b for a, b in zip(into.nominal, more, strict=True)), entries)
