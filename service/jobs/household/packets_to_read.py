"""Which packets are worth reading first: by how many lunches of the household's children they stand in the way of.

The lunches looked at are those logged from four weeks before the day on, and all that each offer asked about allows,
counted as an audit of the offer counts them.
"""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from datetime import date, timedelta
from typing import Any, NamedTuple
from uuid import UUID

from service.domain.allergens.screening import screen_food
from service.domain.errors import BadInput, LunchError, OutsideAgeGroups, OutsideDates
from service.domain.foods.packets import Packets
from service.domain.offers.offer import branches, ways_laid_out
from service.jobs.allergens.avoidances import avoidances_of
from service.jobs.foods.packets import food_ids, packets_at_hand
from service.jobs.foods.resolve import food_of
from service.jobs.household.requests import KeptChild, KeptLunch, KeptOffer
from service.jobs.household.stored.kept_things import KeptThings
from service.jobs.household.stored.stored_ids import Resolving, foods_resolved
from service.jobs.offers.requests import OfferAuditWithIds
from service.jobs.requests.fields import is_kept_id
from service.jobs.requests.lunches import LunchItem
from service.reference.allergens.vocabulary import vocabulary
from service.store.kinds import CHILD, LUNCH, OFFER
from service.store.records import Connection, Kind, page

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
    name: str
    allergens: frozenset[str]
    lunches: int


def packets_to_read(connection: Connection, household: UUID, asked: Asked, on: date) -> dict[str, Any]:
    """Foods whose packets to read, those that settle most lunches first: for whom, and for which allergens.

    ``lunches``: of all children together. Raises ``BadInput`` where the offers are too much work to lay out.
    """
    kept = KeptThings(connection, household)
    children = {
        key: KeptChild.model_validate(body)
        for key, body in _bodies(connection, CHILD, household)
        if asked.children is None or key in asked.children
    }
    packets = packets_at_hand(kept.packets(on, on), on)
    needs: list[Need] = []
    if asked.offers is None:
        for _key, body in _bodies(connection, LUNCH, household):
            lunch = KeptLunch.model_validate(body)
            if lunch.child in children and lunch.date >= on - timedelta(days=DAYS_BEFORE):
                items = foods_resolved(kept, list(lunch.items))
                needs += _of_items(items, lunch.child, children[lunch.child], kept, packets)
    offers = {
        key: foods_resolved(kept, KeptOffer.model_validate(body))
        for key, body in _bodies(connection, OFFER, household)
        if asked.offers is None or key in asked.offers
    }
    needs += _of_offers(offers, children, kept, packets, on)
    names: dict[str, str] = {}
    lunches: Counter[str] = Counter()
    whom: dict[str, dict[str, set[str]]] = {}
    for need in needs:
        names[need.food] = need.name
        lunches[need.food] += need.lunches
        whom.setdefault(need.food, {}).setdefault(need.child, set()).update(need.allergens)
    ranked = sorted(lunches, key=lambda food: (-lunches[food], names[food], food))
    return {
        "on": on.isoformat(),
        "to_read": [
            {
                "food": food,
                "name": names[food],
                "lunches": lunches[food],
                "children": [
                    {"id": child_id, "nickname": children[child_id].nickname, "allergens": sorted(allergens)}
                    for child_id, allergens in sorted(whom[food].items())
                ],
            }
            for food in ranked
        ],
    }


def _of_offers(
    offers: Mapping[str, KeptOffer], children: Mapping[str, KeptChild], kept: KeptThings, packets: Packets, on: date
) -> Iterator[Need]:
    """What the lunches of the offers depend on. Where no audit can be made for a child, for example because its standard
    has no age group for it, each item counts as one lunch.
    """
    # Here because they load the arrays of the counting: slow, and nothing else that starts with the service needs them.
    from service.jobs.offers.packets import depending_on_packets, packets_of_items
    from service.jobs.offers.resolve import resolve_audit

    ways = 0
    for offer_id, offer in offers.items():
        each = [item for group in offer.groups for item in group.items]
        for child_id, child in children.items():
            by_item = [need for item in each for need in _of_items([item], child_id, child, kept, packets)]
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
                    problem=f"have more ways to take from a group than one reply lays out ({MOST_WAYS:,})",
                    remedy="Ask about fewer offers or fewer children at a time.",
                )
            foods_of = packets_of_items(audit.offer, made.packets)
            for found in depending_on_packets(one, foods_of, branches(one.offer)):
                if found.packet.food_id is not None:
                    allergens = frozenset(allergen for some in found.items.values() for allergen in some)
                    yield Need(child_id, found.packet.food_id, found.packet.food.name, allergens, found.lunches)


def _of_items(
    items: Sequence[LunchItem], child_id: str, child: KeptChild, kept: KeptThings, packets: Packets
) -> Iterator[Need]:
    """What one lunch of these items depends on."""
    names: dict[str, str] = {}
    allergens: dict[str, set[str]] = {}
    for item in items:
        for food_id, allergen, name in not_read(item, child, kept, packets):
            names[food_id] = name
            allergens.setdefault(food_id, set()).add(allergen)
    for food_id, some in allergens.items():
        yield Need(child_id, food_id, names[food_id], frozenset(some), 1)


def not_read(item: LunchItem, child: KeptChild, kept: KeptThings, packets: Packets) -> Iterator[tuple[str, str, str]]:
    """Of an item each food whose label is not known for an allergen the child avoids: its id, the allergen, its name."""
    words = vocabulary()
    avoidances = avoidances_of(child, child.setting())
    ids = list(dict.fromkeys(food_ids(item.food)))
    # A dish is settled by its ingredients: it is itself to be read only where it is made of nothing that can be.
    for food_id in ids[1:] if len(ids) > 1 and ids[0] == item.food else ids:
        food = food_of(kept.food(food_id, "/food") if is_kept_id(food_id) else food_id, packets)
        for one in avoidances:
            if screen_food(words, food, one).unread:
                yield food_id, one.allergen, food.name


def _bodies(connection: Connection, kind: Kind, household: UUID) -> list[tuple[str, dict[str, Any]]]:
    return [(str(one.id), one.body) for one in page(connection, kind, household, None, MOST_RECORDS)]
