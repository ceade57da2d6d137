"""Which packets are worth reading first: by how many lunches of the household's children they stand in the way of.

The lunches looked at are those logged from four weeks before the day on, and all that each offer asked about allows,
counted as an audit of the offer counts them.
"""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from datetime import date, timedelta
from typing import Any, NamedTuple
from uuid import UUID

from service.domain.allergens.to_read import FoodToRead, foods_to_read
from service.domain.errors import BadInput, LunchError, OutsideAgeGroups, OutsideDates
from service.domain.foods.packets import Packets
from service.domain.messages import message
from service.domain.offers.branches import branches
from service.domain.offers.offer import ways_laid_out
from service.jobs.allergens.avoidances import avoidances_of
from service.jobs.allergens.reply import not_read_cautions
from service.jobs.foods.packets import packet_id, packets_at_hand, statement_not_read
from service.jobs.foods.resolve import food_of
from service.jobs.household.requests import KeptChild, KeptLunch, KeptOffer
from service.jobs.household.stored.kept_things import KeptThings
from service.jobs.household.stored.resolving import Resolving, foods_resolved
from service.jobs.offers.requests import OfferAuditWithIds
from service.jobs.requests.fields import is_kept_id
from service.jobs.requests.foods import Packet
from service.jobs.requests.lunches import LunchItem
from service.reference.allergens.vocabulary import vocabulary
from service.reference.foods.catalogue import find_food
from service.reference.messages import listed_as
from service.store.household.kinds import CHILD, LUNCH, OFFER
from service.store.household.records import Connection, Kind, page
from service.store.household.stock import entries_of

DAYS_BEFORE = 28
"""Our choice: what was packed in the last four weeks will be packed again."""
MOST_RECORDS = 1_000
NO_AUDIT = (BadInput, OutsideAgeGroups, OutsideDates)
"""Faults for which a stored offer has no audit for a stored child on a day."""
MOST_WAYS = 1_000_000
"""Ways to take from a group over all offers and children that one reply lays out; a limit of ours."""


class Asked(NamedTuple):
    """Which children and offers; None: all of them."""

    children: frozenset[str] | None = None
    offers: frozenset[str] | None = None


class Need(NamedTuple):
    """A packet on which lunches of one child depend; ``allergens``: the ids of those to look for."""

    child: str
    food: str
    allergens: frozenset[str]
    lunches: int


def packets_to_read(connection: Connection, household: UUID, asked: Asked, on: date) -> dict[str, Any]:
    """Foods whose packets to read, those that settle most lunches first: for whom, and for which allergens.

    ``lunches``: of all children together; 0 where none depends on it yet, for a packet that was stored and could not be
    read, and for one that was bought for a plan (``at_home``). Raises ``BadInput`` where the offers are too much work to lay out.
    """
    kept = KeptThings(connection, household)
    children = {
        key: KeptChild.model_validate(body)
        for key, body in _bodies(connection, CHILD, household)
        if asked.children is None or key in asked.children
    }
    read = kept.packets(on, on)
    packets = packets_at_hand(read, on)
    needs: list[Need] = []
    at_home: set[str] = set()
    if asked.offers is None:
        needs += _read_in_vain(read, children, kept, packets)
        bought = list(_bought_for_plans(connection, household, children, kept, packets))
        at_home = {one.food for one in bought}
        needs += bought
        for _key, body in _bodies(connection, LUNCH, household):
            lunch = KeptLunch.model_validate(body)
            if lunch.child in children and lunch.date >= on - timedelta(days=DAYS_BEFORE):
                items = foods_resolved(kept, list(lunch.items))
                needs += _of_items(items, lunch.child, children[lunch.child], packets)
    offers = {
        key: foods_resolved(kept, KeptOffer.model_validate(body))
        for key, body in _bodies(connection, OFFER, household)
        if asked.offers is None or key in asked.offers
    }
    needs += _of_offers(offers, children, kept, packets, on)
    lunches: Counter[str] = Counter()
    whom: dict[str, dict[str, set[str]]] = {}
    for need in needs:
        lunches[need.food] += need.lunches
        whom.setdefault(need.food, {}).setdefault(need.child, set()).update(need.allergens)
    foods = {one: food_of(kept.food(one, "/food") if is_kept_id(one) else one, packets) for one in lunches}
    ranked = sorted(lunches, key=lambda food: (-lunches[food], foods[food].name, food))
    return {
        "on": on.isoformat(),
        "to_read": [
            {
                "food": food,
                "name": foods[food].name,
                "lunches": lunches[food],
                "at_home": food in at_home,
                "children": [
                    {"id": child_id, "nickname": children[child_id].nickname, "allergens": sorted(allergens)}
                    for child_id, allergens in sorted(whom.get(food, {}).items())
                ],
            }
            for food in ranked
        ],
        **listed_as("caution", not_read_cautions(foods[food] for food in ranked)),
    }


