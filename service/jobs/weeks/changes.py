"""What to change in next week's packed lunches: the three smallest single changes that mend most, and what each mends.

Never one that brings in a food which the child or the setting must avoid or of which that is unknown, a choking form,
or a product over its own limit; never one that breaks a target which was met.
"""

from collections.abc import Callable, Iterator, Sequence
from functools import lru_cache
from typing import Any, NamedTuple

from service.domain.allergens.screening import Avoidance
from service.domain.errors import LunchError
from service.domain.foods.amounts import ItemVector, amount_mg_of, credit_option, item_vector
from service.domain.foods.food import Food
from service.domain.lunch.standards import TargetTable
from service.domain.measures import SCALE
from service.domain.messages import Message, Value, message
from service.domain.weeks.changes import ChangeKind, Move, WeekCandidate, rank_week_changes
from service.domain.weeks.week import WeekLengths
from service.domain.weeks.words import WEEKDAYS, weekday
from service.jobs.foods.at_hand import OnHand, everyday_foods, foods_named
from service.jobs.lunch.changes import may_be_given, may_come_in
from service.jobs.lunch.items import PreparedItem
from service.jobs.requests import Region
from service.jobs.weeks.days import DayOfWeek, SchoolWeek
from service.jobs.weeks.requests import WeekRequest
from service.reference.lunch.standards import crediting_scheme
from service.reference.messages import say, worded

ADDED_DAYS = (1, 2, 3, 5)
PORTIONS = ((1, 2), (3, 2), (2, 1))
"""Half, half as much again, and twice the portion."""


NEVER_LESS = frozenset({"fruit", "vegetables"})
"""Categories of which no change takes away (a choice of ours): fewer vegetables would be the nearest way to less sodium."""


class AtHand(NamedTuple):
    """A food that may come in, in its amount."""

    food: Food
    amount_mg: int
    quantity: float
    unit: str
    vector: ItemVector


class Use(NamedTuple):
    """One food of the week: on which counted days it is packed, each time as an item."""

    food: Food
    on: tuple[tuple[int, PreparedItem, ItemVector], ...]


class Told(NamedTuple):
    """A change as it is told: what comes in, what goes out, on which days, how much; for a portion, which way."""

    kind: ChangeKind
    food: Food | None
    instead_of: Food | None
    days: tuple[str, ...]
    amount_mg: int | None
    quantity: float | None
    unit: str | None
    way: str = ""
    instead_of_quantity: float = 0.0


def change_message(told: Told) -> Message:
    """The change in one sentence."""
    values: dict[str, Value] = {
        "when": days_message(told.days),
        "name": "" if told.food is None else told.food.name,
        "before": "" if told.instead_of is None else told.instead_of.name,
        "quantity": told.quantity,
        "unit": told.unit,
        "before_quantity": told.instead_of_quantity,
        "way": told.way,
    }
    if told.kind == "remove":
        return message("week-change.leave-out", **values)
    if told.kind == "swap":
        return message("week-change.swap", **values)
    if told.kind == "add":
        return message("week-change.add", **values)
    if told.quantity is None:
        return message("week-change.portion", **values)
    return message("week-change.portion-amount", **values)


def week_changes(
    asked: WeekRequest,
    table: TargetTable,
    week: SchoolWeek,
    lengths: WeekLengths,
    avoidances: list[Avoidance],
    age_months: int,
) -> list[dict[str, Any]]:
    """The best single changes as published rows, best first."""
    at_hand = foods_at_hand(asked, table, avoidances, age_months)
    packed = [day for day in week.days if day.vector is not None]
    told: dict[int, Told] = {}
    candidates: list[WeekCandidate] = []

    def more_of(food: Food) -> bool:
        return may_be_given(food, avoidances, age_months, asked.regions)

    for candidate, words in _candidates(packed, at_hand, bool(asked.offer), table.standard.crediting, more_of):
        candidates.append(candidate)
        told[id(candidate)] = words
    ranked = rank_week_changes(table, week.counted(), len(week.school_days), lengths, candidates, asked.max_changes)
    labels = {
        target.id: say(message("week.label-and-basis", label=target.label, basis=target.basis))
        for target in table.targets
    }
    labels |= {target.id: target.label for target in table.week_targets}
    return [
        change_row(told[id(one.candidate)], one.mends, [labels[target] for target in one.mends], one.days_mended)
        for one in ranked
    ]


