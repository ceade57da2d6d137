"""Labels for what a stored plan makes, and for what was made before and stands in the stock."""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any, NamedTuple
from uuid import UUID

from service.jobs.household.from_plan.planned import StoredPlan, can_be_stock, food_sent
from service.jobs.household.from_plan.prep import PLACES, line_of
from service.jobs.household.stock.entries import entry_of, lot_of, today
from service.jobs.household.stock.happened import entries_here
from service.jobs.household.stock.known_foods import KnownFoods
from service.jobs.household.stored.stored_ids import with_ids_resolved
from service.jobs.plan.labels.requests import LabelSheetRequest, LabelSheetWithIds
from service.jobs.plan.weeks.resolve import dish_made
from service.store.records import Connection, Record


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
    made = date.fromisoformat(batch["made_on"])
    found = []
    for place in PLACES:
        portions = batch[f"to_{place}"]
        if portions:
            use_by = _keeps(plan, batch["food"], place, made)
            if can_be_stock(batch["food"]):
                known = foods.use_by(batch["food"], place, made, None, None, None, None, prepared=True).day
                use_by = _earlier(use_by, known)
            body = {
                "food": food_sent(plan, batch["food"]),
                "quantity": item.quantity,
                "unit": item.unit,
                "made": made,
                "use_by": use_by,
            }
            found.append(
                ToLabel(f"{line_of(batch)}:{place}", batch["name"], place, portions, made, use_by, False, body)
            )
    return found


def _of_entry(record: Record, plan: StoredPlan, foods: KnownFoods) -> ToLabel:
    entry, lot = entry_of(record.body), lot_of(record, foods)
    made, use_by = lot.made_on, lot.use_by
    if entry.plan == plan.id and entry.thawed_on is None:
        use_by = _earlier(use_by, _keeps(plan, entry.food, entry.place, made))
    body: dict[str, Any] = {
        "food": entry.food,
        "quantity": entry.portion_grams or 1.0,
        "unit": "g",
        "made": made,
        "use_by": use_by,
        "stock_id": str(record.id),
    }
    if entry.place == "freezer":
        body["thaw_hours"] = round(foods.thaw_hours(entry.food))
    return ToLabel(str(record.id), foods.name(entry.food), entry.place, entry.portions, made, use_by, True, body)


def _keeps(plan: StoredPlan, food: str, place: str, made: date) -> date | None:
    """Until when a dish may be eaten, as the plan says it."""
    found = next((one for one in plan.asked.dishes if one.food == food), None)
    return None if found is None else dish_made(found).keeps(place, made)


def _earlier(one: date | None, other: date | None) -> date | None:
    """Of two days the earlier; what is not known counts for nothing."""
    return min((day for day in (one, other) if day is not None), default=None)
