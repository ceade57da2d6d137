"""A stored offer made right for every child: which foods and amounts to set out instead, or what stands in the way.

The foods of the offer are looked at in other amounts, child by child, and where a person asks for it more everyday foods of the
same kinds. Nothing is stored here: what is found is shown first.
"""

from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any, NamedTuple
from uuid import UUID

from service.jobs.household.requests import KeptOffer
from service.jobs.household.stored.kept_things import KeptThings
from service.jobs.household.stored.resolving import Resolving, foods_resolved
from service.jobs.offers.requests import (
    OfferedItem,
    OfferIn,
)
from service.jobs.plan.requests import DesignGroup, DesignItem, OfferDesignRequest, OfferDesignWithIds
from service.store.household.kinds import CHILD
from service.store.household.records import Connection, Record, page

MOST_CHILDREN = 30
SECONDS = 4.0
"""How long is looked; a person waits for it."""
MOST_AMOUNTS = 6
MOST_MORE = 30
"""Everyday foods that may come into a group."""
MOST_CHOICES, MOST_FOODS, MORE_FOODS = 20, 40, 2
DRINKS = frozenset({"drinks", "milk", "plant-drinks"})
"""Kinds of which one stands in for another."""
Reply = dict[str, Any]
Amounts = Mapping[str, float]
"""How much each child gets, by its id."""


class ToDesign(NamedTuple):
    """All that a design of a household's offer needs, read from the store. ``children``: nicknames by id."""

    offer: KeptOffer
    version: int
    children: dict[str, str]
    names: dict[tuple[str, str], str]
    """The names of the offer's foods, by group and key."""
    design: OfferDesignRequest
    resolving: Resolving


def to_design(connection: Connection, household: UUID, record: Record, on: date, *, more: bool) -> ToDesign | None:
    """What to look for; None where the household has no child. ``more``: with more everyday foods of the same kinds.

    Raises ``LunchError`` for what does not fit, for example a child of whose age its standard does not speak.
    """
    from service.jobs.offers.edits import with_keys  # with its arrays: slow to load, and few pages need it
    from service.jobs.offers.layout import offered_items

    children = {str(one.id): one.body["nickname"] for one in page(connection, CHILD, household, None, MOST_CHILDREN)}
    if not children:
        return None
    resolving = Resolving(KeptThings(connection, household))
    sent = KeptOffer.model_validate(record.body)
    resolved = foods_resolved(resolving.kept, sent)
    offer = with_keys(sent, resolved)
    items = offered_items(resolved, "")
    oldest = _oldest(resolving.kept, children, on)
    asked = OfferDesignWithIds(
        on=on,
        children=list(children),
        groups=list(_groups(offer, items, oldest, more=more)),
        alternatives=offer.alternatives,
        rules=offer.rules,
        wish="least_to_buy",
        seconds=SECONDS,
    )
    design = resolving.offer_design(asked)
    resolving.raise_faults()
    names = {key: one.food.name for key, one in items.items()}
    return ToDesign(offer, record.version, children, names, design, resolving)


def _oldest(kept: KeptThings, children: Mapping[str, str], on: date) -> int | None:
    """The age of the oldest child in months: an older one may have two sandwiches; None where no age is known."""
    ages = [kept.child(child, "/children").months_on(on) for child in children]
    return max((one for one in ages if one is not None), default=None)


def _groups(offer: KeptOffer, items: Mapping[Any, Any], oldest: int | None, *, more: bool) -> Iterator[DesignGroup]:
    from service.reference.foods.suggesting import suggesting

    coming = _more_foods(offer, items, oldest) if more else {}
    for group in offer.groups:
        foods = []
        for one in group.items:
            made = items[(group.id, one.key)]
            own = [portion.quantity for portion in one.portions]
            others = suggesting().other_quantities(made.food, made.quantity, made.unit, oldest)
            amounts = [each for each in dict.fromkeys([*own, *others]) if each != one.quantity][:MOST_AMOUNTS]
            fields = one.model_dump(exclude={"portions", "food"})
            foods.append(DesignItem(**fields, food=one.food, quantities=amounts, at_hand=True))
        new = coming.get(group.id, [])
        foods_most = min(MOST_FOODS, len(foods) + (MORE_FOODS if new else 0))
        choices = min(MOST_CHOICES, len(foods), foods_most)
        yield DesignGroup(
            id=group.id, items=[*foods, *new], take=group.take, choices=choices, most_choices=max(foods_most, choices)
        )


