"""What to change in next week's packed lunches: the three smallest single changes that fix most.

Never one that brings in a food which the child or the setting must avoid or of which that is unknown, a choking form,
or a product over its own limit; never one that breaks a target which was met.
"""

from collections import Counter
from collections.abc import Hashable, Iterator, Mapping, Sequence
from datetime import date, timedelta
from functools import lru_cache
from typing import Any, NamedTuple

from service.domain.allergens.screening import Avoidance
from service.domain.errors import LunchError, at
from service.domain.foods.amounts import Portion, amount_mg_of, credited_as
from service.domain.foods.crediting import CreditingScheme
from service.domain.foods.food import Food
from service.domain.foods.packets import Packets
from service.domain.lunch.changes import LunchChange, Move, Moves, adding, leaving_out, portioning
from service.domain.lunch.standards import TargetTable
from service.domain.measures import SCALE
from service.domain.messages import Message, message
from service.domain.weeks.changes import rank_week_changes
from service.domain.weeks.wanting import DayWanting, wanting_of
from service.domain.weeks.week import WeekLengths
from service.domain.weeks.words import weekday
from service.jobs.foods.at_hand import foods_named
from service.jobs.foods.packets import packets_at_hand
from service.jobs.lunch.change_rows import change_row
from service.jobs.lunch.changes import MayHave, swaps
from service.jobs.lunch.items import PreparedItem
from service.jobs.weeks.days import DayOfWeek, SchoolWeek
from service.jobs.weeks.requests import WeekRequest
from service.reference.lunch.standards import crediting_scheme
from service.reference.messages import say

ADDED_DAYS = (1, 2, 3, 5)
PORTIONS = (0.5, 1.5, 2.0)
"""Half, half as much again, and twice the portion."""
WAYS = {0.5: "half", 1.5: "half-again", 2.0: "twice"}
"""The same as words of the catalogue."""

NEVER_LESS = frozenset({"fruit", "vegetables"})
"""Categories of which no change takes away (our choice): fewer vegetables would be the nearest way to less sodium."""


class Use(NamedTuple):
    """One food of the week: the moves that remove it, day by day, the items that go with them, and whether some of it
    came back.
    """

    food: Food
    moves: Moves
    items: tuple[PreparedItem, ...]
    came_back: bool

    @property
    def amount_mg(self) -> int:
        """How much of it is packed over the week."""
        return sum(item.amount_mg for item in self.items)


def week_changes(
    asked: WeekRequest,
    table: TargetTable,
    week: SchoolWeek,
    lengths: WeekLengths,
    avoidances: list[Avoidance],
    age_months: int,
) -> list[dict[str, Any]]:
    """The best single changes as published rows, best first."""
    may_have = MayHave(table, tuple(avoidances), age_months, tuple(asked.regions), week_packets(asked))
    at_hand = week_foods_at_hand(asked, may_have)
    days = [day for day in week.days if day.vector is not None]
    scheme = crediting_scheme(table.standard.crediting)
    wanting = wanting_of(table, week.counted(), lengths.usual_days)
    changes = list(_changes(days, at_hand, bool(asked.offer), scheme, may_have, wanting))
    ranked = rank_week_changes(table, week.counted(), len(week.school_days), lengths, changes, asked.max_changes)
    labels = {
        target.id: say(message("week.label-and-basis", label=target.label, basis=target.basis))
        for target in table.targets
    }
    labels |= {target.id: target.label for target in table.week_targets}
    return [week_change_row(one.change, [day.on for day in days], week, one.fixes, labels, one.after) for one in ranked]


def week_packets(asked: WeekRequest) -> Packets:
    """The packets that hold on the Monday after the week: changes are for next week's lunches."""
    return packets_at_hand(asked.packets, asked.last_day() + timedelta(days=1))


def week_foods_at_hand(asked: WeekRequest, may_have: MayHave) -> Sequence[Portion]:
    """The foods offered, or the everyday lunch foods; those that this child may have."""
    with at("offer"):
        return may_have.foods_at_hand(foods_named(asked.offer, may_have.packets) if asked.offer else None)


def week_change_row(
    change: LunchChange,
    days: Sequence[date],
    week: SchoolWeek,
    fixes: Sequence[str],
    labels: Mapping[str, str],
    days_fixed: int,
) -> dict[str, Any]:
    """One change as published; ``days``: those that its moves speak of."""
    on = [days[move.day] for move in change.where]
    first = next(day.items for day in week.days if day.on == on[0])
    before = None if change.where[0].item is None else first[change.where[0].item]
    return {
        **change_row(change, _said(change, on, before)),
        "times": change.times,
        "days": [weekday(day) for day in on],
        "places": [{"date": day.isoformat(), "item": move.item} for day, move in zip(on, change.where, strict=True)],
        "mends": list(fixes),
        "mends_labels": [labels[one] for one in fixes],
        "days_mended": days_fixed,
    }


def _said(change: LunchChange, on: Sequence[date], before: PreparedItem | None) -> Message:
    """The change in words; ``before``: the first item that goes or changes."""
    into, out, when = change.into, change.out, _when(on)
    gone = "" if out is None else out.name
    if change.kind == "portion":
        way = WAYS[change.times or 1.0]
        if into is None or before is None:
            return message("week-change.portion", name=gone, way=way, when=when)
        return message(
            "week-change.portion-amount",
            name=gone,
            way=way,
            when=when,
            quantity=into.quantity,
            unit=into.unit,
            before_quantity=before.quantity,
        )
    if into is None:
        return message("week-change.leave-out", before=gone, when=when)
    name, quantity, unit = into.food.name, into.quantity, into.unit
    if out is None:
        return message("week-change.add", name=name, quantity=quantity, unit=unit, when=when)
    return message("week-change.swap", before=gone, name=name, quantity=quantity, unit=unit, when=when)


