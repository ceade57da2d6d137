"""What a packed lunch takes from the stock, and what it gives back when it is undone, changed or removed.

A lunch is never refused for it: what was not there is said. A household without stock of what was packed notices nothing.
What is packed cooked takes what is there of it, then what it is made of: boiled eggs the raw ones, cooked rice the dry.
"""

from collections.abc import Mapping, Sequence
from datetime import date
from fractions import Fraction
from typing import Any, NamedTuple
from uuid import UUID

from service.domain.messages import message
from service.domain.stock.lots import take
from service.jobs.foods.packets import packets_at_hand
from service.jobs.foods.resolve import amount_of, food_of
from service.jobs.household.records import Body
from service.jobs.household.stock.amounts import grams_of, mg_of, portions_of
from service.jobs.household.stock.entries import lot_of, today
from service.jobs.household.stock.happened import changed_by, keep_event
from service.jobs.household.stock.known_foods import KnownFoods
from service.jobs.household.stored.kept_things import KeptThings
from service.jobs.requests.fields import is_kept_id
from service.jobs.weeks.requests import WeekItem
from service.reference.foods.bought_as import raw_forms
from service.reference.messages import listed_as
from service.store.household.records import Connection, Record
from service.store.household.stock import events_of_entries, events_of_lunch, has_stock_of, hold_entries

OF_WHAT_IS_TAKEN = ("kind", "date")
"""Fields of a lunch that decide what it takes, besides its items."""


def settle_lunch(connection: Connection, household: UUID, before: Record | None, after: Record | None) -> Body:
    """Give back what a lunch took before, and take what it holds now; ``{"stock": ...}`` for the reply.

    ``before``, ``after``: the lunch as it was and as it is; None: there was none, or it was removed. ``stock`` is None where
    nothing of the lunch was ever in the stock, or nothing that counts was changed.
    """
    if before is not None and after is not None and _packed(before.body) == _packed(after.body):
        return {"stock": None}
    lunch = (after or before or _none()).id
    events = [] if before is None else events_of_lunch(connection, household, lunch)
    touched = {UUID(event.body["stock"]) for event in events}
    items = [] if after is None or after.body["kind"] != "packed" else _items(after.body)
    packed = {one.food for one in items if isinstance(one.food, str)}
    foods = sorted({form for one in packed for form, _factor in _forms(one)})
    tracked = bool(foods) and has_stock_of(connection, household, foods)
    if not touched and not tracked:
        return {"stock": None}
    held = {one.id: one for one in hold_entries(connection, household, foods, touched)}
    kept, wanted = KeptThings(connection, household), dict[str, int]()
    if after is not None and tracked:
        in_stock = {one.body["food"] for one in held.values()}
        wanted = _wanted(items, in_stock, kept, date.fromisoformat(after.body["date"]))
    happened = events_of_entries(connection, household, touched) if touched else []
    for entry_id in sorted(touched & held.keys()):  # one that was removed meanwhile takes nothing back
        entry = held[entry_id]
        took = _took([one for one in happened if one.body["stock"] == str(entry_id)], lunch)
        stays = _held_since(took.counted_mg, entry.body["food"], wanted)
        if took.counted_mg > stays:  # given back, and as it was counted all the same
            keep_event(connection, household, entry, "given_back", took.counted_mg - stays, today(), lunch=lunch)
            keep_event(connection, household, entry, "counted", stays - took.counted_mg, today())
        if took.back_mg > 0:
            held[entry_id] = changed_by(connection, household, entry, took.back_mg)
            keep_event(connection, household, held[entry_id], "given_back", took.back_mg, today(), lunch=lunch)
    if after is None or not tracked:
        return {"stock": None}
    return {"stock": _taken(connection, household, after, wanted, kept, held)}


class _Took(NamedTuple):
    """What a lunch took from an entry since it was last counted, and before.

    A count says how much is there, whatever was noted before: what it has seen to be gone is neither there again nor taken again.
    """

    back_mg: int
    counted_mg: int


