"""What a packed lunch takes from the stock, and what it gives back when it is undone, changed or removed.

A household without stock of what was packed notices nothing.
"""

from collections.abc import Sequence
from datetime import date
from typing import Any
from uuid import UUID

from service.domain.messages import message
from service.jobs.foods.packets import packets_at_hand
from service.jobs.foods.resolve import amount_of, food_of
from service.jobs.household.records import Body
from service.jobs.household.stock.entries import today
from service.jobs.household.stock.events import keep_event
from service.jobs.household.stock.known_foods import KnownFoods
from service.jobs.household.stock.taking import UsedBy, forms_of, give_back, missing, take_wanted, took
from service.jobs.household.stored.kept_things import KeptThings
from service.jobs.requests.fields import is_kept_id
from service.jobs.weeks.requests import WeekItem
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
    foods = sorted({form for one in packed for form, _factor in forms_of(one)})
    tracked = bool(foods) and has_stock_of(connection, household, foods)
    if not touched and not tracked:
        return {"stock": None}
    by = UsedBy("lunch", lunch)
    held = {one.id: one for one in hold_entries(connection, household, foods, touched)}
    kept, wanted = KeptThings(connection, household), dict[str, int]()
    if after is not None and tracked:
        in_stock = {one.body["food"] for one in held.values()}
        wanted = _wanted(items, in_stock, kept, date.fromisoformat(after.body["date"]))
    happened = events_of_entries(connection, household, touched) if touched else []
    for entry_id in sorted(touched & held.keys()):  # one that was removed meanwhile takes nothing back
        entry = held[entry_id]
        gone = took([one for one in happened if one.body["stock"] == str(entry_id)], by)
        stays = _held_since(gone.counted_mg, entry.body["food"], wanted)
        if gone.counted_mg > stays:  # given back, and as it was counted all the same
            by.keep(connection, household, entry, "given_back", gone.counted_mg - stays, today())
            keep_event(connection, household, entry, "counted", stays - gone.counted_mg, today())
        if gone.back_mg > 0:
            held[entry_id] = give_back(connection, household, entry, gone.back_mg, by)
    if after is None or not tracked:
        return {"stock": None}
    known, day = KnownFoods(connection, household, kept), date.fromisoformat(after.body["date"])
    taken = take_wanted(connection, household, wanted, held, known, day, by)
    short = [message("stock.short", name=name, grams=grams) for name, grams in missing(taken)]
    return {"stock": {"foods": [one.said() for one in taken], **listed_as("note", short)}}


def _held_since(counted_mg: int, form: str, wanted: dict[str, int]) -> int:
    """How much of what was gone when an entry was counted the lunch still holds; that much less is ``wanted`` from now on."""
    left = counted_mg
    for food, amount in wanted.items():
        factor = dict(forms_of(food)).get(form)
        if factor:
            part = min(left, round(amount * factor))
            wanted[food] = max(0, amount - round(part / factor))
            left -= part
    return counted_mg - left


def _wanted(items: Sequence[WeekItem], in_stock: set[str], kept: KeptThings, day: date) -> dict[str, int]:
    """Food -> milligrams packed of it, for those that are in the stock, or what they are made of."""
    found: dict[str, int] = {}
    packets = packets_at_hand(kept.packets(day, day), day)
    for item in items:
        if not isinstance(item.food, str) or in_stock.isdisjoint(form for form, _factor in forms_of(item.food)):
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
