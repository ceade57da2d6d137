"""What to change in next week's packed lunches: the three smallest single changes that fix most.

Each is one that a parent would make to a single lunch too: no second dish or drink, counted things in whole, no sweets,
nothing the child must avoid in any amount, dislikes, or left. It is made on as few days as will do, and on those that lack
what it brings. Never one that breaks a target which was met.
"""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from itertools import islice
from typing import Any, NamedTuple

from service.domain.errors import LunchError, at
from service.domain.foods.amounts import ItemVector, Portion, amount_mg_of
from service.domain.foods.crediting import CreditingScheme
from service.domain.foods.food import Food
from service.domain.foods.packets import Packets
from service.domain.lunch.changing.changes import LunchChange, Move, Moves, adding, leaving_out, portioning, swapping
from service.domain.lunch.changing.too_much import is_at_fault
from service.domain.lunch.standards import TargetTable
from service.domain.measures import THOUSANDTHS
from service.domain.messages import Message, message
from service.domain.weeks.changes import TooMuch, rank_week_changes, too_much_in
from service.domain.weeks.wanting import DayWanting, wanting_of
from service.domain.weeks.week import WeekLengths, week_findings
from service.domain.weeks.words import weekday
from service.jobs.foods.at_hand import foods_named
from service.jobs.foods.packets import packets_at_hand
from service.jobs.foods.resolve import food_of
from service.jobs.foods.wishes import Wishes
from service.jobs.lunch.change_rows import change_row
from service.jobs.lunch.change_words import with_labels_to_read
from service.jobs.lunch.items import PreparedItem
from service.jobs.lunch.may_have import GRADES, MayHave
from service.jobs.weeks.credited import CreditedByDay
from service.jobs.weeks.days import DayOfWeek, SchoolWeek
from service.jobs.weeks.requests import WeekRequest
from service.jobs.weeks.resolve import ResolvedWeek
from service.reference.foods.household_measures import food_amount
from service.reference.foods.suggesting import suggesting
from service.reference.lunch.handling import handling_rules
from service.reference.lunch.standards import crediting_scheme
from service.reference.messages import say

NEVER_LESS = frozenset({"fruit", "vegetables"})
"""Categories of which no change takes away (our choice): fewer vegetables would be the nearest way to less sodium."""
LACKS_NOTHING = (0, 0)
NOT_EDITED: Mapping[str, Food] = {}


class Use(NamedTuple):
    """One food of the week: the moves that remove it, day by day, the items that go with them, and whether some of it
    came back. ``known_as``: the food as it was packed, and as it is now where it was edited since.
    """

    food: Food
    moves: Moves
    items: tuple[PreparedItem, ...]
    came_back: bool
    known_as: tuple[Food, ...]

    @property
    def key(self) -> tuple[str, str]:
        """What tells the food from others."""
        return self.food.id, self.food.name


class NextWeek(NamedTuple):
    """What changes are made from. ``at_hand``: foods that may come in; ``edited``: by their ids the foods of which
    something else is known now than when they were packed, as they are known now.
    """

    asked: WeekRequest
    week: SchoolWeek
    may_have: MayHave
    wishes: Wishes
    edited: Mapping[str, Food]
    at_hand: Sequence[Portion]
    once_read: Sequence[Sequence[Portion]] = ()
    """Foods whose label is still to be read, for the place of what must not be packed: those that look better first."""

    def goes_with(self, food: Food, day: DayOfWeek, without: Collection[int] = ()) -> bool:
        """Whether a food may come in beside the items of a day, but for those that go."""
        there = [item.food for place, item in enumerate(day.items) if place not in without]
        gone = [day.items[place].food for place in without]
        return suggesting().goes_with(food, there, gone[0] if len(gone) == 1 else None)

    def ahead(self, change: LunchChange, days: Sequence[DayOfWeek], too_much: Sequence[TooMuch] = ()) -> float:
        """By how many points of the score a change comes before others, by what is packed on the first of its days.

        ``too_much``: what the week has more of than the most.
        """
        if change.kind not in ("add", "swap") or change.into is None:
            return 0.0
        move = change.where[0]
        beside = [item.food for place, item in enumerate(days[move.day].items) if place != move.item]
        at_fault = move.out is not None and is_at_fault(move.out, [one.target for one in too_much if one.far == 1])
        named = bool(self.asked.offer)
        return suggesting().points_for(change.out, change.into.food, beside, named=named, at_fault=at_fault)

    def most_days(self, food: Food) -> int | None:
        """On how many days of the week a food may come in by one change; None: on all."""
        lists = suggesting()
        return lists.seldom_days if food.id in lists.seldom and not self.asked.offer else None

    def more_of(self, use: Use) -> bool:
        """Whether more of a food of the week may be suggested."""
        in_order = all(self.may_have.more_of(food, item.form) for food in use.known_as for item in use.items)
        return in_order and self.wishes.wanted(use.food) and not use.came_back


