"""Edits of an offer, one small change at a time, as a person makes them: each gives the offer that it then is.

Items are spoken of by their key, which every item has here (``with_keys``). What a rule or an alternative names goes along:
it follows a group that is renamed, and goes with a group or an item that is removed.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any, Literal, TypeVar

from pydantic import Field

from service.domain.errors import BadInput, UnknownName
from service.domain.messages import message
from service.jobs.offers.requests import HowMany, OfferedItem, OfferGroup, OfferIn, WithItem, item_key
from service.jobs.requests.fields import Amount, Asked, Form, Name

AnOffer = TypeVar("AnOffer", bound=OfferIn)


class ChangeToMake(Asked):
    """One change to an offer, as an audit reports it: what is needed to make it."""

    kind: Literal["portion", "swap", "add", "remove", "take", "with"] = Field(description="What kind of change it is.")
    group: Name = Field(description="Id of the group.")
    item: Name | None = Field(None, description="Key of the item that goes or changes.")
    new_item: Name | None = Field(None, description="Key of the item that comes in.")
    food: Name | None = Field(None, description="Id of the food that comes in.")
    quantity: Amount | None = Field(None, description="How many of `unit`.")
    unit: Name | None = Field(None, description="g, or a household unit of the food.")
    form: Form | None = Field(None, description="How it is cut.")
    take: HowMany | None = Field(None, description="How many are then taken from the group.")
    rule: WithItem | None = Field(None, description="The rule that is then made.")


def changes_to_make(rows: Iterable[Mapping[str, Any]]) -> list[ChangeToMake]:
    """The changes of one row of an audit's reply, with nothing but what is needed to make them."""
    fields = ChangeToMake.model_fields
    return [ChangeToMake.model_validate({name: row[name] for name in fields if name in row}) for row in rows]


def with_keys(offer: AnOffer, resolved: OfferIn) -> AnOffer:
    """The offer with its key on every item; ``resolved``: the same offer with the foods that ids of own foods stand for."""
    groups = [
        group.model_copy(
            update={
                "items": [
                    item.model_copy(update={"key": item_key(item.key, whole.food)})
                    for item, whole in zip(group.items, other.items, strict=True)
                ]
            }
        )
        for group, other in zip(offer.groups, resolved.groups, strict=True)
    ]
    return offer.model_copy(update={"groups": groups})


def make_changes(offer: AnOffer, changes: Sequence[ChangeToMake], child: str = "") -> AnOffer:
    """The offer with the changes of one row of an audit's reply made, one after the other.

    ``child``: for whom they were found, as portions name it: where it has an amount of its own, that is what changes.
    """
    for change in changes:
        offer = _made(offer, change, child)
    return offer


def _made(offer: AnOffer, change: ChangeToMake, child: str) -> AnOffer:
    if change.kind == "take" and change.take is not None:
        return set_take(offer, change.group, change.take)
    if change.kind == "with" and change.rule is not None:
        return add_rule(offer, change.rule)
    if change.kind == "portion" and change.item is not None and change.quantity is not None:
        if _has_own_amount(offer, change.group, change.item, child):
            return set_own_amount(offer, change.group, change.item, child, change.quantity)
        return set_amount(offer, change.group, change.item, change.quantity, change.unit)
    if change.kind == "remove" and change.item is not None:
        return remove_item(offer, change.group, change.item)
    if change.food is not None and change.new_item is not None:
        update = {"food": change.food, "key": change.new_item, "unit": change.unit, "form": change.form}
        comes = OfferedItem.model_validate({**update, "quantity": change.quantity or 1.0})
        return put_in(offer, change.group, change.item, comes)
    raise BadInput(field="changes", value=change.kind, problem=message("fault.change-not-whole"))


