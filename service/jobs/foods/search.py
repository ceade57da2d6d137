"""Find foods by words, and show one food with everything known of it."""

import hashlib
import re
from collections.abc import Mapping, Sequence
from typing import Any

from service.domain.errors import UnknownName
from service.domain.foods.food import Food, HouseholdUnit
from service.domain.measures import MEASURE_INDEX, MEASURES, NUTRIENT_IDS, THOUSANDTHS
from service.domain.messages import message
from service.jobs.cursors import bad_cursor, cursor_of, place_of
from service.jobs.foods.containments import allergens_reply
from service.reference.foods.catalogue import find_food, near_food_ids
from service.reference.foods.generic_foods import generic_foods
from service.reference.foods.lunch_foods import lunch_foods, units_of
from service.reference.foods.search import food_index

MOST_PER_PAGE = 200
PLACE = re.compile(r"([0-9]{1,9}):([0-9a-f]{8})")
NOT_OF_THE_SEARCH = message("fault.cursor-of-search")


def search_foods(query: str, limit: int, cursor: str | None, own: Sequence[dict[str, Any]] = ()) -> dict[str, Any]:
    """One page of foods that match; ``next`` is the cursor of the following page or None. ``own`` come first.

    ``query``: words in any order; ``limit``: at most 200 a page; ``own``: rows of a household's foods, as they are shown.

    Raises ``BadInput`` for a cursor of another search.

    >>> [row["id"] for row in search_foods("apple", 1, None)["items"]]
    ['apple']
    """
    limit = max(1, min(limit, MOST_PER_PAGE))
    start = 0 if cursor is None else _start(cursor, query)
    found = food_index().search(query)
    first = max(0, start - len(own))
    page = found[first : max(0, start + limit - len(own))]
    more = start + limit < len(own) + len(found)
    return {
        "items": [
            *own[start : start + limit],
            *({"id": one.id, "name": one.name, "kind": one.kind, **_portion(one.id)} for one in page),
        ],
        "next": _cursor(start + limit, query) if more else None,
    }


def foods_of_ids(ids: Sequence[str], own: Mapping[str, dict[str, Any]] | None = None) -> dict[str, Any]:
    """The foods of these ids, in their order, on one page; ``own``: by id. Those that are not known are left out."""
    items = [(own or {}).get(one) or _of_the_tables(one) for one in dict.fromkeys(ids)]
    return {"items": [one for one in items if one is not None], "next": None}


def _of_the_tables(food_id: str) -> dict[str, Any] | None:
    food = find_food(food_id)
    return None if food is None else {"id": food.id, "name": food.name, "kind": food.kind, **_portion(food.id)}


def _portion(food_id: str) -> dict[str, Any]:
    generic = generic_foods().get(food_id)
    if generic is not None:  # its name need not be read like a label to list it
        return {"category": generic.group, "usual_unit": "100 g", "usual_grams": 100.0}
    row = lunch_foods().rows().get(food_id)
    if row is not None:  # nor need all be worked out that is known of it
        return _usual(row["category"], units_of(row)[0])
    food = find_food(food_id)
    assert food is not None  # noqa: S101 - the index holds only foods of the tables
    return _usual(food.category, food.units[0])


def _usual(category: str, unit: HouseholdUnit) -> dict[str, Any]:
    return {"category": category, "usual_unit": unit.name, "usual_grams": unit.grams_mg / 1000}


def _mark(query: str) -> str:
    return hashlib.sha256(query.encode()).hexdigest()[:8]


def _cursor(start: int, query: str) -> str:
    return cursor_of(f"{start}:{_mark(query)}")


def _start(cursor: str, query: str) -> int:
    found = PLACE.fullmatch(place_of(cursor, NOT_OF_THE_SEARCH))
    if found is None or found[2] != _mark(query):
        raise bad_cursor(cursor, NOT_OF_THE_SEARCH)
    return int(found[1])


def show_food(food_id: str) -> dict[str, Any]:
    """Everything known of one food; ``UnknownName`` with near names otherwise."""
    food = find_food(food_id)
    if food is None:
        raise UnknownName(
            pointer="/food",
            value=food_id,
            kind=message("kind.food"),
            near=near_food_ids(food_id),
            known=message("help.search-foods"),
        )
    return food_reply(food)


def food_reply(food: Food) -> dict[str, Any]:
    """A food as published: per 100 g, portions, credits, allergens, forms, and where each comes from.

    Amounts are in the unit beside them, for 100 g, rounded to three places; null is not known.
    """
    per_100g = {}
    for index, measure in enumerate(NUTRIENT_IDS):
        value = food.nutrients[index]
        amount = None if value is None else round(float(value * 100_000 / food.basis_mg / THOUSANDTHS), 3)
        per_100g[measure] = {
            "amount": amount,
            "unit": MEASURES[MEASURE_INDEX[measure]].unit,
            "how": food.estimated.get(index, "from the source" if amount is not None else "unknown"),
        }
    return {
        "id": food.id,
        "name": food.name,
        "kind": food.kind,
        "category": food.category,
        "search_words": list(food.search_words),
        "source": food.source,
        "editions": sorted(food.editions),
        "per_100g": per_100g,
        "portions": [{"unit": u.name, "grams": u.grams_mg / 1000, "source": u.source} for u in food.units],
        "credits": [
            {
                "credit_as": option.name,
                "per_100g": {
                    MEASURES[credit.measure].id: round(float(credit.per_basis * 100_000 / food.basis_mg), 4)
                    for credit in option.credits
                },
            }
            for option in food.credit_options
        ],
        **allergens_reply(food.allergens),
        "forms": list(food.handling.forms),
        "choking_rule": food.handling.choking_rule or None,
        "perishable": food.handling.perishable,
        "storage": _storage(food.handling.storage),
        "freezing": food.handling.freezing or None,
        "product_kind": food.product_kind or None,
        "note": food.note,
    }


def _storage(class_id: str) -> dict[str, Any] | None:
    """How long the food keeps, by place and region; the stricter region counts."""
    from service.reference.lunch.handling import storage_classes  # a list of foods does without

    kept = storage_classes().get(class_id)
    if kept is None:
        return None
    return {
        "id": kept.id,
        "title": kept.title,
        "note": kept.note,
        "times": [
            {
                "region": row.region,
                "place": row.place,
                "days_from": float(row.days_from),
                "days_to": float(row.days_to),
                "source": row.source,
                "source_status": row.status,
                "note": row.note,
            }
            for row in kept.time
        ],
    }