def next_week_of(asked: WeekRequest, made: ResolvedWeek, table: TargetTable | None) -> NextWeek:
    """What changes to a week are made from: foods that the child may have and would want, none that came back.

    The packets are those that hold on the Monday after the week.
    """
    packets = packets_at_hand(asked.packets, asked.last_day() + timedelta(days=1), asked.salts_cooking_water)
    may_have = MayHave(table, tuple(made.avoidances), made.age_months, tuple(asked.regions), packets)
    left = {use.key for use in uses_of(made.week.days) if use.came_back}
    with at("offer"):
        named = foods_named(asked.offer, packets) if asked.offer else None
    at_hand, *once_read = (
        [
            one
            for one in may_have.foods_at_hand(named, evidence)
            if made.wishes.wanted(one.food) and (one.food.id, one.food.name) not in left
        ]
        for evidence in GRADES
    )
    edited = {**_read_since(made.week, packets), **made.edited_with(packets)}
    return NextWeek(asked, made.week, may_have, made.wishes, edited, at_hand, once_read)


def _read_since(week: SchoolWeek, packets: Packets) -> dict[str, Food]:
    """The foods of the days that have packets of their own, with the packets that hold next week."""
    return {
        item.food.id: food_of(sent.food, packets)
        for day in week.days
        if day.asked.packets is not None
        for sent, item in zip(day.asked.items, day.items, strict=True)
    }


def week_changes(make: NextWeek, table: TargetTable, lengths: WeekLengths) -> list[dict[str, Any]]:
    """The best single changes as published rows, best first."""
    week = make.week
    days = [day for day in week.days if day.vector is not None]
    wanting = wanting_of(table, week.counted(), lengths.usual_days)
    scheme = crediting_scheme(table.standard.crediting)
    school_days, limit = len(week.school_days), make.asked.max_changes
    before = week_findings(table, week.counted(), school_days, lengths)
    too_much = too_much_in(table, week.counted(), before)
    credited = CreditedByDay(days, scheme)
    changes = [
        replace(credited.of(one), ahead=make.ahead(one, days, too_much))
        for one in _changes(make, days, scheme, wanting)
    ]
    ranked = rank_week_changes(table, week.counted(), school_days, lengths, before, changes, limit)
    labels = {
        target.id: say(message("week.label-and-basis", label=target.label, basis=target.basis))
        for target in table.targets
    }
    labels |= {target.id: target.label for target in table.week_targets}
    on = [day.on for day in days]
    return [week_change_row(one.change, on, make, one.fixes, labels, one.after, one.eases) for one in ranked]


