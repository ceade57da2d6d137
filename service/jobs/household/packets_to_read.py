"""Which packets are worth reading first: by how many lunches of the household's children they stand in the way of.

The lunches looked at are those logged from four weeks before the day on, and those of each offer asked about, in which
every item counts as one. A food whose label is not known for an allergen that a child avoids stands in its way.
"""

from collections.abc import Iterator
from datetime import date, timedelta
from typing import Any, NamedTuple
from uuid import UUID

from service.domain.allergens.screening import screen_food
from service.domain.foods.packets import Packets
from service.jobs.allergens.avoidances import avoidances_of
from service.jobs.foods.packets import food_ids, packets_at_hand
from service.jobs.foods.resolve import food_of
from service.jobs.household.requests import KeptChild, KeptLunch, KeptOffer, is_kept_id
from service.jobs.household.stored.kept_things import KeptThings
from service.jobs.household.stored.stored_ids import foods_resolved
from service.jobs.requests import LunchItem
from service.reference.allergens.vocabulary import vocabulary
from service.store.kinds import CHILD, LUNCH, OFFER
from service.store.records import Connection, Kind, page

DAYS_BEFORE = 28
"""Our choice: what was packed in the last four weeks will be packed again."""
MOST_RECORDS = 1_000


class Asked(NamedTuple):
    """Which children and offers; None: all of them."""

    children: frozenset[str] | None = None
    offers: frozenset[str] | None = None


def packets_to_read(connection: Connection, household: UUID, asked: Asked, on: date) -> dict[str, Any]:
    """Foods whose packets to read, those that settle most lunches first: for whom, and for which allergens.

    ``lunches``: logged lunches and items of offers in which the food, alone or in a dish, is not known well enough.
    """
    kept = KeptThings(connection, household)
    children = {
        key: KeptChild.model_validate(body)
        for key, body in _bodies(connection, CHILD, household)
        if asked.children is None or key in asked.children
    }
    packets = packets_at_hand(kept.packets(on, on), on)
    names: dict[str, str] = {}
    lunches: dict[str, set[str]] = {}
    whom: dict[str, dict[str, set[str]]] = {}
    for child_id, use, items in _uses(connection, household, asked, on, children):
        child = children[child_id]
        for item in foods_resolved(kept, items):
            for food_id, allergen, name in _not_read(item, child, kept, packets):
                names[food_id] = name
                lunches.setdefault(food_id, set()).add(f"{child_id} {use}")
                whom.setdefault(food_id, {}).setdefault(child_id, set()).add(allergen)
    ranked = sorted(lunches, key=lambda food: (-len(lunches[food]), names[food], food))
    return {
        "on": on.isoformat(),
        "to_read": [
            {
                "food": food,
                "name": names[food],
                "lunches": len(lunches[food]),
                "children": [
                    {"id": child_id, "nickname": children[child_id].nickname, "allergens": sorted(allergens)}
                    for child_id, allergens in sorted(whom[food].items())
                ],
            }
            for food in ranked
        ],
    }


def _uses(
    connection: Connection, household: UUID, asked: Asked, on: date, children: dict[str, KeptChild]
) -> Iterator[tuple[str, str, list[LunchItem]]]:
    """Each child's id, which lunch (or item of an offer) it is, and its items."""
    for _key, body in _bodies(connection, LUNCH, household):
        lunch = KeptLunch.model_validate(body)
        if lunch.child in children and lunch.date >= on - timedelta(days=DAYS_BEFORE) and asked.offers is None:
            yield lunch.child, lunch.date.isoformat(), list(lunch.items)
    for key, body in _bodies(connection, OFFER, household):
        if asked.offers is not None and key not in asked.offers:
            continue
        for group in KeptOffer.model_validate(body).groups:
            for place, item in enumerate(group.items):
                for child_id in children:
                    yield child_id, f"{key} {group.id} {place}", [item]


def _not_read(item: LunchItem, child: KeptChild, kept: KeptThings, packets: Packets) -> Iterator[tuple[str, str, str]]:
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
