"""What happens to an entry of the stock: made more, moved, taken, thrown, counted anew.

How much there is of an entry is at any time the sum of its events: each change is kept with the event that made it.
"""

from datetime import date, timedelta
from uuid import UUID

from service.domain.errors import BadInput, at
from service.domain.messages import message
from service.domain.stock.keeping import FREEZER
from service.jobs.household.records import Body, Matches, shown
from service.jobs.household.stock.amounts import amount_of, grams_of, mg_of, portions_of
from service.jobs.household.stock.entries import (
    beside_entry,
    entry_of,
    see_not_to_come,
    start_of,
    stored_entry,
    today,
    whole_entry,
)
from service.jobs.household.stock.known_foods import KnownFoods
from service.jobs.household.stock.requests import MOST_PORTIONS, KeptStockEvent, StockEventAsked
from service.store.household.kinds import STOCK, STOCK_EVENT
from service.store.household.records import Connection, Record, create, not_there, replace
from service.store.household.stock import entries_of, events_of_entry, hold_entries

TOLD_APART_BY = (
    "food", "place", "portion_grams", "made_on", "bought_on", "opened_on", "frozen_on", "thawed_on", "printed_date", "note",
    "plan", "plan_line",
)  # fmt: skip
"""Two entries that are alike in all of these are one."""


def keep_event(
    connection: Connection,
    household: UUID,
    entry: Record,
    event: str,
    amount_mg: int,
    on: date,
    *,
    to: str | None = None,
    other: UUID | None = None,
    lunch: UUID | None = None,
    note: str = "",
) -> Record:
    """Keep what happened to an entry; ``amount_mg``: how much more there was, less than 0 for fewer."""
    portion_mg = mg_of(entry.body["portion_grams"])
    body = KeptStockEvent(
        stock=str(entry.id),
        event=event,  # type: ignore[arg-type]
        on=on,
        portions=portions_of(amount_mg, portion_mg),
        grams=grams_of(amount_mg),
        to=to,  # type: ignore[arg-type]
        other=None if other is None else str(other),
        lunch=None if lunch is None else str(lunch),
        note=note,
    ).model_dump(mode="json")
    return create(connection, STOCK_EVENT, household, body, columns_of_event(body))


def columns_of_event(body: Body) -> Body:
    """What is stored next to the body of an event."""
    return {"stock_id": UUID(body["stock"]), "lunch_id": None if body["lunch"] is None else UUID(body["lunch"])}


def changed_by(
    connection: Connection, household: UUID, entry: Record, amount_mg: int, changes: Body | None = None
) -> Record:
    """Keep so much more (less than 0: fewer) of an entry, and other changes of its body.

    Never below nothing: what is asked of it has been looked at before.
    """
    portion_mg = mg_of(entry.body["portion_grams"])
    there = mg_of(entry.body["grams"]) + amount_mg
    if there < 0:
        raise _more_than_there(entry, "")
    body = {**entry.body, **(changes or {}), "grams": grams_of(there), "portions": portions_of(there, portion_mg)}
    return replace(connection, STOCK, household, entry.id, entry.version, body, {"food": body["food"]})


def stock_event(
    connection: Connection, household: UUID, record_id: str, matches: Matches, asked: StockEventAsked
) -> tuple[Body, int]:
    """Keep what happened to an entry; the reply, and the version of the entry.

    ``NotThere`` for an entry that is not here; ``BadInput`` for more than there is, and for a day to come.
    """
    food = stored_entry(connection, household, record_id).body["food"]
    held = {one.id: one for one in hold_entries(connection, household, [food])}
    entry = held.get(UUID(record_id))
    if entry is None:
        raise not_there(STOCK, record_id)
    matches(entry.version)
    now = today()
    with at("on"):
        see_not_to_come(asked.on, now)
    on = asked.on or now
    with at("on"):
        if on < start_of(entry_of(entry.body)):
            raise BadInput(
                value=on.isoformat(),
                problem=message("fault.before-it-was-made", made=start_of(entry_of(entry.body)).isoformat()),
            )
    moved_to = None
    if asked.event == "moved":
        entry, moved_to, event = _moved(connection, household, entry, asked, on, list(held.values()))
    else:
        entry, event = _more_or_less(connection, household, entry, asked, on)
    foods = KnownFoods(connection, household)
    return {
        "stock": whole_entry(entry, foods, now),
        "moved_to": None if moved_to is None else whole_entry(moved_to, foods, now),
        "event": shown(event),
    }, entry.version


def events_shown(connection: Connection, household: UUID, record_id: str) -> Body:
    """What happened to an entry, oldest first; ``NotThere`` for one that is not here."""
    entry = stored_entry(connection, household, record_id)
    return {"items": [shown(one) for one in events_of_entry(connection, household, entry.id)]}