def week_change_row(
    change: LunchChange,
    days: Sequence[date],
    make: NextWeek,
    fixes: Sequence[str],
    labels: Mapping[str, str],
    days_fixed: int,
    eases: Sequence[str] = (),
) -> dict[str, Any]:
    """One change as published; ``days``: those that its moves speak of; ``fixes``, ``eases``: ids of targets."""
    on = [days[move.day] for move in change.where]
    first = next(day.items for day in make.week.days if day.on == on[0])
    before = None if change.where[0].item is None else first[change.where[0].item]
    return {
        **change_row(change, _said(change, on, before, make.may_have)),
        "times": change.times,
        "days": [weekday(day) for day in on],
        "places": [{"date": day.isoformat(), "item": move.item} for day, move in zip(on, change.where, strict=True)],
        "mends": list(fixes),
        "mends_labels": [labels[one] for one in fixes],
        "less_of": [labels[one] for one in eases],
        "days_mended": days_fixed,
    }


def _said(change: LunchChange, on: Sequence[date], before: PreparedItem | None, may_have: MayHave) -> Message:
    """The change in words; ``before``: the first item that goes or changes."""
    into, out, when = change.into, change.out, _when(on)
    gone = "" if out is None else out.name
    if into is None:
        return message("week-change.leave-out", before=gone, when=when)
    food = food_amount(into.food.name, into.quantity, into.unit)
    if change.kind == "form":
        rules = handling_rules()
        prepare = rules.choking[into.food.handling.choking_rule].prepare
        return message("week-change.form", name=gone, form=rules.in_words(into.form or ""), prepare=prepare, when=when)
    if change.kind == "portion" and before is not None:
        unit, was = into.unit, before.quantity
        if food.code != "food-amount.beside":
            return message("week-change.portion-of", food=food, unit=unit, before=was, when=when)
        name, quantity = into.food.name, into.quantity
        return message("week-change.portion", name=name, quantity=quantity, unit=unit, before=was, when=when)
    if into.form and may_have.cut_asked_for(into.food, into.form):
        food = message("week-change.cut", food=food, form=handling_rules().in_words(into.form))
    if out is None:
        return message("week-change.add", food=food, when=when)
    return with_labels_to_read(message("week-change.swap", before=gone, food=food, when=when), into.food, may_have)


def _when(on: Sequence[date]) -> Message:
    """On which days: "on Monday and Thursday", "Monday to Friday"."""
    weekdays = list(dict.fromkeys(day.isoweekday() for day in on))
    if weekdays == [1, 2, 3, 4, 5]:
        return message("week-change.monday-to-friday")
    return message("week-change.on-days", weekdays=weekdays)


def uses_of(days: Sequence[DayOfWeek], edited: Mapping[str, Food] = NOT_EDITED) -> list[Use]:
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
        Use(
            on[0][1].food,
            tuple(move for move, _item in on),
            tuple(item for _move, item in on),
            key in left,
            (on[0][1].food, *([edited[key[1]]] if key[1] in edited else [])),
        )
        for key, on in sorted(found.items(), key=lambda pair: pair[0])
    ]


def _changes(
    make: NextWeek, days: Sequence[DayOfWeek], scheme: CreditingScheme | None, wanting: Sequence[DayWanting]
) -> Iterator[LunchChange]:
    """Every change looked at; what must not be packed at all has its own changes (``danger_changes``)."""
    for use in uses_of(days, make.edited):
        if use.food.category not in NEVER_LESS:
            spare = [move for move in use.moves if len(days[move.day].items) > 1]
            for moves in _fewest(spare, wanting, gone=True):
                yield leaving_out(use.food, moves, _amount_mg(use, moves))
        yield from _portions(make, use, scheme, wanting)
        yield from _swaps(make, use, days, scheme, wanting)
    yield from _additions(make, days, scheme, wanting)


def _fewest(moves: Sequence[Move], wanting: Sequence[DayWanting], *, gone: bool = False) -> Iterator[Moves]:
    """The moves on one day, on two, and so on: first where most of what comes is lacking, or least of what goes."""
    ordered = list(moves)  # sorting is stable: equal days stay in order
    if gone:
        ordered.sort(key=lambda move: wanting[move.day].order(move.out) if move.out else LACKS_NOTHING, reverse=True)
    else:
        ordered.sort(key=lambda move: wanting[move.day].order(move.into) if move.into else LACKS_NOTHING)
    for count in range(1, len(ordered) + 1):
        yield tuple(sorted(ordered[:count], key=lambda move: (move.day, move.item or 0)))