def to_read_for_lunch(kept: KeptThings, child: KeptChild, lunch: KeptLunch) -> list[FoodToRead]:
    """The foods of one logged lunch whose packets are still to be read for its child, by what is known now."""
    packets = packets_at_hand(kept.packets(lunch.date, lunch.date), lunch.date)
    found: dict[str, FoodToRead] = {}
    for one in _to_read_in(foods_resolved(kept, list(lunch.items)), child, packets):
        found.setdefault(one.food.name, one)
    return list(found.values())


def _of_offers(
    offers: Mapping[str, KeptOffer], children: Mapping[str, KeptChild], kept: KeptThings, packets: Packets, on: date
) -> Iterator[Need]:
    """What the lunches of the offers depend on. Where no audit can be made for a child, for example because its standard
    has no age group for it, each item counts as one lunch.
    """
    # Here because they load the arrays of the counting: slow, and nothing else that starts with the service needs them.
    from service.jobs.offers.packets import depending_on_packets
    from service.jobs.offers.resolve import resolve_audit

    ways = 0
    for offer_id, offer in offers.items():
        each = [item for group in offer.groups for item in group.items]
        for child_id, child in children.items():
            by_item = [need for item in each for need in _of_items([item], child_id, child, packets)]
            if not by_item:
                continue
            resolving = Resolving(kept)
            try:
                audit = resolving.audit(OfferAuditWithIds(on=on, offer=offer_id, children=[child_id]))
                resolving.raise_faults()
                made = resolve_audit(audit)
            except LunchError as fault:
                if not all(isinstance(one, NO_AUDIT) for one in fault.faults()):
                    raise
                yield from by_item
                continue
            (one,) = made.children
            ways += ways_laid_out(one.whole)
            if ways > MOST_WAYS:
                raise BadInput(
                    field="offer",
                    value=f"{len(offers)} offers for {len(children)} children",
                    problem=message("fault.too-many-ways-of-offers", most=MOST_WAYS),
                )
            for found in depending_on_packets(one, branches(one.offer)):
                food_id = packet_id(found.food)
                if food_id is not None:
                    allergens = frozenset(allergen for some in found.items.values() for allergen in some)
                    yield Need(child_id, food_id, allergens, found.lunches)


def _read_in_vain(
    read: Sequence[Packet], children: Mapping[str, KeptChild], kept: KeptThings, packets: Packets
) -> Iterator[Need]:
    """Packets that were stored and could not be read: to be read again, also where no lunch holds their food yet."""
    newest = [one for one in read if packets.by_food[one.food].read_on == one.read_on]
    items = [LunchItem(food=one.food) for one in newest if statement_not_read(one) is not None]
    items = foods_resolved(kept, items)
    for child_id, child in children.items():
        for need in _of_items(items, child_id, child, packets):
            yield need._replace(lunches=0)


def _bought_for_plans(
    connection: Connection, household: UUID, children: Mapping[str, KeptChild], kept: KeptThings, packets: Packets
) -> Iterator[Need]:
    """Packets of what was bought for a plan and is at home: to be read before it is eaten."""
    bodies = [one.body for one in entries_of(connection, household)]
    foods = dict.fromkeys(one["food"] for one in bodies if one.get("plan") and one["bought_on"] and one["grams"] > 0)
    known = [one for one in foods if is_kept_id(one) or find_food(one) is not None]
    items = foods_resolved(kept, [LunchItem(food=one) for one in known])
    for child_id, child in children.items():
        for need in _of_items(items, child_id, child, packets):
            yield need._replace(lunches=0)


def _of_items(items: Sequence[LunchItem], child_id: str, child: KeptChild, packets: Packets) -> Iterator[Need]:
    """What one lunch of these items depends on. ``items``: their foods in place of ids of stored ones."""
    allergens: dict[str, set[str]] = {}
    for food, some in _to_read_in(items, child, packets):
        food_id = packet_id(food)
        if food_id is not None:
            allergens.setdefault(food_id, set()).update(some)
    for food_id, looked_for in allergens.items():
        yield Need(child_id, food_id, frozenset(looked_for), 1)


def _to_read_in(items: Sequence[LunchItem], child: KeptChild, packets: Packets) -> Iterator[FoodToRead]:
    """What is to be read of each item for a child, in order. ``items``: their foods in place of ids of stored ones."""
    avoidances = avoidances_of(child, child.setting())
    for item in items:
        yield from foods_to_read(vocabulary(), food_of(item.food, packets), avoidances)


def _bodies(connection: Connection, kind: Kind, household: UUID) -> list[tuple[str, dict[str, Any]]]:
    return [(str(one.id), one.body) for one in page(connection, kind, household, None, MOST_RECORDS)]
