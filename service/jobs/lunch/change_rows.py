"""How a change is published: its numbers as fields, and what it says as a message."""

from typing import Any

from service.domain.lunch.changing.changes import Change
from service.domain.messages import Message
from service.reference.messages import worded


def change_row(change: Change[Any], said: Message) -> dict[str, Any]:
    """The part of a change row that a lunch, a week and an offer share."""
    into, out = change.into, change.out
    food = into.food if into is not None else out if change.kind == "portion" else None
    return {
        "kind": change.kind,
        **worded(said),
        "instead_of": None if out is None else out.id,
        "instead_of_name": None if out is None else out.name,
        "food": None if food is None else food.id,
        "name": None if food is None else food.name,
        "quantity": None if into is None else into.quantity,
        "unit": None if into is None else into.unit,
        "grams": None if into is None else into.amount_mg / 1000,
        "form": change.form or (None if into is None else into.form),
    }