def _when(on: Sequence[date]) -> Message:
    """On which days: "on Monday and Thursday", "Monday to Friday"."""
    weekdays = list(dict.fromkeys(day.isoweekday() for day in on))
    if weekdays == [1, 2, 3, 4, 5]:
        return message("week-change.monday-to-friday")
    return message("week-change.on-days", weekdays=weekdays)


def uses_of(days: Sequence[DayOfWeek]) -> list[Use]:
    """The foods of the packed days, by name."""
    found: dict[tuple[str, str], list[tuple[Move, PreparedItem]]] = {}
    left: set[tuple[str, str]] = set()
    for place, day in enumerate(days):
        if day.kind == "packed":
            for item_place, (item, eaten) in enumerate(zip(day.items, day.eaten, strict=False)):
                move = Move(eaten, None, place, item_place)
                found.setdefault((item.food.name, item.food.id), []).append((move, item))
                if day.eaten_mg[item_place] < item.amount_mg:
                    left.add((item.food.name, item.food.id))
    return [
        Use(on[0][1].food, tuple(move for move, _item in on), tuple(item for _move, item in on), key in left)
        for key, on in sorted(found.items(), key=lambda pair: pair[0])
    ]


def _changes(
    days: Sequence[DayOfWeek],
    at_hand: Sequence[Portion],
    offered: bool,
    scheme: CreditingScheme | None,
    may_have: MayHave,
    wanting: Sequence[DayWanting],
) -> Iterator[LunchChange]:
    """Every change looked at; what must not be packed at all has its own changes (``danger_changes``)."""
    for use in uses_of(days):
        alone = any(len(days[move.day].items) < 2 for move in use.moves)
        if use.food.category not in NEVER_LESS and not alone:
            yield leaving_out(use.food, use.moves, use.amount_mg)
        # A smaller portion of a food is a recommendation of it, too; and what came back would come back again.
        if not use.came_back and all(may_have.more_of(use.food, item.form) for item in use.items):
            for times in PORTIONS:
                if times > 1 or use.food.category not in NEVER_LESS:
                    yield from _portion(use, times, scheme)
        there = {item.food.id for move in use.moves for item in days[move.day].items}
        others = [one for one in at_hand if one.food.id not in there]
        yield from swaps(use.food, use.moves, use.amount_mg, others, scheme, any_kind=offered)
    yield from _additions(days, at_hand, scheme, wanting)


def _portion(use: Use, times: float, scheme: CreditingScheme | None) -> Iterator[LunchChange]:
    try:
        after = [_times(item, times) for item in use.items]
    except LunchError:
        return  # a portion too large or too small to be an item is not a candidate
    into = [one.vector(scheme, before) for one, before in zip(after, _beside_each(use.moves, after), strict=True)]
    moves = tuple(move._replace(into=one) for move, one in zip(use.moves, into, strict=True))
    size = sum(abs(one.amount_mg - item.amount_mg) for one, item in zip(after, use.items, strict=True))
    alike = len({(one.quantity, one.unit) for one in use.items}) == 1
    yield portioning(use.food, moves, size, after[0] if alike else None, times, more=times > 1, times=times)


def _beside_each(moves: Moves, after: Sequence[Portion]) -> list[int]:
    """Of each portion, how much of the same food its day holds before it."""
    so_far: Counter[tuple[int, Hashable]] = Counter()
    found = []
    for move, one in zip(moves, after, strict=True):
        same = (move.day, credited_as(one.food, one.option))
        found.append(so_far[same])
        so_far[same] += one.amount_mg
    return found


def _times(item: PreparedItem, times: float) -> Portion:
    """So many times the item's portion."""
    thousandths = int(round(item.quantity * SCALE) * times)
    amount_mg = amount_mg_of(item.food, thousandths, item.unit)
    return Portion(item.food, amount_mg, thousandths / SCALE, item.unit, item.form, item.option)


@lru_cache(maxsize=8)
def _counts(free: int) -> tuple[int, ...]:
    """On how many of the free days a food may be added."""
    return tuple(sorted({min(count, free) for count in ADDED_DAYS} - {0}))


def _additions(
    days: Sequence[DayOfWeek],
    at_hand: Sequence[Portion],
    scheme: CreditingScheme | None,
    wanting: Sequence[DayWanting],
) -> Iterator[LunchChange]:
    """A food added on the days that lack most of what it brings; never one that came back this week."""
    there = {
        place: {(item.food.id, item.food.name) for item in day.items}
        for place, day in enumerate(days)
        if day.kind == "packed"
    }
    unwanted = {(use.food.id, use.food.name) for use in uses_of(days) if use.came_back}
    for one in at_hand:
        if (one.food.id, one.food.name) in unwanted:
            continue
        vector = one.vector(scheme)
        free = [Move(None, vector, place) for place in there if (one.food.id, one.food.name) not in there[place]]
        free.sort(key=lambda move: wanting[move.day].order(vector))  # stable: equal days stay in order
        for count in _counts(len(free)):
            yield adding(one, tuple(sorted(free[:count], key=lambda move: move.day)))
