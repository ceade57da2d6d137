"""What a plan's sheets bring into the stock: a line that was bought, a batch that was made. Each once, and taken back.

A *line* tells apart what of a plan it is. Whoever ticks a line that is ticked already, on the same device or another one,
changes nothing.
"""

from collections.abc import Sequence
from typing import NamedTuple
from uuid import UUID

from service.jobs.household.records import Body
from service.jobs.household.stock.amounts import grams_of, mg_of, portions_of
from service.jobs.household.stock.entries import look_over_entry, today
from service.jobs.household.stock.happened import changed_by, first_event, keep_event
from service.jobs.household.stock.requests import StockEntry
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

    ``NotThere`` for a plan that is not here; ``LunchError`` for what cannot be put in.
    """
    _hold_plan(connection, household, plan_id)
    there = brought_in(connection, household, plan_id).get(line)
    return there or [_create(connection, household, plan_id, line, one) for one in entries]


def take_back(connection: Connection, household: UUID, plan_id: str, line: str) -> None:
    """Take a line out of the stock again, as much of it as is left; nothing where it is not ticked."""
    _hold_plan(connection, household, plan_id)
    ids = [one.id for one in brought_in(connection, household, plan_id).get(line, [])]
    for entry in hold_entries(connection, household, [], ids):
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
    made = create(connection, STOCK, household, body, {"food": entry.food})
    first_event(connection, household, made)
    return made
