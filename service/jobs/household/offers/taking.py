"""A child makes up its lunch from what is set out: what it may take, what is still to take, and the lunch that it took.

Nothing is judged here for the child to see: what it must not have is not there, and what does not fit the family's rule
cannot be taken. What is logged is checked and screened like any other lunch.
"""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any, NamedTuple
from uuid import UUID

from service.domain.errors import BadInput, NotThere
from service.domain.messages import Message, message
from service.domain.offers.branches import branches
from service.domain.offers.offer import Offer, without
from service.domain.offers.taking import Key, Standing, after_tap, standing
from service.jobs.foods.by_id import food_by_id
from service.jobs.household.stock.portions_left import is_enough, left_of
from service.jobs.household.stored.kept_things import KeptThings
from service.jobs.household.stored.resolving import Resolving
from service.jobs.offers.requests import OfferAuditWithIds, item_key
from service.jobs.requests.fields import is_kept_id
from service.reference.lunch.handling import handling_rules
from service.reference.messages import worded, worded_as
from service.store.household.kinds import CHILD, OFFER
from service.store.household.records import Connection

MOST_TAKEN_AT_ONCE = 60


class Choice(NamedTuple):
    """What a child can choose from on a day, made ready: the offer as it is left for it, and how far it is."""

    nickname: str
    offered: dict[Key, dict[str, Any]]
    """Each item as the offer holds it, in the form that this child needs: what a logged lunch has of it."""
    now: Standing
    groups: list[dict[str, Any]]


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

    ``tapped``: the item of a tap that is carried out first. Raises ``NotThere`` for an id that this household does not keep, and what an audit of the offer raises.
    """
    made = _choice(connection, household, child_id, offer_id, on, taken, tapped)
    still = [_still(one) for one in made.now.still if one.at_least]
    return {
        "child": child_id,
        "nickname": made.nickname,
        "date": on.isoformat(),
        "offer": offer_id,
        "taken": [list(key) for key in made.now.taken],
        "groups": made.groups,
        "whole": made.now.whole,
        "still": [worded(one) for one in still],
        "nothing_to_take": not any(group["items"] for group in made.groups),
    }


def items_taken(
    connection: Connection, household: UUID, child_id: str, offer_id: str, on: date, taken: Sequence[Key]
) -> list[dict[str, Any]]:
    """The items of a lunch that a child took, as a logged lunch holds them, cut as this child needs.

    Raises ``BadInput`` where they are not a lunch that the offer allows this child.
    """
    made = _choice(connection, household, child_id, offer_id, on, taken)
    if not made.now.whole or len(made.now.taken) != len(taken):
        raise BadInput(
            pointer="/taken",
            value=len(taken),
            problem=message("fault.not-a-lunch-of-offer"),
        )
    together: dict[Key, int] = {}
    for key in made.now.taken:
        together[key] = together.get(key, 0) + 1
    items = []
    for key, times in together.items():
        item = made.offered[key]
        items.append({**item, "quantity": item["quantity"] * times})
    return items


def items_offered(
    connection: Connection, household: UUID, child_id: str, offer_id: str, on: date
) -> tuple[list[dict[str, Any]], dict[Key, dict[str, Any]]]:
    """The groups of what a child may take from an offer on a day, and every item of the offer as a logged lunch holds it."""
    made = _choice(connection, household, child_id, offer_id, on, [])
    return made.groups, made.offered


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


def _choice(
    connection: Connection,
    household: UUID,
    child_id: str,
    offer_id: str,
    on: date,
    taken: Sequence[Key],
    tapped: Key | None = None,
) -> Choice:
    from service.jobs.offers.resolve import resolve_audit  # with its arrays: slow to load, and few pages need it

    kept = KeptThings(connection, household)
    body = kept.body(OFFER, offer_id, "/offer")
    resolving = Resolving(kept)
    resolving.or_fault(lambda: kept.body(CHILD, child_id, "/child"))
    audit = resolving.audit(OfferAuditWithIds(on=on, offer=offer_id, children=[child_id], swap_foods=[]))
    resolving.raise_faults()
    (one,) = resolve_audit(audit).children
    foods = {
        (group["id"], item_key(item["key"], whole.food)): item["food"]
        for group, resolved in zip(body["groups"], audit.offer.groups, strict=True)
        for item, whole in zip(group["items"], resolved.items, strict=True)
    }
    left = left_of(connection, household, {food for food in foods.values() if isinstance(food, str)}, on)
    offer, gone = _still_there(
        one.offer,
        {key for key, food in foods.items() if food in left and not is_enough(left[food], one.items[key].amount_mg)},
    )
    laid_out = branches(offer)
    taken = taken[:MOST_TAKEN_AT_ONCE]
    if tapped is not None:
        taken = after_tap(offer, laid_out, taken, tapped)[:MOST_TAKEN_AT_ONCE]
    now = standing(offer, laid_out, taken)
    offered: dict[Key, dict[str, Any]] = {}
    for sent_group, whole in zip(body["groups"], audit.offer.groups, strict=True):
        for sent, resolved in zip(sent_group["items"], whole.items, strict=True):
            key = (sent_group["id"], item_key(sent["key"], resolved.food))
            fields = {name: sent[name] for name in ("food", "quantity", "unit", "form", "credit_as", "held")}
            # The amount is the child's own; the unit stays as the offer has it.
            offered[key] = {
                **fields,
                "quantity": one.items[key].quantity,
                "form": one.recut.get(key, sent["form"]),
            }
    groups = []
    for group in one.offer.groups:
        rows = []
        for item in group.items:
            key = (group.id, item)
            prepared = one.items[key]
            usual = prepared.food.handling.forms[:1]
            form = prepared.form or (usual[0] if usual else None)
            told = key in one.recut or form not in usual
            rows.append(
                {
                    "item": item,
                    "name": prepared.food.name,
                    "category": prepared.food.category,
                    "quantity": prepared.quantity,
                    "unit": prepared.unit,
                    "cut": "" if form is None or not told else handling_rules().in_words(form),
                    "taken": now.taken.count(key),
                    "can_take": key in now.next,
                    "gone": key in gone,
                    **worded_as("why_not", None if key in now.next else _why_not(now, key, gone)),
                }
            )
        take = group.take
        groups.append({"id": group.id, "at_least": take.at_least, "at_most": take.at_most, "items": rows})
    return Choice(one.child.nickname or "", offered, now, groups)


def _still_there(offer: Offer, gone: set[Key]) -> tuple[Offer, set[Key]]:
    """The offer without what is not there any more, and what that is.

    Nothing goes where no lunch could be made without it: then the stock was not counted, and a child would have nothing.
    """
    by_group: dict[str, set[str]] = {}
    for group, item in gone:
        by_group.setdefault(group, set()).add(item)
    less = without(offer, {group: frozenset(items) for group, items in by_group.items()})
    return (less, gone) if branches(less) else (offer, set())


def _why_not(now: Standing, key: Key, gone: set[Key]) -> Message | None:
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
