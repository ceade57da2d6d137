"""A child makes up its lunch from what is set out: what it may take, what is still to take, and the lunch that it took.

Nothing is judged here for the child to see: what it must not have is not there, and what does not fit the family's rule
cannot be taken. What is logged is checked and screened like any other lunch.
"""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any
from uuid import UUID

from service.domain.errors import BadInput, NotThere
from service.domain.messages import Message, message
from service.domain.offers.taking import Key, Standing, after_tap, standing
from service.jobs.foods.by_id import food_by_id
from service.jobs.household.offers.set_out_for import SetOut, set_out_for
from service.jobs.household.stored.kept_things import KeptThings
from service.jobs.requests.fields import is_kept_id
from service.reference.messages import worded, worded_as
from service.store.household.records import Connection

MOST_TAKEN_AT_ONCE = 60


def choice_of(
    connection: Connection,
    household: UUID,
    child_id: str,
    offer_id: str,
    on: date,
    taken: Sequence[Key],
    tapped: Key | None = None,
) -> dict[str, Any]:
    """What a child may take from a stored offer on a day, with some items taken already.

    ``tapped``: the item of a tap that is carried out first. ``no_lunch``: whether no lunch can be made up of what the child may
    have. Raises ``NotThere`` for an id that this household does not keep, and what an audit of the offer raises.
    """
    made = set_out_for(connection, household, child_id, offer_id, on)
    taken = taken[:MOST_TAKEN_AT_ONCE]
    if tapped is not None:
        before = made.beside(taken)
        taken = after_tap(before.offer, before.laid_out, taken, tapped)[:MOST_TAKEN_AT_ONCE]
    there = made.beside(taken)
    now = standing(there.offer, there.laid_out, taken)
    still = [_still(one) for one in now.still if one.at_least]
    return {
        "child": child_id,
        "nickname": made.nickname,
        "date": on.isoformat(),
        "offer": offer_id,
        "taken": [list(key) for key in now.taken],
        "groups": _groups(made, now, there.gone),
        "whole": now.whole,
        "still": [worded(one) for one in still],
        "no_lunch": not made.at_first.laid_out,
    }


def items_taken(
    connection: Connection, household: UUID, child_id: str, offer_id: str, on: date, taken: Sequence[Key]
) -> list[dict[str, Any]]:
    """The items of a lunch that a child took, as a logged lunch holds them, cut as this child needs.

    Raises ``BadInput`` where they are not a lunch that the offer allows this child.
    """
    made = set_out_for(connection, household, child_id, offer_id, on)
    first = taken[:MOST_TAKEN_AT_ONCE]
    there = made.beside(first)
    now = standing(there.offer, there.laid_out, first)
    if not now.whole or len(now.taken) != len(taken):
        raise BadInput(
            pointer="/taken",
            value=len(taken),
            problem=message("fault.not-a-lunch-of-offer"),
        )
    together: dict[Key, int] = {}
    for key in now.taken:
        together[key] = together.get(key, 0) + 1
    items = []
    for key, times in together.items():
        item = made.offered[key]
        items.append({**item, "quantity": item["quantity"] * times})
    return items


def items_offered(
    connection: Connection, household: UUID, child_id: str, offer_id: str, on: date
) -> tuple[list[dict[str, Any]], Mapping[Key, dict[str, Any]]]:
    """The groups of what a child may take from an offer on a day, and every item of the offer as a logged lunch holds it."""
    made = set_out_for(connection, household, child_id, offer_id, on)
    there = made.at_first
    return _groups(made, standing(there.offer, there.laid_out, []), there.gone), made.offered


def names_of(connection: Connection, household: UUID, items: Sequence[Mapping[str, Any]]) -> list[tuple[str, str]]:
    """The name and the category of the food of each item of a stored lunch; a food that is gone has its id as its name."""
    kept = KeptThings(connection, household)
    return [_name_of(kept, item["food"]) for item in items]


def _name_of(kept: KeptThings, food: Any) -> tuple[str, str]:
    if not isinstance(food, str):
        return str(food["name"]), ""
    if is_kept_id(food):
        try:
            return kept.food(food, "/food").name, ""
        except NotThere:
            return food, ""
    found = food_by_id(food)
    return found.name, found.category


def _groups(set_out: SetOut, now: Standing, gone: frozenset[Key]) -> list[dict[str, Any]]:
    """The groups with each item as it stands now: how often it is taken, and whether it can be, or why not."""
    return [
        {**group, "items": [{**row, **_stands((group["id"], row["item"]), now, gone)} for row in group["items"]]}
        for group in set_out.groups
    ]


def _stands(key: Key, now: Standing, gone: frozenset[Key]) -> dict[str, Any]:
    why_not = None if key in now.next else _why_not(now, key, gone)
    return {
        "taken": now.taken.count(key),
        "can_take": key in now.next,
        "gone": key in gone,
        **worded_as("why_not", why_not),
    }


def _why_not(now: Standing, key: Key, gone: frozenset[Key]) -> Message | None:
    """Why an item cannot be taken now; nothing is said of one that is taken."""
    if key in now.taken:
        return None
    if key in gone:
        return message("taking.none-left")
    if now.why_not[key] == "enough":
        return message("taking.enough", group=key[0])
    if now.why_not[key] == "other_group":
        return message("taking.other-group")
    return message("taking.rule")


def _still(one: Any) -> Message:
    first, *others = one.groups
    if others:
        return message("taking.still-either", n=one.at_least, group=first, others=others)
    return message("taking.still", n=one.at_least, group=first)
