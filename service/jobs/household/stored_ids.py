"""Ids of kept things in a body, written out: what the checks read is the same as if it had all been sent along.

A food's id becomes its label or recipe; a child's what a check asks of a child; a lunch's and an offer's their parts.
"""

from collections.abc import Callable
from datetime import date
from typing import Any, NamedTuple
from uuid import UUID

import orjson

from service.domain.errors import LunchError, NotThere
from service.jobs.household.requests import KeptChild, is_kept_id
from service.reference.foods.catalogue import find_food
from service.reference.foods.search import WORD, fold
from service.store.kinds import CHILD, FOOD, LUNCH, OFFER, RECIPE
from service.store.records import Connection, Hold, Kind, Record, find

Json = Any
FOODS_IN = ("offer", "swap_foods")
"""Lists whose elements are food ids or items."""


class KeptThings:
    """What a household keeps, by id, as bodies that a request could have sent; ``NotThere`` names the place.

    ``hold``: ``share`` where something is kept that names these things, so that nobody takes them out meanwhile.
    """

    def __init__(self, connection: Connection, household: UUID, hold: Hold = "") -> None:
        self._connection = connection
        self._household = household
        self._hold = hold
        self._foods: dict[str, Json] = {}

    def body(self, kind: Kind, kept_id: str, pointer: str) -> dict[str, Any]:
        """The body of one record."""
        record = self._find(kind, kept_id)
        if record is None:
            raise _not_there(kind.noun, kept_id, pointer)
        return record.body

    def food(self, kept_id: str, pointer: str, *, recipes: bool = True) -> Json:
        """An own food, or an own recipe with its ingredients written out."""
        if kept_id not in self._foods:
            food = self._find(FOOD, kept_id)
            recipe = self._find(RECIPE, kept_id) if food is None and recipes else None
            if food is None and recipe is None:
                raise _not_there("food or recipe" if recipes else "food", kept_id, pointer)
            body = food.body if food is not None else self.recipe(recipe.body, pointer)  # type: ignore[union-attr]
            self._foods[kept_id] = {**body, "id": kept_id}
        return self._foods[kept_id]

    def _find(self, kind: Kind, kept_id: str) -> Record | None:
        return find(self._connection, kind, self._household, UUID(kept_id), self._hold)

    def recipe(self, body: dict[str, Any], pointer: str) -> dict[str, Any]:
        """A recipe with its ingredients written out; an ingredient may be an own food, but no recipe."""
        ingredients = [
            {**one, "food": self.food(one["food"], f"{pointer}/ingredients/{place}/food", recipes=False)}
            if is_kept_id(one["food"])
            else one
            for place, one in enumerate(body["ingredients"])
        ]
        return {**body, "ingredients": ingredients}

    def child(self, kept_id: str, pointer: str) -> KeptChild:
        """A child."""
        return KeptChild.model_validate_json(orjson.dumps(self.body(CHILD, kept_id, pointer)))

    def written_out(self, body: Json, pointer: str = "") -> Json:
        """A part of a body with the ids of all own foods in it written out; what holds none is given back as it is."""
        if isinstance(body, dict):
            return {name: self._field(name, value, f"{pointer}/{name}") for name, value in body.items()}
        if isinstance(body, list):
            return [self.written_out(one, f"{pointer}/{place}") for place, one in enumerate(body)]
        return body

    def _field(self, name: str, value: Json, pointer: str) -> Json:
        if name == "food" and is_kept_id(value):
            return self.food(value, pointer)
        if name in FOODS_IN and isinstance(value, list):
            return [
                {"food": self.food(one, f"{pointer}/{place}")}
                if is_kept_id(one)
                else self.written_out(one, f"{pointer}/{place}")
                for place, one in enumerate(value)
            ]
        return self.written_out(value, pointer)


def written_out_check(kept: KeptThings, body: dict[str, Any]) -> Json:
    """A lunch check: the child (with its standard and school's bans where none are given), the lunch, the foods."""
    body = dict(body)
    if is_kept_id(body.get("child")):
        child = kept.child(body["child"], "/child")
        body["child"] = _as_sent(child, _day(body))
        body.setdefault("standard", child.standard)
        body.setdefault("setting", child.setting().model_dump(mode="json"))
    if is_kept_id(body.get("lunch")):
        lunch = kept.body(LUNCH, body["lunch"], "/lunch")
        body["lunch"] = {"items": _items(lunch["items"]), "holding": lunch["holding"]}
    return kept.written_out(body)