def _amount_mg(use: Use, moves: Moves) -> int:
    """How much of a food some of its moves are about."""
    return sum(item.amount_mg for move, item in zip(use.moves, use.items, strict=True) if move in moves)


def _portions(
    make: NextWeek, use: Use, scheme: CreditingScheme | None, wanting: Sequence[DayWanting]
) -> Iterator[LunchChange]:
    """Other portions of a food; those packed alike are changed alike."""
    # A smaller portion of a food is a recommendation of it, too; and what came back would come back again.
    if use.came_back or not all(make.may_have.more_of(food, one.form) for food in use.known_as for one in use.items):
        return
    alike: dict[tuple[float, str, str | None], list[tuple[Move, PreparedItem]]] = {}
    for move, item in zip(use.moves, use.items, strict=True):
        alike.setdefault((item.quantity, item.unit, item.form), []).append((move, item))
    for (quantity, unit, _form), on in alike.items():
        for other in suggesting().other_quantities(use.food, quantity, unit, make.may_have.age_months):
            more = other > quantity
            if make.more_of(use) if more else use.food.category not in NEVER_LESS:
                yield from _portion(use.food, on, other, scheme, wanting)


def _portion(
    food: Food,
    on: Sequence[tuple[Move, PreparedItem]],
    quantity: float,
    scheme: CreditingScheme | None,
    wanting: Sequence[DayWanting],
) -> Iterator[LunchChange]:
    _move, item = on[0]
    try:
        amount_mg = amount_mg_of(food, round(quantity * THOUSANDTHS), item.unit)
    except LunchError:
        return  # a portion too large or too small to be an item is not a candidate
    into = Portion(food, amount_mg, quantity, item.unit, item.form, item.option)
    more, vector = quantity > item.quantity, into.vector(scheme)
    by = abs(amount_mg - item.amount_mg)
    for moves in _fewest([move._replace(into=vector) for move, _item in on], wanting, gone=not more):
        yield portioning(
            food, moves, by * len(moves), into, quantity, more=more, times=round(quantity / item.quantity, 3)
        )


def _swaps(
    make: NextWeek,
    use: Use,
    days: Sequence[DayOfWeek],
    scheme: CreditingScheme | None,
    wanting: Sequence[DayWanting],
) -> Iterator[LunchChange]:
    """Each food at hand of the same category in the place of one; of those that the request offers, any."""
    for other in make.at_hand:
        same = (other.food.id, other.food.name) == use.key
        if same or not (make.asked.offer or suggesting().takes_place_of(use.food, other.food)):
            continue
        vector = other.vector(scheme)
        fitting = [
            move._replace(into=vector)
            for move in use.moves
            if make.goes_with(other.food, days[move.day], () if move.item is None else (move.item,))
        ]
        for moves in islice(_fewest(fitting, wanting), make.most_days(other.food)):
            gone = tuple(move._replace(into=None) for move in moves)
            yield swapping(use.food, moves, _amount_mg(use, gone), other)


def _additions(
    make: NextWeek, days: Sequence[DayOfWeek], scheme: CreditingScheme | None, wanting: Sequence[DayWanting]
) -> Iterator[LunchChange]:
    """A food added on the days that lack what it brings."""
    for one in make.at_hand:
        vector = one.vector(scheme)
        free = [
            Move(None, vector, place)
            for place, day in enumerate(days)
            if day.kind == "packed" and _lacks(wanting[place], vector) and _new_there(one.food, day, make)
        ]
        for moves in islice(_fewest(free, wanting), make.most_days(one.food)):
            yield adding(one, moves)


def _lacks(day: DayWanting, vector: ItemVector) -> bool:
    return day.order(vector) != LACKS_NOTHING


def _new_there(food: Food, day: DayOfWeek, make: NextWeek) -> bool:
    named = any((item.food.id, item.food.name) == (food.id, food.name) for item in day.items)
    return not named and make.goes_with(food, day)
