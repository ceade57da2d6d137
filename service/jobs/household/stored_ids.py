"""Ids of kept things in a request, resolved: what the checks read is the same as if it had all been sent along.

A food's id becomes its label or recipe; a child's what a check asks of a child; a lunch's and an offer's their parts.
"""

from collections.abc import Callable
from datetime import date
from typing import Any, NamedTuple, TypeVar, cast, overload
from uuid import UUID

from pydantic import BaseModel

from service.domain.errors import BadInput, LunchError, NotThere, raise_all
from service.jobs.household.requests import KeptChild, is_kept_id
from service.jobs.offers.requests import ItemRef, OfferAuditRequest, OfferAuditWithIds, OfferChild, OfferIn
from service.jobs.requests import (
    AvoidedAllergen,
    LabelFood,
    Lunch,
    LunchCheckRequest,
    LunchCheckWithIds,
    LunchItem,
    Recipe,
    RecipeIngredient,
    ScreenedChild,
    ScreenedItem,
    ScreenedItemWithIds,
    ScreeningRequest,
    ScreeningWithIds,
)
from service.jobs.weeks.requests import PriceAsked, WeekItem, WeekRequest, WeekWithIds
from service.reference.foods.catalogue import find_food
from service.reference.foods.search import WORD, fold
from service.store.kinds import CHILD, FOOD, LUNCH, OFFER, RECIPE
from service.store.records import Connection, Hold, Kind, Record, find

Json = Any
FOODS_IN = ("offer", "swap_foods")
"""Lists whose elements are food ids or items."""
_Part = TypeVar("_Part")
_Model = TypeVar("_Model", bound=BaseModel)


@overload
def with_ids_resolved(connection: Connection, household: UUID, asked: LunchCheckWithIds) -> LunchCheckRequest: ...
@overload
def with_ids_resolved(connection: Connection, household: UUID, asked: ScreeningWithIds) -> ScreeningRequest: ...
@overload
def with_ids_resolved(connection: Connection, household: UUID, asked: OfferAuditWithIds) -> OfferAuditRequest: ...
@overload
def with_ids_resolved(connection: Connection, household: UUID, asked: WeekWithIds) -> WeekRequest: ...
def with_ids_resolved(connection: Connection, household: UUID, asked: BaseModel) -> BaseModel:
    """A validated request with every id of a kept thing in it resolved.

    A kept child brings its standard and its school's bans to a lunch check or a week that gives none; in a screening
    and an audit its bans are among what it avoids, and it does not take what it dislikes. Raises ``NotThere`` for each
    id that this household does not keep, all of them together.
    """
    resolving = _Resolving(KeptThings(connection, household))
    if isinstance(asked, LunchCheckWithIds):
        done: BaseModel = resolving.lunch_check(asked)
    elif isinstance(asked, ScreeningWithIds):
        done = resolving.screening(asked)
    elif isinstance(asked, OfferAuditWithIds):
        done = resolving.audit(asked)
    elif isinstance(asked, WeekWithIds):
        done = resolving.week(asked)
    else:
        raise TypeError(type(asked))
    raise_all(resolving.faults)
    return done


def foods_resolved(kept: "KeptThings", part: _Part, pointer: str = "") -> _Part:
    """A part of a request with the ids of own foods and recipes in it resolved; ``NotThere`` for all that are not here."""
    resolving = _Resolving(kept)
    done = resolving.foods(part, pointer)
    raise_all(resolving.faults)
    return done


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
        return KeptChild.model_validate(self.body(CHILD, kept_id, pointer))

    def whole_food(self, kept_id: str, pointer: str, *, recipes: bool = True) -> LabelFood | Recipe:
        """An own food, or an own recipe with its ingredients resolved."""
        body = self.food(kept_id, pointer, recipes=recipes)
        model = Recipe if isinstance(body.get("ingredients"), list) else LabelFood
        return model.model_validate(body)

    def items(self, kept_id: str, pointer: str) -> tuple[list[LunchItem], Json]:
        """The items of a kept lunch, and how it was kept; ``BadInput`` for a lunch that has no items."""
        body = self.body(LUNCH, kept_id, pointer)
        if not body["items"]:
            raise BadInput(
                pointer=pointer,
                value=kept_id,
                problem="is a lunch without items",
                remedy="Give the id of a packed lunch.",
            )
        return [WeekItem.model_validate(item) for item in body["items"]], body["holding"]

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


