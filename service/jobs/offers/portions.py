"""The amounts that single children get of an offer's items: looked over, and written into the items of a child.

A child is named by its nickname, or by its place where it has none. What is written in is judged like any other amount.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import NamedTuple

from service.domain.errors import BadInput, Faults
from service.domain.foods.amounts import item_vector
from service.domain.lunch.check import PreparedItem
from service.domain.messages import message
from service.domain.offers.branches import Key
from service.jobs.foods.resolve import amount_of
from service.jobs.offers.requests import A_NICKNAME, OfferChild, OfferIn, item_key
from service.reference.lunch.standards import crediting_scheme

PlaceOf = tuple[str | int, ...]
"""Where something stands in an offer."""


class OwnAmount(NamedTuple):
    """An amount of its own for a child: of which item, where it stands in the offer, and how many of the item's unit."""

    key: Key
    place: PlaceOf
    quantity: float


Amounts = tuple[tuple[Key, float], ...]
"""Items and how many of their unit a child gets: what tells the offers of two children apart."""


def amounts_in(own: Sequence[OwnAmount]) -> Amounts:
    """What a child gets otherwise than everybody, wherever that stands in the offer."""
    return tuple((one.key, one.quantity) for one in own)


def names_of_children(children: Sequence[OfferChild]) -> list[str]:
    """What each child of a request goes by: its nickname, or its place, counted from 1."""
    return [child.nickname or f"child {place}" for place, child in enumerate(children, 1)]


def portions_of(offer: OfferIn) -> Iterator[tuple[PlaceOf, str]]:
    """Every portion of a child: the place of the child's name in the offer, and the name."""
    for group_place, group in enumerate(offer.groups):
        for place, item in enumerate(group.items):
            for number, portion in enumerate(item.portions):
                yield ("groups", group_place, "items", place, "portions", number, "child"), portion.child


def refuse_wrong_portions(offer: OfferIn, known: Sequence[str] | None = None) -> None:
    """Raise ``BadInput`` for each portion of a child that has one of the same item already, or that is none of those known.

    ``known``: what the children of the request go by; None where that is looked at elsewhere.
    """
    faults = Faults()
    seen: set[tuple[PlaceOf, str]] = set()
    for place, child in portions_of(offer):
        item = place[:-2]
        if known is not None and child not in known:
            faults.add(BadInput(field=place, value=A_NICKNAME, problem=message("fault.portion-of-nobody")))
        elif (item, child) in seen:
            faults.add(BadInput(field=place, value=A_NICKNAME, problem=message("fault.portion-twice")))
        seen.add((item, child))
    faults.raise_all()


def own_amounts(offer: OfferIn, child: str) -> tuple[OwnAmount, ...]:
    """The amounts of a child that are others than those of everybody."""
    return tuple(
        OwnAmount(
            (group.id, item_key(item.key, item.food)),
            ("groups", group_place, "items", place, "portions", number),
            portion.quantity,
        )
        for group_place, group in enumerate(offer.groups)
        for place, item in enumerate(group.items)
        for number, portion in enumerate(item.portions)
        if portion.child == child and portion.quantity != item.quantity
    )


def in_own_amounts(
    items: Mapping[Key, PreparedItem], own: Sequence[OwnAmount], crediting: str
) -> dict[Key, PreparedItem]:
    """The items, some of them in the amounts of a child; ``BadInput`` for an amount that is too little or too much."""
    found = dict(items)
    faults = Faults()
    for one in own:
        with faults.at(*one.place):
            found[one.key] = in_amount(items[one.key], one.quantity, crediting)
    faults.raise_all()
    return found


def in_amount(item: PreparedItem, quantity: float, crediting: str) -> PreparedItem:
    """An item in another amount, in the same unit."""
    amount_mg, _unit = amount_of(item.food, quantity, item.unit)
    vector = item_vector(item.food, amount_mg, crediting_scheme(crediting), item.option)
    name, food_id, _amount, unit, details, content = item.order
    order = (name, food_id, amount_mg, unit, details, content)
    return replace(item, amount_mg=amount_mg, quantity=quantity, vector=vector, order=order)
