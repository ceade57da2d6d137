"""Entries of the stock: looked over before they are kept, and shown with the day until which they keep."""

from datetime import date, timedelta
from typing import Any
from uuid import UUID

from service.domain.errors import BadInput, Faults
from service.domain.messages import message
from service.domain.stock.keeping import FREEZER, FRIDGE
from service.domain.stock.lots import Lot
from service.jobs.household.records import Beside, Body, Looked, shown
from service.jobs.household.stock.amounts import amount_of, grams_of, mg_of, portions_of
from service.jobs.household.stock.known_foods import KnownFoods
from service.jobs.household.stock.requests import QUARTER, KeptStockEntry, StockEntry
from service.jobs.household.stored.kept_things import KeptThings
from service.jobs.requests.fields import is_kept_id
from service.reference.messages import worded_as
from service.store.household.kinds import STOCK
from service.store.household.records import Connection, Record, get, not_there, now

LONGEST_AHEAD = timedelta(days=3_660)
"""How far in the future a printed date is believed: ten years."""
DAYS = ("made_on", "bought_on", "opened_on", "frozen_on", "thawed_on")
BESIDE = ("name", "use_by", "use_by_rule", "use_by_rule_message", "quality_only", "days_left")


def today() -> date:
    """Today, in UTC."""
    return now().date()


def look_over_entry(connection: Connection, household: UUID, asked: StockEntry, before: Body | None) -> Looked:
    """Its food is known, its days are past, and how much there is and where is changed by events alone.

    ``before``: the body that is edited. Gives the weight of a portion and the exact amount to keep.
    """
    foods = KnownFoods(connection, household, KeptThings(connection, household, "share"))
    faults = Faults()
    with faults.at():
        food = foods.food(asked.food)
    for name in DAYS:
        with faults.at(name):
            see_not_to_come(getattr(asked, name), today())
    with faults.at("printed_date"):
        _see_believable(asked.printed_date)
    if before is not None:
        for name, given in (("portions", asked.portions), ("place", asked.place), ("food", asked.food)):
            if given != before[name]:
                faults.found.append(
                    BadInput(
                        pointer=f"/{name}",
                        value=given,
                        problem=message("fault.stock-changed-by-events", there=str(before[name])),
                    )
                )
    elif asked.portions % QUARTER:
        faults.found.append(
            BadInput(
                pointer="/portions", value=asked.portions, problem=message("fault.multiple-of", multiple_of=QUARTER)
            )
        )
    faults.raise_all()
    portion_mg = food.units[0].grams_mg if asked.portion_grams is None else mg_of(asked.portion_grams)
    amount_mg = amount_of(asked.portions, portion_mg) if before is None else mg_of(before["grams"])
    return Looked(
        {
            "portion_grams": grams_of(portion_mg),
            "portions": portions_of(amount_mg, portion_mg),
            "grams": grams_of(amount_mg),
            "plan": None if before is None else before.get("plan"),
            "plan_line": None if before is None else before.get("plan_line"),
        }
    )


def see_not_to_come(day: date | None, here: date) -> None:
    """``BadInput`` for a day that is not yet there anywhere."""
    if day is not None and day > here + timedelta(days=1):
        raise BadInput(value=day.isoformat(), problem=message("fault.day-to-come"))


def _see_believable(day: date | None) -> None:
    if day is not None and day > today() + LONGEST_AHEAD:
        raise BadInput(value=day.isoformat(), problem=message("fault.printed-too-far"))


def entry_of(body: Body) -> KeptStockEntry:
    """The entry that a body holds."""
    return KeptStockEntry.model_validate(body, strict=False)


def start_of(entry: StockEntry) -> date:
    """The day it was made or bought."""
    start = entry.made_on or entry.bought_on
    assert start is not None  # noqa: S101 - the model takes no entry without one
    return start


def lot_of(record: Record, foods: KnownFoods) -> Lot:
    """An entry as the engine takes it."""
    entry = entry_of(record.body)
    kept = _use_by(entry, foods)
    return Lot(
        str(record.id),
        entry.food,
        entry.place,
        mg_of(entry.grams),
        max(1, mg_of(entry.portion_grams or 0)),
        start_of(entry),
        kept.day,
    )


def _use_by(entry: KeptStockEntry, foods: KnownFoods) -> Any:
    return foods.use_by(
        entry.food,
        entry.place,
        start_of(entry),
        entry.frozen_on,
        entry.thawed_on,
        entry.opened_on,
        entry.printed_date,
        prepared=entry.made_on is not None,
    )


def days_before_freezing(record: Record) -> int:
    """How many days an entry was kept, or open, before it was frozen; 0 for one that is not in the freezer."""
    entry = entry_of(record.body)
    if entry.place != FREEZER or entry.frozen_on is None:
        return 0
    return max(0, (entry.frozen_on - (entry.opened_on or start_of(entry))).days)


def thawed_until(record: Record, foods: KnownFoods, evening: date) -> date | None:
    """The last day of an entry in the freezer if it is moved to the fridge on an evening; None: no figure is known."""
    entry = entry_of(record.body)
    moved = {"place": FRIDGE, "thawed_on": max(evening, entry.frozen_on or evening)}
    day: date | None = _use_by(entry.model_copy(update=moved), foods).day
    return day


def beside_entry(body: Body, foods: KnownFoods, on: date) -> Body:
    """What is shown with an entry: the name of its food, until when it keeps, by which rule, and the days that are left."""
    entry = entry_of(body)
    kept = _use_by(entry, foods)
    return {
        "name": foods.name(entry.food),
        "use_by": None if kept.day is None else kept.day.isoformat(),
        **worded_as("use_by_rule", kept.rule),
        "quality_only": kept.quality,
        "days_left": None if kept.day is None else (kept.day - on).days,
    }


def whole_entry(entry: Record, foods: KnownFoods, on: date) -> Body:
    """An entry as it is shown, with what stands beside it and its version."""
    return shown(entry) | beside_entry(entry.body, foods, on) | {"version": entry.version}


def stored_entry(connection: Connection, household: UUID, entry_id: str) -> Record:
    """The entry of an id; ``NotThere`` for one that is not here."""
    if not is_kept_id(entry_id):
        raise not_there(STOCK, entry_id)
    return get(connection, STOCK, household, UUID(entry_id))


def _beside(connection: Connection, household: UUID, body: Body) -> Body:
    return beside_entry(body, KnownFoods(connection, household), today())


SHOWN_WITH_ENTRY = Beside(BESIDE, _beside)