def put_groups(offer: AnOffer, groups: Sequence[OfferGroup]) -> AnOffer:
    """Other groups in the place of all; rules and alternatives stay where what they speak of is there."""
    keys = {(group.id, item.key) for group in groups for item in group.items}
    ids = {group.id for group in groups}
    alternatives = [[one for one in together if one in ids] for together in offer.alternatives]
    return offer.model_copy(
        update={
            "groups": list(groups),
            "alternatives": [together for together in alternatives if len(together) > 1],
            "rules": [rule for rule in offer.rules if (rule.group, rule.item) in keys and rule.then_group in ids],
        }
    )


def put_in(offer: AnOffer, group: str, instead_of: str | None, comes: OfferedItem) -> AnOffer:
    """An item more in a group, or one in the place of another, for which the rules then hold."""

    def edit(there: OfferGroup) -> OfferGroup:
        place = len(there.items) if instead_of is None else _place(there, instead_of)
        return there.model_copy(update={"items": [*there.items[:place], comes, *there.items[place + 1 :]]})

    offer = _group_edited(offer, group, edit)
    if instead_of is None:
        return offer
    rules = [
        rule.model_copy(update={"item": comes.key}) if (rule.group, rule.item) == (group, instead_of) else rule
        for rule in offer.rules
    ]
    return offer.model_copy(update={"rules": rules})


def add_item(offer: AnOffer, group: str, food: str, name: str, quantity: float, unit: str | None) -> AnOffer:
    """A food more in a group, in a group of its own where there is none of that name; its key is ``name``, or the next free."""
    there = next((one for one in offer.groups if one.id == group), None)
    taken = set() if there is None else {item.key for item in there.items}
    key, number = name, 2
    while key in taken:
        key, number = f"{name} {number}", number + 1
    item = OfferedItem.model_validate({"food": food, "key": key, "quantity": quantity, "unit": unit})
    if there is not None:
        return put_in(offer, group, None, item)
    new = OfferGroup.model_validate({"id": group, "items": [item.model_dump(exclude_unset=True)]})
    return offer.model_copy(update={"groups": [*offer.groups, new]})


def remove_item(offer: AnOffer, group: str, item: str) -> AnOffer:
    """Without an item; with the last item of a group the group goes too."""
    there = _group(offer, group)
    place = _place(there, item)
    if len(there.items) == 1:
        return remove_group(offer, group)
    left = [one for number, one in enumerate(there.items) if number != place]
    offer = _group_edited(offer, group, lambda one: one.model_copy(update={"items": left}))
    return offer.model_copy(
        update={"rules": [rule for rule in offer.rules if (rule.group, rule.item) != (group, item)]}
    )


def set_amount(
    offer: AnOffer,
    group: str,
    item: str,
    quantity: float,
    unit: str | None,
    own: Mapping[str, float] | None = None,
) -> AnOffer:
    """Another portion of an item. ``own``: the amounts of single children instead of those that there are, by child."""
    update: dict[str, Any] = {"key": item, "quantity": quantity, "unit": unit}
    if own is not None:
        update["portions"] = [{"child": child, "quantity": amount} for child, amount in own.items()]
    return _item_edited(offer, group, item, update)


def set_own_amount(offer: AnOffer, group: str, item: str, child: str, quantity: float) -> AnOffer:
    """Another amount of an item for one child, in the unit of the item."""
    there = _group(offer, group)
    others = [one.model_dump() for one in there.items[_place(there, item)].portions if one.child != child]
    return _item_edited(offer, group, item, {"portions": [*others, {"child": child, "quantity": quantity}]})


def _has_own_amount(offer: AnOffer, group: str, item: str, child: str) -> bool:
    there = _group(offer, group)
    return any(one.child == child for one in there.items[_place(there, item)].portions)


def _item_edited(offer: AnOffer, group: str, item: str, update: dict[str, Any]) -> AnOffer:
    def edit(there: OfferGroup) -> OfferGroup:
        place = _place(there, item)
        items = [*there.items]
        items[place] = OfferedItem.model_validate(items[place].model_dump(exclude_unset=True) | update)
        return there.model_copy(update={"items": items})

    return _group_edited(offer, group, edit)


