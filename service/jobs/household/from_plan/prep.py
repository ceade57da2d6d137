"""The prep days of a stored plan: what is made on each, with what was made of it already."""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any
from uuid import UUID

from service.domain.errors import NotThere
from service.domain.messages import message
from service.jobs.foods.resolve import amount_of
from service.jobs.household.from_plan.planned import StoredPlan, can_be_stock, food_sent
from service.jobs.household.stock.amounts import grams_of
from service.jobs.household.stock.entries import today
from service.jobs.household.stock.for_plans import ToBring, bring_in
from service.jobs.household.stock.known_foods import KnownFoods
from service.jobs.household.stock.requests import StockEntry, UsedIngredient
from service.jobs.household.stored.stored_ids import with_ids_resolved
from service.jobs.plan.prep.prep_sheet import prep_sheet
from service.jobs.plan.prep.requests import Place, PrepSheetRequest, PrepSheetWithIds
from service.store.household.records import Connection, Record
from service.store.household.stock import events_of_entries

Reply = dict[str, Any]
PLACES: tuple[Place, ...] = ("freezer", "fridge")


def prep_days(plan: StoredPlan) -> list[date]:
    """The days on which something is made, in order."""
    return sorted({date.fromisoformat(one["made_on"]) for one in plan.reply()["batches"]})


def prep_asked(connection: Connection, household: UUID, plan: StoredPlan, on: date) -> PrepSheetRequest:
    """What is asked of the sheet of a day; ``NotThere`` for a day on which nothing is made."""
    foods = plan.foods()
    batches = []
    for one in batches_on(plan, on):
        item = foods[one["food"]]
        goes = [{"place": place, "portions": one[f"to_{place}"]} for place in PLACES if one[f"to_{place}"]]
        sent = food_sent(plan, one["food"])
        batches.append(
            {"food": sent, "quantity": item.quantity, "unit": item.unit, "portions": one["portions"], "goes": goes}
        )
    asked = PrepSheetWithIds.model_validate({**plan.kitchen(), "on": on, "batches": batches}, strict=False)
    return with_ids_resolved(connection, household, asked)


def batches_on(plan: StoredPlan, on: date) -> list[Reply]:
    """The batches of a day as the plan has them; ``NotThere`` for a day on which nothing is made."""
    found = [one for one in plan.reply()["batches"] if one["made_on"] == on.isoformat()]
    if not found:
        raise NotThere(pointer="/day", value=on.isoformat(), problem=message("fault.not-here", noun="prep day"))
    return found


def sheet_of_day(
    plan: StoredPlan,
    asked: PrepSheetRequest,
    ticked: Mapping[str, list[Record]],
    used: Mapping[str, Sequence[Reply]],
) -> Reply:
    """The sheet, as ``prep_sheet`` replies it; each batch with more.

    ``line``: what tells it apart within the plan; ``minutes``; ``can_be_stock``; ``made``: whether it was made; ``used``: what
    it took from the stock then (``used_for_lines``).
    """
    reply = prep_sheet(asked)
    for planned, batch in zip(batches_on(plan, asked.on), reply["batches"], strict=True):
        batch["line"] = line_of(planned)
        batch["minutes"] = planned["minutes"]
        batch["can_be_stock"] = can_be_stock(planned["food"])
        batch["made"] = batch["line"] in ticked
        batch["used"] = used.get(str(batch["line"]), [])
    return reply


def used_for_lines(
    connection: Connection, household: UUID, ticked: Mapping[str, list[Record]]
) -> dict[str, list[Reply]]:
    """What each batch that was made took from the stock, whatever of the batch is left: ``food``, ``name``, ``taken_grams``, ``short_grams``."""
    names = KnownFoods(connection, household)
    line_of_entry = {str(one.id): line for line, entries in ticked.items() for one in entries}
    found: dict[str, dict[str, UsedIngredient]] = {}
    for event in events_of_entries(connection, household, [UUID(one) for one in line_of_entry]):
        of_line = found.setdefault(line_of_entry[event.body["stock"]], {})
        for one in event.body.get("ingredients", []):
            more, there = UsedIngredient.model_validate(one), of_line.get(one["food"])
            of_line[more.food] = more if there is None else there + more
    return {
        line: [{**one.model_dump(), "name": names.name(one.food)} for one in foods.values()]
        for line, foods in found.items()
    }


def line_of(batch: Mapping[str, Any]) -> str:
    """What tells a batch apart within its plan."""
    return f"make:{batch['made_on']}:{batch['food']}"


def keep_made(
    connection: Connection, household: UUID, plan: StoredPlan, batch: Mapping[str, Any], note: str = ""
) -> None:
    """Put the portions of a batch in the stock where they go, once; ``LunchError`` or ``ValidationError`` where they cannot be.

    It was made on its day, or today where that is earlier.
    """
    item = plan.foods()[batch["food"]]
    food = KnownFoods(connection, household).food(batch["food"])
    portion_mg, _unit = amount_of(food, item.quantity, item.unit)
    entries = [
        ToBring(
            StockEntry(
                food=batch["food"],
                place=place,
                portions=batch[f"to_{place}"],
                portion_grams=grams_of(portion_mg),
                made_on=min(date.fromisoformat(batch["made_on"]), today()),
                note=note,
            )
        )
        for place in PLACES
        if batch[f"to_{place}"]
    ]
    bring_in(connection, household, plan.id, line_of(batch), entries)