def _more_foods(offer: KeptOffer, items: Mapping[Any, Any], oldest: int | None) -> dict[str, list[DesignItem]]:
    """By group everyday foods of its kinds that are nowhere in the offer; each comes into the group that has most of its kind."""
    from service.jobs.foods.at_hand import drinks_like_milk, everyday_foods
    from service.reference.foods.suggesting import suggesting

    there = {made.food.id for made in items.values()}
    kinds = {
        group.id: [_kind(items[(group.id, one.key)].food.category) for one in group.items] for group in offer.groups
    }
    found: dict[str, list[DesignItem]] = {}
    for portion in [*everyday_foods(), *drinks_like_milk()]:
        kind = _kind(portion.food.category)
        group = max(kinds, key=lambda one, kind=kind: kinds[one].count(kind))  # type: ignore[misc]
        some = found.setdefault(group, [])
        if portion.food.id in there or kind not in kinds[group] or len(some) >= MOST_MORE:
            continue
        others = suggesting().other_quantities(portion.food, portion.quantity, portion.unit, oldest)
        some.append(
            DesignItem(
                food=portion.food.id,
                key=portion.food.id,
                quantity=portion.quantity,
                unit=portion.unit,
                form=portion.form,
                quantities=list(others)[:MOST_AMOUNTS],
            )
        )
    return found


def _kind(category: str) -> str:
    return "drinks" if category in DRINKS else category


def design_for_all(made: ToDesign) -> Reply:
    """What is found, and what would change.

    ``found``; ``groups``: of the offer as it would be stored; ``goes``: names by group; ``comes``: foods by group with their
    amounts; ``amounts``: foods that stay in other amounts; ``children``: the exact count for each; ``right``: whether all of
    it is right; ``in_the_way``: a sentence a child, and foods that would help. Takes some seconds.
    """
    from service.jobs.offers.edits import put_groups
    from service.jobs.plan.designs.design_offer import design_offer

    reply = design_offer(made.design)
    if not reply["found"]:
        return {"found": False, "in_the_way": reply["in_the_way"], "notes": []}
    groups = OfferIn.model_validate(reply["offer"]).groups
    whole = put_groups(made.offer, groups)
    rows = [
        {"nickname": name, **{part: one[part] for part in ("right", "right_once_read", "total")}}
        for name, one in zip(made.children.values(), reply["children"], strict=True)
    ]
    names = made.names | {
        (group["id"], one["item"]): one["name"] for group in reply["groups"] for one in group["items"]
    }
    units = {(group["id"], one["item"]): one["unit"] for group in reply["groups"] for one in group["items"]}
    return {
        "found": True,
        "groups": [one.model_dump(mode="json", by_alias=True, exclude_none=True) for one in groups],
        "goes": list(_goes(made, whole)),
        "comes": list(_comes(made, whole, names, units)),
        "amounts": list(_amounts(made, whole, names, units)),
        "children": rows,
        "right": all(one["right_once_read"] == one["total"] for one in rows),
        "to_read": any(one["right"] != one["right_once_read"] for one in rows),
        "in_the_way": [],
        "notes": reply["notes"],
    }


def _items(offer: KeptOffer) -> dict[tuple[str, str], OfferedItem]:
    return {(group.id, str(one.key)): one for group in offer.groups for one in group.items}


def _goes(made: ToDesign, whole: KeptOffer) -> Iterator[Reply]:
    left = _items(whole)
    for key in _items(made.offer):
        if key not in left:
            yield {"group": key[0], "name": made.names[key]}


def _comes(made: ToDesign, whole: KeptOffer, names: Mapping[Any, str], units: Mapping[Any, str]) -> Iterator[Reply]:
    there = _items(made.offer)
    for key, item in _items(whole).items():
        if key not in there:
            own = [(made.children[one.child], one.quantity) for one in item.portions]
            shown = {"group": key[0], "name": names[key], "unit": units[key]}
            yield {**shown, "quantity": item.quantity, "portions": own}


def _amounts(made: ToDesign, whole: KeptOffer, names: Mapping[Any, str], units: Mapping[Any, str]) -> Iterator[Reply]:
    """Foods that stay in another amount: ``changes`` has who gets how much instead of how much; nobody named: everybody."""
    after = _items(whole)
    for key, item in _items(made.offer).items():
        if key not in after:
            continue
        before, now = _by_child(made, item), _by_child(made, after[key])
        changed: dict[tuple[float, float], list[str]] = {}
        for child, nickname in made.children.items():
            if before[child] != now[child]:
                changed.setdefault((before[child], now[child]), []).append(nickname)
        changes = [
            {"children": [] if len(some) == len(made.children) else some, "before": was, "after": becomes}
            for (was, becomes), some in changed.items()
        ]
        if changes:
            yield {"group": key[0], "name": names[key], "unit": units[key], "changes": changes}


def _by_child(made: ToDesign, item: OfferedItem) -> Amounts:
    own = {one.child: one.quantity for one in item.portions}
    return {child: own.get(child, item.quantity) for child in made.children}
