"""What happens to an entry of the stock: made more, moved, taken, thrown, counted anew.

What is made more takes what it is made of from the stock.
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
from service.jobs.household.stock.events import changed_by, keep_event, more_than_there
from service.jobs.household.stock.for_dishes import foods_in, kept_of, use_for
from service.jobs.household.stock.known_foods import KnownFoods
from service.jobs.household.stock.requests import MOST_PORTIONS, StockEventAsked
from service.jobs.household.stock.taking import TakenFood, missing
from service.reference.messages import listed_as
from service.store.household.kinds import STOCK
from service.store.household.records import Connection, Record, create, not_there
from service.store.household.stock import entries_of, events_of_entry, hold_entries

TOLD_APART_BY = (
    "food", "place", "portion_grams", "made_on", "bought_on", "opened_on", "frozen_on", "thawed_on", "printed_date", "note",
    "plan", "plan_line",
)  # fmt: skip
"""Two entries that are alike in all of these are one."""


def stock_event(
    connection: Connection, household: UUID, record_id: str, matches: Matches, asked: StockEventAsked
) -> tuple[Body, int]:
    """Keep what happened to an entry; the reply, and the version of the entry.

    ``NotThere`` for an entry that is not here; ``BadInput`` for more than there is, and for a day to come.
    """
    food = stored_entry(connection, household, record_id).body["food"]
    foods = KnownFoods(connection, household)
    needed = foods_in(food, foods) if asked.event == "made" else ()
    held = {one.id: one for one in hold_entries(connection, household, {food, *needed})}
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
    moved_to, taken = None, list[TakenFood]()
    if asked.event == "moved":
        entry, moved_to, event = _moved(connection, household, entry, asked, on, list(held.values()))
    else:
        change = _more_or_less(entry, asked)
        if asked.event == "made" and entry.body["made_on"] is not None:
            taken = use_for(connection, household, entry, change, held, foods, on)
        entry = changed_by(connection, household, entry, change)
        event = keep_event(
            connection, household, entry, asked.event, change, on, note=asked.note, ingredients=kept_of(taken)
        )
    short = [message("stock.short-for-dish", name=name, grams=grams) for name, grams in missing(taken)]
    return {
        "stock": whole_entry(entry, foods, now),
        "moved_to": None if moved_to is None else whole_entry(moved_to, foods, now),
        "event": shown(event),
        "used": {"foods": [one.said() for one in taken], **listed_as("note", short)} if taken else None,
    }, entry.version


def events_shown(connection: Connection, household: UUID, record_id: str) -> Body:
    """What happened to an entry, oldest first; ``NotThere`` for one that is not here."""
    entry = stored_entry(connection, household, record_id)
    rows = events_of_entry(connection, household, entry.id)
    return {"items": [{"ingredients": [], **shown(one)} for one in rows]}  # those kept before there were any have none


def _more_or_less(entry: Record, asked: StockEventAsked) -> int:
    """How much more there is of what was made more, taken, thrown or counted anew; less than 0: how much less."""
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
    return change


def _asked_of(entry: Record, asked: StockEventAsked) -> int:
    """How much is taken away; all of it where no number is given. ``BadInput`` for more than there is."""
    there = mg_of(entry.body["grams"])
    if there == 0:
        raise BadInput(pointer="/portions", value=asked.portions or "all", problem=message("fault.nothing-there"))
    if asked.portions is None:
        return there
    amount = amount_of(asked.portions, mg_of(entry.body["portion_grams"]), there)
    if amount > there:
        raise more_than_there(entry, asked.portions)
    return amount


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


def entries_here(connection: Connection, household: UUID) -> list[Record]:
    """All entries of which there is anything."""
    return [one for one in entries_of(connection, household) if one.body["grams"] > 0]
