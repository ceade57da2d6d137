"""An offer as it stands for one child: what must not be taken goes first, then the rest is laid out.

Left out, with the reason: what the child or the setting must avoid or of which that is not known, a choking
form for its age, and what it does not take. What is left is what the child may take.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from service.domain.allergens.screening import Avoidance
from service.domain.errors import BadInput, Faults, UnknownName
from service.domain.foods.packets import NO_PACKETS, Packets
from service.domain.lunch.check import PreparedItem
from service.domain.lunch.standards import TargetTable
from service.domain.offers.left_out import LeftOut, left_out
from service.domain.offers.offer import ChoiceGroup, Offer, Take, WithRule, check_offer, without
from service.domain.offers.rows import Key, OfferItems
from service.jobs.allergens.avoidances import avoidances_of
from service.jobs.lunch.items import prepare_one
from service.jobs.lunch.targets import age_in_months, target_table
from service.jobs.offers.requests import HowMany, OfferAuditRequest, OfferChild, OfferIn
from service.reference.allergens.vocabulary import vocabulary
from service.reference.lunch.handling import handling_rules


@dataclass(frozen=True, slots=True)
class ChildOffer:
    """One child's part of an audit: its targets, what it must avoid, the offer left, and what was left out."""

    child: OfferChild
    table: TargetTable
    age_months: int
    avoidances: list[Avoidance]
    offer: Offer
    items: Mapping[Key, PreparedItem]
    of: OfferItems
    left_out: list[LeftOut]


class PreparedOffers:
    """The offer of one request made ready, once for each way of crediting."""

    def __init__(self, asked: OfferIn, packets: Packets = NO_PACKETS) -> None:
        self.asked = asked
        self.packets = packets
        self.offer = offer_of(asked)
        self.by_crediting: dict[str, tuple[dict[Key, PreparedItem], OfferItems]] = {}

    def items(self, crediting: str) -> tuple[dict[Key, PreparedItem], OfferItems]:
        """All items, and their measures to be laid over options."""
        if crediting not in self.by_crediting:
            items = offered_items(self.asked, crediting, self.packets)
            of = OfferItems(
                {key: item.vector for key, item in items.items()}, {key: item.food for key, item in items.items()}
            )
            self.by_crediting[crediting] = (items, of)
        return self.by_crediting[crediting]


def lay_out(asked: OfferAuditRequest, place: int, prepared: PreparedOffers) -> ChildOffer:
    """The offer as it stands for the child at ``place``; all faults together, each with its place.

    ``place``: of the child among those asked for. Raises ``ManyFaults``.
    """
    child, child_at = asked.children[place], ("children", place)
    table: TargetTable | None = None
    avoidances: list[Avoidance] = []
    items: dict[Key, PreparedItem] = {}
    of = OfferItems({}, {})
    offer = prepared.offer
    faults = Faults()
    with faults.at():
        table = target_table(child.standard, child, asked.on, standard_at=child_at, child_at=child_at)
    with faults.at():
        avoidances = avoidances_of(child, asked.setting, child_at)
    with faults.at("offer"):
        items, of = prepared.items("" if table is None else table.standard.crediting)
    with faults.at(*child_at, "takes"):
        offer = _with_takes(offer, child)
    with faults.at("offer"):
        check_offer(offer)
    disliked: set[Key] = set()
    with faults.at(*child_at, "without"):
        disliked = _disliked(child, prepared.offer)
    faults.raise_all()
    assert table is not None  # noqa: S101 - otherwise there was a fault
    age_months = age_in_months(child, table.age_group)
    rules, regions = handling_rules(), tuple(asked.regions)
    gone = left_out(items, avoidances, disliked, age_months, vocabulary(), rules, regions)
    keys: dict[str, set[str]] = {}
    for one in gone:
        keys.setdefault(one.key[0], set()).add(one.key[1])
    left = without(offer, {group: frozenset(names) for group, names in keys.items()})
    return ChildOffer(child, table, age_months, avoidances, left, items, of, gone)


def offered_items(offer: OfferIn, crediting: str, packets: Packets = NO_PACKETS) -> dict[Key, PreparedItem]:
    """All items of the offer made ready, by group and key; doubled keys are refused. Faults have their place in it."""
    items: dict[Key, PreparedItem] = {}
    faults = Faults()
    for group_place, group in enumerate(offer.groups):
        for place, item in enumerate(group.items):
            key = (group.id, item_key(item.key, item.food))
            with faults.at("groups", group_place, "items", place):
                if key in items:
                    raise BadInput(
                        field="key",
                        value=key[1],
                        problem="appears twice in the group",
                        remedy="Give one of the two a different key.",
                    )
                items[key] = prepare_one(item, crediting, packets)
    faults.raise_all()
    return items


def item_key(key: str | None, food: Any) -> str:
    """The key of an item: its own, the food's id, or the name of a food sent along."""
    return key or (food if isinstance(food, str) else food.name)


def offer_of(asked: OfferIn) -> Offer:
    """The offer in the domain's form."""
    return Offer(
        tuple(
            ChoiceGroup(group.id, tuple(item_key(item.key, item.food) for item in group.items), _take(group.take))
            for group in asked.groups
        ),
        tuple(tuple(together) for together in asked.alternatives),
        tuple(WithRule(rule.group, rule.item, rule.then_group, _take(rule.take)) for rule in asked.rules),
    )


def _take(asked: HowMany) -> Take:
    return Take(asked.at_least, asked.at_most, asked.repeats)


def _with_takes(offer: Offer, child: OfferChild) -> Offer:
    """The offer with the numbers that this child takes."""
    known = [group.id for group in offer.groups]
    faults = Faults()
    for place, other in enumerate(child.takes):
        if other.group not in known:
            has = "It has: " + ", ".join(sorted(known)) + "."
            faults.add(UnknownName(field=(place, "group"), value=other.group, kind="group of the offer", known=has))
    faults.raise_all()
    takes = {other.group: _take(other.take) for other in child.takes}
    groups = tuple(ChoiceGroup(g.id, g.items, takes.get(g.id, g.take)) for g in offer.groups)
    return Offer(groups, offer.alternatives, offer.rules)


def _disliked(child: OfferChild, offer: Offer) -> set[Key]:
    """The items that this child does not take."""
    known = {(group.id, key) for group in offer.groups for key in group.items}
    faults = Faults()
    for place, ref in enumerate(child.without):
        if (ref.group, ref.item) not in known:
            value, has = f"{ref.group}/{ref.item}", "Name the group's id and the item's key."
            faults.add(UnknownName(field=(place,), value=value, kind="item of the offer", known=has))
    faults.raise_all()
    return {(ref.group, ref.item) for ref in child.without}
