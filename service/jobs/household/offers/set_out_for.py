"""What is set out for one child on a day, made ready once and remembered until anything stored that it follows from changes."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any, NamedTuple
from uuid import UUID

from service.domain.offers.branches import Branch, branches
from service.domain.offers.most_taken import most_times
from service.domain.offers.offer import Offer, without
from service.domain.offers.taking import Key
from service.jobs.household.remembered import Remembered
from service.jobs.household.stock.portions_left import counted_since, is_enough, left_of, portions_in
from service.jobs.household.stored.kept_things import KeptThings
from service.jobs.household.stored.resolving import Resolving
from service.jobs.offers.requests import OfferAuditWithIds, item_key
from service.store.household.changes import mark_of
from service.store.household.kinds import CHILD, FOOD, OFFER, PACKET, RECIPE, STOCK
from service.store.household.records import Connection

if TYPE_CHECKING:
    from service.jobs.offers.layout import ChildOffer

FOLLOWS_FROM = (CHILD, FOOD, PACKET, RECIPE, OFFER, STOCK)
"""The kinds of record that are read here, beside what the household says of itself: what is remembered goes by their mark.

The data files are not among them: a process reads them once.
"""
MOST_REMEMBERED = 64
"""Children of as many households as are taking at one time."""


@dataclass(frozen=True)
class SetOut:
    """An offer as it is left for one child on a day; shared by whoever asks, so nobody may change it.

    ``offered``: each item as the offer holds it, in the amount and form for this child: what a logged lunch has of it.
    ``whole``: the offer with all that the child may have. ``counted``: each item whose food is counted in the stock; ``left``: milligrams of each such food. ``at_first``: what is there before anything is taken.
    ``groups``: id, numbers to take, and a row for each item that the child may have.
    """

    nickname: str
    offered: Mapping[Key, dict[str, Any]]
    whole: Offer
    counted: Mapping[Key, "Counted"]
    left: Mapping[str, int]
    at_first: "StillThere"
    groups: Sequence[dict[str, Any]]

    def beside(self, taken: Sequence[Key]) -> "StillThere":
        """What is there beside what is taken: the same food may be gone from another group."""
        enough_for = _enough_for(self.counted, self.left, taken)
        return self.at_first if enough_for == self.at_first.enough_for else _still_there(self.whole, enough_for)


class Counted(NamedTuple):
    """An item whose food is counted: the food, milligrams of a portion, and how often a lunch may hold it."""

    food: str
    amount_mg: int
    most: int


@dataclass(frozen=True)
class StillThere:
    """The offer without what is not there any more.

    ``laid_out``: its branches, without what takes an item more often than there is enough for. ``enough_for``: how many there are
    of each item whose food is counted in the stock; ``gone``: the items of which there is none, or no item where no lunch could be
    made without them: then the stock was not counted, and a child would have nothing.
    """

    offer: Offer
    laid_out: Sequence[Branch]
    enough_for: Mapping[Key, int]
    gone: frozenset[Key]


_remembered = Remembered[SetOut](MOST_REMEMBERED)


def set_out_for(connection: Connection, household: UUID, child_id: str, offer_id: str, on: date) -> SetOut:
    """What a child may choose from; an id that is not stored here and what an audit of the offer raises go on.

    The mark is read in the same transaction as the records: what is remembered is never older than they are.
    """
    mark = mark_of(connection, household, FOLLOWS_FROM)
    key = (household, child_id, offer_id, on, counted_since(), mark)
    return _remembered.get(key, lambda: _made_ready(connection, household, child_id, offer_id, on))


def _made_ready(connection: Connection, household: UUID, child_id: str, offer_id: str, on: date) -> SetOut:
    from service.jobs.offers.resolve import resolve_audit  # with its arrays: slow to load, and few pages need it

    kept = KeptThings(connection, household)
    body = kept.body(OFFER, offer_id, "/offer")
    kept.body(CHILD, child_id, "/child")
    resolving = Resolving(kept)
    audit = resolving.audit(OfferAuditWithIds(on=on, offer=offer_id, children=[child_id], swap_foods=[]))
    resolving.raise_faults()
    (one,) = resolve_audit(audit).children
    sent = {
        (group["id"], item_key(item["key"], resolved.food)): item
        for group, whole in zip(body["groups"], audit.offer.groups, strict=True)
        for item, resolved in zip(group["items"], whole.items, strict=True)
    }
    foods = {key: item["food"] for key, item in sent.items()}
    left = left_of(connection, household, {food for food in foods.values() if isinstance(food, str)}, on)
    counted = {
        key: Counted(food, one.items[key].amount_mg, most_times(one.offer, key[0]))
        for key, food in foods.items()
        if food in left
    }
    at_first = _still_there(one.offer, _enough_for(counted, left, ()))
    groups = [
        {
            "id": group.id,
            "at_least": group.take.at_least,
            "at_most": group.take.at_most,
            "items": [_row(one, (group.id, item)) for item in group.items],
        }
        for group in one.offer.groups
    ]
    offered = {key: _offered(one, key, item) for key, item in sent.items()}
    return SetOut(one.child.nickname or "", offered, one.offer, counted, left, at_first, groups)


def _offered(one: "ChildOffer", key: Key, sent: Mapping[str, Any]) -> dict[str, Any]:
    fields = {name: sent[name] for name in ("food", "quantity", "unit", "form", "credit_as", "held")}
    # The amount is the child's own; the unit stays as the offer has it.
    return {**fields, "quantity": one.items[key].quantity, "form": one.recut.get(key, sent["form"])}


def _row(one: "ChildOffer", key: Key) -> dict[str, Any]:
    prepared = one.items[key]
    return {
        "item": key[1],
        "name": prepared.food.name,
        "category": prepared.food.category,
        "quantity": prepared.quantity,
        "unit": prepared.unit,
        "cut": one.cut(key),
    }


def _enough_for(counted: Mapping[Key, Counted], left: Mapping[str, int], taken: Sequence[Key]) -> dict[Key, int]:
    """How many of each item whose food is counted there are for the lunch, those that are taken among them.

    What is taken goes first, as far as there is enough; the same food may be taken from another group, or again.
    """
    there, have = dict(left), Counter[Key]()
    for key in taken:
        one = counted.get(key)
        if one is not None and is_enough(there[one.food], one.amount_mg):
            there[one.food] -= one.amount_mg
            have[key] += 1
    return {key: min(one.most, have[key] + portions_in(there[one.food], one.amount_mg)) for key, one in counted.items()}


def _still_there(offer: Offer, enough_for: Mapping[Key, int]) -> StillThere:
    short = frozenset(key for key, number in enough_for.items() if not number)
    by_group: dict[str, set[str]] = {}
    for group, item in short:
        by_group.setdefault(group, set()).add(item)
    less = without(offer, {group: frozenset(items) for group, items in by_group.items()})
    few = {key: number for key, number in enough_for.items() if 0 < number < most_times(offer, key[0])}
    laid_out = [one for branch in branches(less) if (one := _with_enough(branch, few)) is not None]
    if not laid_out:
        return StillThere(offer, branches(offer), enough_for, frozenset())
    return StillThere(less, laid_out, enough_for, short)


def _with_enough(branch: Branch, few: Mapping[Key, int]) -> Branch | None:
    """A branch without the options that take an item more often than there is enough for; None where no lunch is left."""
    if not few:
        return branch
    lists = [
        tuple(
            option
            for option in options
            if all(
                option.items.count(item) <= few.get((option.group, item), len(option.items)) for item in option.items
            )
        )
        for options in branch.lists
    ]
    return Branch(tuple(lists)) if all(lists) else None
