"""The events of the stock: how much there is of an entry is at any time their sum, so each change is kept with one."""

from collections.abc import Sequence
from datetime import date
from uuid import UUID

from service.domain.errors import BadInput
from service.domain.messages import message
from service.jobs.household.records import Body
from service.jobs.household.stock.amounts import grams_of, mg_of, portions_of
from service.jobs.household.stock.entries import entry_of, start_of
from service.jobs.household.stock.requests import KeptStockEvent, UsedIngredient
from service.store.household.kinds import STOCK, STOCK_EVENT
from service.store.household.records import Connection, Record, create, replace


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
    ingredients: Sequence[UsedIngredient] = (),
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
        ingredients=list(ingredients),
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
        raise more_than_there(entry, "")
    body = {**entry.body, **(changes or {}), "grams": grams_of(there), "portions": portions_of(there, portion_mg)}
    return replace(connection, STOCK, household, entry.id, entry.version, body, {"food": body["food"]})


def first_event(
    connection: Connection, household: UUID, entry: Record, ingredients: Sequence[UsedIngredient] = ()
) -> None:
    """The event with which an entry begins; ``ingredients``: what it is made of that came from the stock."""
    start = start_of(entry_of(entry.body))
    keep_event(connection, household, entry, "made", mg_of(entry.body["grams"]), start, ingredients=ingredients)


def more_than_there(entry: Record, value: object) -> BadInput:
    """What to say where more is to be taken away than there is."""
    return BadInput(
        pointer="/portions", value=value, problem=message("fault.more-than-there", there=entry.body["portions"])
    )