def written_out_screening(kept: KeptThings, body: dict[str, Any]) -> Json:
    """A screening: its children, each with its own school's bans among what it avoids; its lunches and foods."""
    body = dict(body)
    if isinstance(body.get("children"), list):
        body["children"] = [
            _screened(kept.child(one, f"/children/{place}")) if is_kept_id(one) else one
            for place, one in enumerate(body["children"])
        ]
    if isinstance(body.get("items"), list):
        body["items"] = [
            {**one, "lunch": _items(kept.body(LUNCH, one["lunch"], f"/items/{place}/lunch")["items"])}
            if isinstance(one, dict) and is_kept_id(one.get("lunch"))
            else one
            for place, one in enumerate(body["items"])
        ]
    return kept.written_out(body)


def written_out_audit(kept: KeptThings, body: dict[str, Any]) -> Json:
    """An offer audit: the offer, its foods, and its children, who do not take what they dislike."""
    body = dict(body)
    if is_kept_id(body.get("offer")):
        offer = dict(kept.body(OFFER, body["offer"], "/offer"))
        offer.pop("name")
        body["offer"] = offer
    body = kept.written_out(body)
    if isinstance(body.get("children"), list):
        groups = _groups(body.get("offer"))
        body["children"] = [
            _audited(kept.child(one, f"/children/{place}"), _day(body), groups) if is_kept_id(one) else one
            for place, one in enumerate(body["children"])
        ]
    return body


WriteOut = Callable[[KeptThings, dict[str, Any]], Json]


class Offered(NamedTuple):
    """One item of an offer, as far as a dislike looks at it."""

    group: str
    item: str
    food_id: str
    words: frozenset[str]


def _groups(offer: Json) -> list[Offered]:
    """The items of an offer, as far as it has the form of one; what has not is told when it is read."""
    found = []
    for group in (offer.get("groups") if isinstance(offer, dict) else None) or []:
        for item in (group.get("items") if isinstance(group, dict) else None) or []:
            food = item.get("food") if isinstance(item, dict) else None
            food_id = food if isinstance(food, str) else ""
            name = food.get("name", "") if isinstance(food, dict) else ""
            known = find_food(food_id) if food_id else None
            words = f"{known.name} {' '.join(known.search_words)}" if known else str(name)
            if isinstance(item, dict) and isinstance(group.get("id"), str):
                found.append(
                    Offered(
                        group["id"], item.get("key") or food_id or name, food_id, frozenset(WORD.findall(fold(words)))
                    )
                )
    return found


def _disliked(child: KeptChild, groups: list[Offered]) -> list[dict[str, str]]:
    """The items that a child dislikes: by the food's id, or by all words of the dislike, or their plurals, in its names."""
    words = [(dislike, WORD.findall(fold(dislike))) for dislike in child.dislikes]
    return [
        {"group": one.group, "item": one.item}
        for one in groups
        if any(
            dislike == one.food_id or (parts and all({part, part + "s", part + "es"} & one.words for part in parts))
            for dislike, parts in words
        )
    ]


def _audited(child: KeptChild, day: date, groups: list[Offered]) -> Json:
    return {
        **_as_sent(child, day),
        "avoids": _with_bans(child),
        "standard": child.standard,
        "without": _disliked(child, groups),
    }


def _screened(child: KeptChild) -> Json:
    return {"nickname": child.nickname, "avoids": _with_bans(child)}


def _with_bans(child: KeptChild) -> list[dict[str, str]]:
    """What a child avoids, and what its school bans: children of several schools are looked at together."""
    avoids = [one.model_dump(mode="json") for one in child.avoids]
    return avoids + [{"allergen": ban, "threshold": child.ban_threshold} for ban in child.bans]


def _as_sent(child: KeptChild, day: date) -> dict[str, Any]:
    return child.child_on(day).model_dump(mode="json", exclude_none=True)


def _items(items: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Items of a kept lunch as a check takes them: without what only a week reads."""
    return [{name: value for name, value in item.items() if name not in ("groups", "kind")} for item in items]


def _day(body: dict[str, Any]) -> date:
    """The day of a request; where it gives none the reader will say so, and any day will do until then."""
    try:
        return date.fromisoformat(str(body.get("on")))
    except ValueError:
        return date(2000, 1, 1)


def _not_there(noun: str, kept_id: str, pointer: str) -> LunchError:
    return NotThere(
        pointer=pointer, value=kept_id, problem=f"is no {noun} here", remedy=f"List each {noun} for its id."
    )
