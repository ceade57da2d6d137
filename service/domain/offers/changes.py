"""Where a change to an offer is made, and the offer after it."""

from typing import NamedTuple

from service.domain.lunch.changing.changes import Change
from service.domain.offers.offer import ChoiceGroup, Offer, Take, WithRule


class InOffer(NamedTuple):
    """The place of a change in an offer.

    ``item``: key of the item that goes or changes (for "with this, take that": of the item it is taken with, from
    ``with_group``); ``new_item``: key of what comes in; ``take``: how many are taken from ``group`` then.
    """

    group: str
    item: str | None = None
    new_item: str | None = None
    take: Take | None = None
    with_group: str | None = None


OfferChange = Change[InOffer]


def offer_after(offer: Offer, where: InOffer) -> Offer:
    """The offer with a change made; rules that speak of an item go with it, or hold for what comes in its place.

    ``where``: the place of the change. Source: ours.
    """
    group = offer.group(where.group)
    if where.with_group is not None and where.item is not None and where.take is not None:
        rule = WithRule(where.with_group, where.item, where.group, where.take)
        return Offer(offer.groups, offer.alternatives, (*offer.rules, rule))
    if where.take is not None:
        return with_group(offer, ChoiceGroup(group.id, group.items, where.take))
    if where.item is None:
        added = () if where.new_item is None else (where.new_item,)
        return with_group(offer, ChoiceGroup(group.id, (*group.items, *added), group.take))
    comes = () if where.new_item is None else (where.new_item,)
    items = tuple(key for one in group.items for key in (comes if one == where.item else (one,)))
    rules = tuple(
        rule._replace(item=key) if (rule.group, rule.item) == (group.id, where.item) else rule
        for rule in offer.rules
        for key in (comes if (rule.group, rule.item) == (group.id, where.item) else (rule.item,))
    )
    return with_group(Offer(offer.groups, offer.alternatives, rules), ChoiceGroup(group.id, items, group.take))


def with_group(offer: Offer, changed: ChoiceGroup) -> Offer:
    """The offer with one of its groups changed."""
    groups = tuple(changed if group.id == changed.id else group for group in offer.groups)
    return Offer(groups, offer.alternatives, offer.rules)