def change_row(told: Told, mends: Sequence[str], labels: list[str], days_mended: int) -> dict[str, Any]:
    """One change as published."""
    return {
        "kind": told.kind,
        **worded(change_message(told)),
        "food": None if told.food is None else told.food.id,
        "name": None if told.food is None else told.food.name,
        "instead_of": None if told.instead_of is None else told.instead_of.id,
        "instead_of_name": None if told.instead_of is None else told.instead_of.name,
        "days": list(told.days),
        "quantity": told.quantity,
        "unit": told.unit,
        "grams": None if told.amount_mg is None else told.amount_mg / 1000,
        "mends": list(mends),
        "mends_labels": labels,
        "days_mended": days_mended,
    }


def foods_at_hand(
    asked: WeekRequest, table: TargetTable | None, avoidances: list[Avoidance], age_months: int
) -> Sequence[AtHand]:
    """The foods offered, or the everyday lunch foods; those that this child may take.

    ``table``: of the standard, for its limits on products and its credits; None for a standard of frequencies.
    """
    if not asked.offer:
        return _everyday(table, tuple(avoidances), age_months, tuple(asked.regions))
    return _allowed(foods_named(asked.offer, "/offer"), table, avoidances, age_months, asked.regions)


@lru_cache(maxsize=64)
def _everyday(
    table: TargetTable | None, avoidances: tuple[Avoidance, ...], age_months: int, regions: tuple[Region, ...]
) -> Sequence[AtHand]:
    """The everyday lunch foods that a child with these avoidances may take; remembered."""
    return tuple(_allowed(everyday_foods(), table, list(avoidances), age_months, list(regions)))


def _allowed(
    found: Sequence[OnHand],
    table: TargetTable | None,
    avoidances: list[Avoidance],
    age_months: int,
    regions: list[Region],
) -> list[AtHand]:
    scheme = crediting_scheme("" if table is None else table.standard.crediting)
    return [
        AtHand(food, amount_mg, quantity, unit, item_vector(food, amount_mg, scheme, credit_option(food, None)))
        for food, amount_mg, quantity, unit in found
        if (
            may_be_given(food, avoidances, age_months, regions)
            if table is None
            else may_come_in(food, table, avoidances, age_months, regions)
        )
    ]


def uses_of(days: Sequence[DayOfWeek]) -> list[Use]:
    """The foods of the packed days, by name."""
    found: dict[tuple[str, str], list[tuple[int, PreparedItem, ItemVector]]] = {}
    for place, day in enumerate(days):
        if day.kind == "packed":
            for item, eaten in zip(day.items, day.eaten, strict=False):
                found.setdefault((item.food.name, item.food.id), []).append((place, item, eaten))
    return [Use(on[0][1].food, tuple(on)) for _key, on in sorted(found.items(), key=lambda pair: pair[0])]


def _candidates(
    days: Sequence[DayOfWeek],
    at_hand: Sequence[AtHand],
    offered: bool,
    crediting: str,
    more_of: Callable[[Food], bool],
) -> Iterator[tuple[WeekCandidate, Told]]:
    """Every change looked at; ``more_of``: whether there may be more of a food that is packed already."""
    for use in uses_of(days):
        on = tuple(weekday(days[place].on) for place, _item, _eaten in use.on)
        yield from _without(use, days, on)
        yield from _portions(use, on, crediting, more_of(use.food))
        yield from _swaps(use, at_hand, offered, on)
    yield from _additions(days, at_hand)


def days_message(on: Sequence[str]) -> Message:
    """On which days: "on Monday", "on Monday and Thursday", "on Monday, Tuesday and Friday", "Monday to Friday"."""
    names = list(dict.fromkeys(on))
    if names == list(WEEKDAYS[:5]):
        return message("week-change.monday-to-friday")
    return message("week-change.on-days", weekdays=[WEEKDAYS.index(name) + 1 for name in names])