def _more_or_less(
    connection: Connection, household: UUID, entry: Record, asked: StockEventAsked, on: date
) -> tuple[Record, Record]:
    """Made more, taken, thrown or counted anew."""
    there = mg_of(entry.body["grams"])
    portion_mg = mg_of(entry.body["portion_grams"])
    if asked.event == "made":
        change = amount_of(asked.portions or 0, portion_mg)
        if there + change > MOST_PORTIONS * portion_mg:
            raise BadInput(
                pointer="/portions",
                value=asked.portions,
                problem=message("fault.too-many-portions", most=MOST_PORTIONS),
            )
    elif asked.event == "counted":
        change = amount_of(asked.portions or 0, portion_mg, there) - there
    else:
        change = -_asked_of(entry, asked)
    after = changed_by(connection, household, entry, change)
    return after, keep_event(connection, household, after, asked.event, change, on, note=asked.note)


def _asked_of(entry: Record, asked: StockEventAsked) -> int:
    """How much is taken away; all of it where no number is given. ``BadInput`` for more than there is."""
    there = mg_of(entry.body["grams"])
    if there == 0:
        raise BadInput(pointer="/portions", value=asked.portions or "all", problem=message("fault.nothing-there"))
    if asked.portions is None:
        return there
    amount = amount_of(asked.portions, mg_of(entry.body["portion_grams"]), there)
    if amount > there:
        raise _more_than_there(entry, asked.portions)
    return amount


def _more_than_there(entry: Record, value: object) -> BadInput:
    return BadInput(
        pointer="/portions", value=value, problem=message("fault.more-than-there", there=entry.body["portions"])
    )


def _moved(
    connection: Connection,
    household: UUID,
    entry: Record,
    asked: StockEventAsked,
    on: date,
    others: list[Record],
) -> tuple[Record, Record | None, Record]:
    """Move all of an entry, or a part to another entry: one that is alike, or a new one."""
    there, place = entry.body["place"], str(asked.to)
    if place == there:
        raise BadInput(pointer="/to", value=place, problem=message("fault.already-in-place"))
    amount = _asked_of(entry, asked)
    if place == FREEZER:
        _see_in_time(connection, household, entry, on)
    moved = {"place": place, **_days_of_move(entry.body, place, on)}
    if amount == mg_of(entry.body["grams"]):
        after = changed_by(connection, household, entry, 0, moved)
        return after, None, keep_event(connection, household, after, "moved", 0, on, to=place, note=asked.note)
    target = {**entry.body, **moved}
    alike = [one for one in others if all(one.body.get(name) == target.get(name) for name in TOLD_APART_BY)]
    if alike:
        other = changed_by(connection, household, alike[0], amount)
    else:
        portion_mg = mg_of(entry.body["portion_grams"])
        target |= {"grams": grams_of(amount), "portions": portions_of(amount, portion_mg)}
        other = create(connection, STOCK, household, target, {"food": target["food"]})
    after = changed_by(connection, household, entry, -amount)
    event = keep_event(connection, household, after, "moved", -amount, on, to=place, other=other.id, note=asked.note)
    keep_event(connection, household, other, "moved_here", amount, on, to=there, other=entry.id)
    return after, other, event


def _see_in_time(connection: Connection, household: UUID, entry: Record, on: date) -> None:
    """``BadInput`` for what is over: the freezer does not make it good again."""
    left = beside_entry(entry.body, KnownFoods(connection, household), on)
    if left["days_left"] is not None and left["days_left"] < 0:
        raise BadInput(pointer="/to", value=FREEZER, problem=message("fault.over-not-frozen", day=left["use_by"]))


def _days_of_move(body: Body, to: str, on: date) -> Body:
    """The days of freezing and thawing after a move.

    What goes back into the freezer counts the days it lay thawed as days before it was frozen.
    """
    entry = entry_of(body)
    if to == FREEZER:
        frozen = on
        if entry.thawed_on is not None:
            earlier = entry.frozen_on or start_of(entry)
            frozen = earlier + max(timedelta(0), on - entry.thawed_on)
        return {"frozen_on": frozen.isoformat(), "thawed_on": None}
    if entry.place == FREEZER:
        return {"thawed_on": max(on, entry.frozen_on or on).isoformat()}
    return {}


def first_event(connection: Connection, household: UUID, entry: Record) -> None:
    """The event with which an entry begins."""
    start = start_of(entry_of(entry.body))
    keep_event(connection, household, entry, "made", mg_of(entry.body["grams"]), start)


def entries_here(connection: Connection, household: UUID) -> list[Record]:
    """All entries of which there is anything."""
    return [one for one in entries_of(connection, household) if one.body["grams"] > 0]
