"""Labels for what a stored plan makes, and for what was made before and stands in the stock."""

from collections.abc import Mapping, Sequence
from datetime import date
from math import ceil
from typing import Any, NamedTuple
from uuid import UUID

from service.domain.stock.keeping import FREEZER
from service.jobs.foods.resolve import food_of
from service.jobs.household.from_plan.planned import StoredPlan, food_sent
from service.jobs.household.from_plan.prep import PLACES, line_of
from service.jobs.household.stock.entries import entry_of, lot_of, today
from service.jobs.household.stock.happened import entries_here
from service.jobs.household.stock.known_foods import KnownFoods
from service.jobs.household.stored.stored_ids import with_ids_resolved
from service.jobs.plan.labels.requests import LabelSheetRequest, LabelSheetWithIds
from service.jobs.plan.weeks.keeping import dish_keeping
from service.store.household.records import Connection, Record


class ToLabel(NamedTuple):
    """Something that can have labels. ``id``: tells it apart on the form; ``stock``: it stands in the stock already."""

    id: str
    name: str
    place: str
    portions: float
    made: date
    use_by: date | None
    stock: bool
    body: dict[str, Any]


def what_to_label(connection: Connection, household: UUID, plan: StoredPlan) -> list[ToLabel]:
    """The batches of a plan that are not in the stock yet, by place; then what was made, is in the stock, and is not over."""
    foods = KnownFoods(connection, household)
    here = [one for one in entries_here(connection, household) if one.body["made_on"] is not None]
    ticked = {one.body.get("plan_line") for one in here if one.body.get("plan") == plan.id}
    found = [
        one
        for batch in plan.reply()["batches"]
        if line_of(batch) not in ticked
        for one in _of_batch(plan, batch, foods)
    ]
    return found + [
        one for each in here if (one := _of_entry(each, plan, foods)).use_by is None or one.use_by >= today()
    ]


def labels_asked(
    connection: Connection,
    household: UUID,
    plan: StoredPlan,
    wanted: Sequence[tuple[ToLabel, int]],
    sheet: str,
    start: int,
    address: str,
) -> LabelSheetRequest:
    """What is asked of the sheet: of each thing so many labels. ``address``: where the pages are, for the code on a label."""
    body = {
        **plan.kitchen(),
        "sheet": sheet,
        "start": start,
        "address": address,
        "labels": [{**one.body, "copies": copies} for one, copies in wanted],
    }
    return with_ids_resolved(connection, household, LabelSheetWithIds.model_validate(body, strict=False))


def _of_batch(plan: StoredPlan, batch: Mapping[str, Any], foods: KnownFoods) -> list[ToLabel]:
    item = plan.foods()[batch["food"]]
    dish = next(one for one in plan.asked.dishes if one.food == batch["food"])
    thaw_hours = dish_keeping(dish, food_of(item.food), foods.rules).thaw_hours
    made = date.fromisoformat(batch["made_on"])
    found = []
    for place in PLACES:
        portions = batch[f"to_{place}"]
        if portions:
            use_by = _kept_until(batch, place)
            body = {
                "food": food_sent(plan, batch["food"]),
                "quantity": item.quantity,
                "unit": item.unit,
                "made": made,
                "use_by": use_by,
                "thaw_hours": ceil(thaw_hours) if place == FREEZER else None,
            }
            found.append(
                ToLabel(f"{line_of(batch)}:{place}", batch["name"], place, portions, made, use_by, False, body)
            )
    return found


def _of_entry(record: Record, plan: StoredPlan, foods: KnownFoods) -> ToLabel:
    entry, lot = entry_of(record.body), lot_of(record, foods)
    made, use_by = lot.made_on, lot.use_by
    if entry.plan == plan.id and entry.thawed_on is None:
        batch = next((one for one in plan.reply()["batches"] if line_of(one) == entry.plan_line), None)
        planned = None if batch is None else _kept_until(batch, entry.place)
        use_by = min((day for day in (use_by, planned) if day is not None), default=None)
    body: dict[str, Any] = {
        "food": entry.food,
        "quantity": entry.portion_grams or 1.0,
        "unit": "g",
        "made": made,
        "use_by": use_by,
        "stock_id": str(record.id),
    }
    if entry.place == FREEZER:
        body["thaw_hours"] = ceil(foods.thaw_hours(entry.food))
    return ToLabel(str(record.id), foods.name(entry.food), entry.place, entry.portions, made, use_by, True, body)


def _kept_until(batch: Mapping[str, Any], place: str) -> date | None:
    """Until when a batch keeps in a place, as the plan says it."""
    days = [date.fromisoformat(one["use_by"]) for one in batch["keeps"] if one["place"] == place and one["use_by"]]
    return days[0] if days else None