def set_take(offer: AnOffer, group: str, take: HowMany) -> AnOffer:
    """Another number taken from a group."""
    return _group_edited(offer, group, lambda one: one.model_copy(update={"take": take}))


def rename_group(offer: AnOffer, group: str, name: str) -> AnOffer:
    """Another name for a group, in rules and alternatives too."""
    if name != group and any(one.id == name for one in offer.groups):
        raise BadInput(field="name", value=name, problem=message("fault.group-name-taken"))

    def called(one: str) -> str:
        return name if one == group else one

    named = OfferGroup.model_validate({**_group(offer, group).model_dump(exclude_unset=True), "id": name})
    rules = [
        rule.model_copy(update={"group": called(rule.group), "then_group": called(rule.then_group)})
        for rule in offer.rules
    ]
    return offer.model_copy(
        update={
            "groups": [named if one.id == group else one for one in offer.groups],
            "alternatives": [[called(one) for one in together] for together in offer.alternatives],
            "rules": rules,
        }
    )


def remove_group(offer: AnOffer, group: str) -> AnOffer:
    """Without a group; rules that speak of it go too, and alternatives of which only one group is left."""
    left = [one for one in offer.groups if one.id != _group(offer, group).id]
    if not left:
        raise BadInput(
            field="group",
            value=group,
            problem=message("fault.only-group"),
        )
    alternatives = [[one for one in together if one != group] for together in offer.alternatives]
    return offer.model_copy(
        update={
            "groups": left,
            "alternatives": [together for together in alternatives if len(together) > 1],
            "rules": [rule for rule in offer.rules if group not in (rule.group, rule.then_group)],
        }
    )


def stand_in(offer: AnOffer, groups: Sequence[str]) -> AnOffer:
    """Have some groups stand in for each other: exactly one of them is taken from."""
    if len(set(groups)) < 2:
        raise BadInput(
            field="groups",
            value=", ".join(groups) or "none",
            problem=message("fault.too-few-to-stand-in"),
        )
    others = [[one for one in together if one not in groups] for together in offer.alternatives]
    kept = [together for together in others if len(together) > 1]
    return offer.model_copy(update={"alternatives": [*kept, list(dict.fromkeys(groups))]})


def stand_alone(offer: AnOffer, groups: Sequence[str]) -> AnOffer:
    """These groups no longer stand in for each other; as they are where they did not."""
    kept = [together for together in offer.alternatives if set(together) != set(groups)]
    return offer.model_copy(update={"alternatives": kept})


def add_rule(offer: AnOffer, rule: WithItem) -> AnOffer:
    """With an item of one group, another number from another group."""
    same = (rule.group, rule.item, rule.then_group)
    others = [one for one in offer.rules if (one.group, one.item, one.then_group) != same]
    return offer.model_copy(update={"rules": [*others, rule]})


def remove_rule(offer: AnOffer, group: str, item: str, then_group: str) -> AnOffer:
    """Without a rule; as it is where there is no such rule."""
    gone = (group, item, then_group)
    kept = [one for one in offer.rules if (one.group, one.item, one.then_group) != gone]
    return offer.model_copy(update={"rules": kept})


def _group(offer: OfferIn, group: str) -> OfferGroup:
    for one in offer.groups:
        if one.id == group:
            return one
    has = message("help.known", names=[one.id for one in offer.groups])
    raise UnknownName(field="group", value=group, kind=message("kind.group-of-offer"), known=has)


def _place(group: OfferGroup, item: str) -> int:
    for place, one in enumerate(group.items):
        if one.key == item:
            return place
    has = message("help.known", names=[str(one.key) for one in group.items])
    raise UnknownName(field="item", value=item, kind=message("kind.item-of", group=group.id), known=has)


def _group_edited(offer: AnOffer, group: str, edit: Callable[[OfferGroup], OfferGroup]) -> AnOffer:
    edited = edit(_group(offer, group))
    return offer.model_copy(update={"groups": [edited if one.id == group else one for one in offer.groups]})
