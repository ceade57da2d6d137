"""What a plan's sheets bring into the stock: a line that was bought, a batch that was made. Each once, and taken back.

A *line* tells apart what of a plan it is. Whoever ticks a line that is ticked already, on the same device or another one,
changes nothing.
"""

from collections.abc import Sequence
from typing import NamedTuple
from uuid import UUID

from service.jobs.household.records import Body
from service.jobs.household.stock.amounts import grams_of, mg_of, portions_of
from service.jobs.household.stock.entries import entry_of, look_over_entry, start_of, today
from service.jobs.household.stock.events import changed_by, first_event, keep_event
from service.jobs.household.stock.for_dishes import entries_used, foods_in, give_back_for, kept_of, use_for
from service.jobs.household.stock.known_foods import KnownFoods
from service.jobs.household.stock.requests import StockEntry, UsedIngredient
from service.jobs.requests.fields import is_kept_id
from service.store.household.kinds import PLAN, STOCK
from service.store.household.records import Connection, Record, create, get, not_there
from service.store.household.stock import entries_of, hold_entries


class ToBring(NamedTuple):
    """An entry to make; ``amount_mg``: exactly how much there is of it, None: as many whole portions as it says."""

    entry: StockEntry
    amount_mg: int | None = None


def brought_in(connection: Connection, household: UUID, plan_id: str) -> dict[str, list[Record]]:
    """The entries of each line of a plan that was ticked and not taken back."""
    found: dict[str, list[Record]] = {}
    for one in entries_of(connection, household):
        if one.body.get("plan") == plan_id and one.body.get("plan_line"):
            found.setdefault(one.body["plan_line"], []).append(one)
    return found


def bring_in(
    connection: Connection, household: UUID, plan_id: str, line: str, entries: Sequence[ToBring]
) -> list[Record]:
    """Put what a line stands for in the stock; nothing more where it was ticked before. The entries of the line.

    A dish that was made takes what it is made of from the stock. ``NotThere`` for a plan that is not here; ``LunchError`` for what cannot be put in.
    """
    _hold_plan(connection, household, plan_id)
    there = brought_in(connection, household, plan_id).get(line)
    if there:
        return there
    foods = KnownFoods(connection, household)
    dishes = {one.entry.food for one in entries if one.entry.made_on is not None}
    needed = {food for dish in dishes for food in foods_in(dish, foods)}
    held = {one.id: one for one in hold_entries(connection, household, needed)} if needed else {}
    made = [_create(connection, household, plan_id, line, one) for one in entries]
    for one in made:
        ingredients: list[UsedIngredient] = []
        if one.body["made_on"] is not None:
            amount, day = mg_of(one.body["grams"]), start_of(entry_of(one.body))
            ingredients = kept_of(use_for(connection, household, one, amount, held, foods, day))
        first_event(connection, household, one, ingredients)
    return made


def take_back(connection: Connection, household: UUID, plan_id: str, line: str) -> None:
    """Take a line out of the stock again, as much of it as is left, and put back what that was made of; nothing where it is not ticked."""
    _hold_plan(connection, household, plan_id)
    ids = [one.id for one in brought_in(connection, household, plan_id).get(line, [])]
    held = {
        one.id: one
        for one in hold_entries(connection, household, [], {*ids, *entries_used(connection, household, ids)})
    }
    made = [held.pop(one) for one in ids if one in held]
    give_back_for(connection, household, made, held)
    for entry in made:
        left = mg_of(entry.body["grams"])
        after = changed_by(connection, household, entry, -left, {"plan_line": None})
        keep_event(connection, household, after, "undone", -left, today())


def _hold_plan(connection: Connection, household: UUID, plan_id: str) -> None:
    """One device after the other; ``NotThere`` for a plan that is not here."""
    if not is_kept_id(plan_id):
        raise not_there(PLAN, plan_id)
    get(connection, PLAN, household, UUID(plan_id), "alone")


def _create(connection: Connection, household: UUID, plan_id: str, line: str, asked: ToBring) -> Record:
    entry = asked.entry
    looked = look_over_entry(connection, household, entry, None).computed
    body: Body = {**entry.model_dump(mode="json"), **looked, "plan": plan_id, "plan_line": line}
    if asked.amount_mg is not None:
        portions = portions_of(asked.amount_mg, mg_of(body["portion_grams"]))
        body |= {"grams": grams_of(asked.amount_mg), "portions": portions}
    return create(connection, STOCK, household, body, {"food": entry.food})