class _Resolving:
    """Resolves the ids of one request; ``faults``: all that were found."""

    def __init__(self, kept: KeptThings) -> None:
        self.kept = kept
        self.faults: list[LunchError] = []

    def lunch_check(self, asked: LunchCheckWithIds) -> LunchCheckRequest:
        """The child (with its standard and its school's bans where none are given), the lunch, the foods."""
        changes = self._child(asked, asked.on)
        if isinstance(asked.lunch, str):
            changes["lunch"] = self._or_fault(lambda: self._lunch(str(asked.lunch)))
        return self._narrowed(LunchCheckRequest, asked, changes)

    def week(self, asked: WeekWithIds) -> WeekRequest:
        """The child (with its standard and its school's bans where none are given) and the foods."""
        monday = self._or_fault(asked.first_day)
        return self._narrowed(WeekRequest, asked, {} if monday is None else self._child(asked, monday))

    def screening(self, asked: ScreeningWithIds) -> ScreeningRequest:
        """The children, each with its own school's bans among what it avoids; the lunches and foods."""
        changes = {
            "children": [self._screened(one, f"/children/{place}") for place, one in enumerate(asked.children)],
            "items": [self._screened_item(one, f"/items/{place}") for place, one in enumerate(asked.items)],
        }
        return self._narrowed(ScreeningRequest, asked, changes)

    def audit(self, asked: OfferAuditWithIds) -> OfferAuditRequest:
        """The offer, its foods, and the children, who do not take what they dislike."""
        offer = asked.offer
        if isinstance(offer, str):
            offer = self._or_fault(lambda: self._offer(str(asked.offer))) or offer
        whole = self._narrowed(OfferAuditRequest, asked, {"offer": offer})
        offered = [] if isinstance(offer, str) else offered_by(whole.offer)
        children = [self._audited(one, f"/children/{n}", asked.on, offered) for n, one in enumerate(asked.children)]
        return whole.model_copy(update={"children": children})

    def foods(self, part: _Part, pointer: str) -> _Part:
        """A part with the ids of own foods resolved; what holds none is given back as it is."""
        if isinstance(part, BaseModel):
            changes: dict[str, Any] = {}
            for name, value in part:
                place = f"{pointer}/{type(part).model_fields[name].alias or name}"
                if name == "food" and isinstance(value, str) and is_kept_id(value):
                    done: Any = self._food(part, value, place)
                elif name in FOODS_IN and isinstance(value, list):
                    done = [self._offered(one, f"{place}/{number}") for number, one in enumerate(value)]
                else:
                    done = self.foods(value, place)
                if done is not value:
                    changes[name] = done
            return cast("_Part", part.model_copy(update=changes)) if changes else part
        if isinstance(part, list):
            return cast("_Part", [self.foods(one, f"{pointer}/{number}") for number, one in enumerate(part)])
        return part

    def _food(self, beside: BaseModel, kept_id: str, pointer: str) -> str | LabelFood | Recipe:
        in_recipe = isinstance(beside, RecipeIngredient)
        found = self._or_fault(lambda: self.kept.whole_food(kept_id, pointer, recipes=not in_recipe))
        if found is None:
            return kept_id
        return found.name if isinstance(beside, PriceAsked) else found

    def _offered(self, one: object, pointer: str) -> object:
        if not isinstance(one, str) or not is_kept_id(one):
            return self.foods(one, pointer)
        found = self._or_fault(lambda: self.kept.whole_food(one, pointer))
        return one if found is None else LunchItem(food=found)

    def _child(self, asked: LunchCheckWithIds | WeekWithIds, day: date) -> dict[str, Any]:
        if not isinstance(asked.child, str):
            return {}
        kept_id = asked.child
        child = self._or_fault(lambda: self.kept.child(kept_id, "/child"))
        if child is None:
            return {}
        changes: dict[str, Any] = {"child": child.child_on(day), "standard": asked.standard or child.standard}
        if "setting" not in asked.model_fields_set:
            changes["setting"] = child.setting()
        return changes

    def _lunch(self, kept_id: str) -> Lunch:
        items, holding = self.kept.items(kept_id, "/lunch")
        return Lunch.model_validate({"items": items, "holding": holding})

    def _offer(self, kept_id: str) -> OfferIn:
        body = self.kept.body(OFFER, kept_id, "/offer")
        return OfferIn.model_validate({name: value for name, value in body.items() if name != "name"})

    def _screened(self, one: ScreenedChild | str, pointer: str) -> ScreenedChild | str:
        if not isinstance(one, str):
            return one
        child = self._or_fault(lambda: self.kept.child(one, pointer))
        if child is None:
            return one
        return ScreenedChild.model_construct(nickname=child.nickname, avoids=_avoids_with_bans(child))

    def _screened_item(self, one: ScreenedItemWithIds, pointer: str) -> ScreenedItem:
        lunch = one.lunch
        if isinstance(lunch, str):
            kept_id, found = lunch, None
            found = self._or_fault(lambda: self.kept.items(kept_id, f"{pointer}/lunch"))
            lunch = [] if found is None else found[0]
        return ScreenedItem.model_construct(one.model_fields_set, name=one.name, food=one.food, lunch=lunch)

    def _audited(self, one: OfferChild | str, pointer: str, day: date, offered: "list[Offered]") -> OfferChild | str:
        if not isinstance(one, str):
            return one
        child = self._or_fault(lambda: self.kept.child(one, pointer))
        if child is None:
            return one
        without = [ItemRef(**one) for one in _disliked(child, offered)]
        return OfferChild.model_construct(
            **{**dict(child.child_on(day)), "avoids": _avoids_with_bans(child)},
            standard=child.standard,
            without=without,
        )

    def _narrowed(self, model: type[_Model], asked: BaseModel, changes: dict[str, Any]) -> _Model:
        """The request without ids, of fields that were validated; what holds a fault is not used."""
        whole = model.model_construct(asked.model_fields_set | set(changes), **{**dict(asked), **changes})
        return self.foods(whole, "")

    def _or_fault(self, find_it: Callable[[], _Part]) -> _Part | None:
        try:
            return find_it()
        except LunchError as fault:
            self.faults += fault.faults()
            return None


def offered_by(offer: OfferIn) -> "list[Offered]":
    """The items of an offer, as far as a dislike looks at them."""
    return [
        Offered(group.id, item.key or name, food_id, frozenset(WORD.findall(fold(words))))
        for group in offer.groups
        for item in group.items
        for food_id, name, words in [_names(item.food)]
    ]


def _names(food: str | LabelFood | Recipe) -> tuple[str, str, str]:
    """A food's id (empty for a label or recipe), its id or name, and the words of its name."""
    if not isinstance(food, str):
        return "", food.name, food.name
    known = find_food(food)
    return food, food, f"{known.name} {' '.join(known.search_words)}" if known else food


def _avoids_with_bans(child: KeptChild) -> list[AvoidedAllergen]:
    """What a child avoids, and what its school bans: children of several schools are looked at together."""
    return child.avoids + [AvoidedAllergen(allergen=ban, threshold=child.ban_threshold) for ban in child.bans]


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