def _took(events: Sequence[Record], lunch: UUID) -> _Took:
    """``events``: all that happened to the entry, oldest first."""
    back = counted = 0
    for event in events:
        if event.body["event"] == "counted":
            back, counted = 0, counted + back
        elif event.body["lunch"] == str(lunch):
            back -= mg_of(event.body["grams"])
    return _Took(back, counted)


def _forms(food: str) -> Sequence[tuple[str, Fraction]]:
    """A food, then what it is made of that may be at home instead, each with how much of it one gram of the food is."""
    return ((food, Fraction(1)), *raw_forms(food))


def _held_since(counted_mg: int, form: str, wanted: dict[str, int]) -> int:
    """How much of what was gone when an entry was counted the lunch still holds; that much less is ``wanted`` from now on."""
    left = counted_mg
    for food, amount in wanted.items():
        factor = dict(_forms(food)).get(form)
        if factor:
            part = min(left, round(amount * factor))
            wanted[food] = max(0, amount - round(part / factor))
            left -= part
    return counted_mg - left


def _taken(
    connection: Connection,
    household: UUID,
    lunch: Record,
    wanted: Mapping[str, int],
    kept: KeptThings,
    held: dict[UUID, Record],
) -> Body:
    """Take what is wanted: milligrams by food."""
    foods, day = KnownFoods(connection, household, kept), date.fromisoformat(lunch.body["date"])
    rows, short = [], []
    for food, amount in wanted.items():
        left = Fraction(amount)
        all_parts: list[tuple[str, int]] = []
        for form, factor in _forms(food):
            lots = [lot_of(one, foods) for one in held.values() if one.body["food"] == form]
            taken = take(lots, form, round(left * factor), day)
            all_parts += taken.parts
            left = taken.short_mg / factor if taken.short_mg else Fraction(0)
        short_mg = round(left)
        parts = []
        for lot, part in all_parts:
            entry = held[UUID(lot)] = changed_by(connection, household, held[UUID(lot)], -part)
            keep_event(connection, household, entry, "lunch", -part, day, lunch=lunch.id)
            parts.append(
                {
                    "id": lot,
                    "place": entry.body["place"],
                    "portions": portions_of(part, mg_of(entry.body["portion_grams"])),
                    "grams": grams_of(part),
                }
            )
        rows.append(
            {
                "food": food,
                "name": foods.name(food),
                "taken_grams": grams_of(amount - short_mg),
                "short_grams": grams_of(short_mg),
                "from": parts,
            }
        )
        if short_mg:
            short.append(message("stock.short", name=foods.name(food), grams=round(short_mg / 1000, 1)))
    return {"foods": rows, **listed_as("note", short)}


def _wanted(items: Sequence[WeekItem], in_stock: set[str], kept: KeptThings, day: date) -> dict[str, int]:
    """Food -> milligrams packed of it, for those that are in the stock, or what they are made of."""
    found: dict[str, int] = {}
    packets = packets_at_hand(kept.packets(day, day), day)
    for item in items:
        if not isinstance(item.food, str) or in_stock.isdisjoint(form for form, _factor in _forms(item.food)):
            continue
        asked: Any = kept.food(item.food, "/food") if is_kept_id(item.food) else item.food
        food = food_of(asked, packets)
        amount, _unit = amount_of(food, item.quantity, item.unit)
        found[item.food] = found.get(item.food, 0) + amount
    return found


def _packed(body: Body) -> tuple[Any, ...]:
    items = [(one["food"], one["quantity"], one["unit"]) for one in body["items"]]
    return (*(body[name] for name in OF_WHAT_IS_TAKEN), items)


def _items(body: Body) -> list[WeekItem]:
    return [WeekItem.model_validate(one) for one in body["items"]]


def _none() -> Record:
    raise ValueError("no lunch was there and none is")