def _without(use: Use, days: Sequence[DayOfWeek], on: tuple[str, ...]) -> Iterator[tuple[WeekCandidate, Told]]:
    if use.food.category in NEVER_LESS or any(len(days[place].items) < 2 for place, _item, _eaten in use.on):
        return
    moves = tuple(Move(place, eaten, None) for place, _item, eaten in use.on)
    size = sum(item.amount_mg for _place, item, _eaten in use.on)
    candidate = WeekCandidate(
        "remove", moves, ("remove", use.food.id + use.food.name, ""), size, ("remove", use.food.name)
    )
    yield candidate, Told("remove", None, use.food, on, None, None, None)


def _portions(use: Use, on: tuple[str, ...], crediting: str, more: bool) -> Iterator[tuple[WeekCandidate, Told]]:
    scheme = crediting_scheme(crediting)
    for times, parts in PORTIONS:
        if (times < parts and use.food.category in NEVER_LESS) or (times > parts and not more):
            continue
        moves = []
        size = 0
        try:
            for place, item, eaten in use.on:
                amount = amount_mg_of(item.food, round(item.quantity * SCALE) * times // parts, item.unit)
                moves.append(Move(place, eaten, item_vector(item.food, amount, scheme, item.option)))
                size += abs(amount - item.amount_mg)
        except LunchError:
            continue  # a portion too large or too small to be an item is no candidate
        item = use.on[0][1]
        way = {(1, 2): "half", (3, 2): "half-again", (2, 1): "twice"}[(times, parts)]
        candidate = WeekCandidate(
            "portion",
            tuple(moves),
            ("portion", use.food.id + use.food.name, "more" if times > parts else "less"),
            size,
            ("portion", use.food.name, way),
        )
        same = len({(one.quantity, one.unit) for _place, one, _eaten in use.on}) == 1
        quantity = item.quantity * times / parts
        yield (
            candidate,
            Told(
                "portion",
                use.food,
                use.food,
                on,
                round(item.amount_mg * times / parts) if same else None,
                quantity if same else None,
                item.unit if same else None,
                way,
                item.quantity,
            ),
        )


def _swaps(
    use: Use, at_hand: Sequence[AtHand], offered: bool, on: tuple[str, ...]
) -> Iterator[tuple[WeekCandidate, Told]]:
    for other in at_hand:
        if (other.food.id, other.food.name) == (use.food.id, use.food.name):
            continue
        if not offered and other.food.category != use.food.category:
            continue
        moves = tuple(Move(place, eaten, other.vector) for place, _item, eaten in use.on)
        size = sum(item.amount_mg + other.amount_mg for _place, item, _eaten in use.on)
        candidate = WeekCandidate(
            "swap",
            moves,
            ("swap", use.food.id + use.food.name, other.food.category),
            size,
            ("swap", use.food.name, other.food.name, other.food.id),
        )
        yield (
            candidate,
            Told("swap", other.food, use.food, on, other.amount_mg, other.quantity, other.unit),
        )


@lru_cache(maxsize=8)
def _counts(free: int) -> tuple[int, ...]:
    """On how many of the free days a food may be added."""
    return tuple(sorted({min(count, free) for count in ADDED_DAYS} - {0}))


def _additions(days: Sequence[DayOfWeek], at_hand: Sequence[AtHand]) -> Iterator[tuple[WeekCandidate, Told]]:
    packed = [place for place, day in enumerate(days) if day.kind == "packed"]
    there = {place: {(item.food.id, item.food.name) for item in days[place].items} for place in packed}
    names = [weekday(day.on) for day in days]
    for one in at_hand:
        free = [place for place in packed if (one.food.id, one.food.name) not in there[place]]
        for count in _counts(len(free)):
            on = tuple(names[place] for place in free[:count])
            candidate = WeekCandidate(
                "add",
                tuple(Move(place, None, one.vector) for place in free[:count]),
                ("add", "", one.food.category),
                one.amount_mg * count,
                ("add", one.food.name, one.food.id, str(count)),
            )
            yield (
                candidate,
                Told("add", one.food, None, on, one.amount_mg, one.quantity, one.unit),
            )
