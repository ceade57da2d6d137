"""An offer as it stands for one child: what must not be taken goes first, then the rest is laid out.

Left out, with the reason: what the child or the setting must avoid or of which that is not known, a choking
form for its age, and what it does not take. What is left is what the child may take.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from service.domain.allergens.screening import OUTCOME_RANK, Avoidance, screen_food
from service.domain.errors import BadInput, LunchError, UnknownName, raise_all
from service.domain.lunch.handling import choking_finding
from service.domain.lunch.standards import TargetTable
from service.domain.offers.offer import ChoiceGroup, Offer, Take, WithRule, check_offer, without
from service.domain.offers.rows import OfferItems
from service.jobs.allergens.avoidances import avoidances_of
from service.jobs.lunch.items import PreparedItem, prepare_one
from service.jobs.lunch.targets import age_in_months, target_table
from service.jobs.offers.requests import HowMany, OfferAuditRequest, OfferChild, OfferIn
from service.reference.allergens.vocabulary import vocabulary
from service.reference.lunch.handling import handling_rules

Key = tuple[str, str]
"""Group id and item key."""


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
    left_out: list[dict[str, Any]]


class PreparedOffers:
    """The offer of one request made ready, once for each way of crediting."""

    def __init__(self, offer: OfferIn) -> None:
        self.offer = offer
        self.by_crediting: dict[str, tuple[dict[Key, PreparedItem], OfferItems]] = {}
        self.plain: Offer | None = None

    def items(self, crediting: str) -> tuple[dict[Key, PreparedItem], OfferItems]:
        """All items, and their measures to be laid over options."""
        if crediting not in self.by_crediting:
            items = offered_items(self.offer, crediting)
            of = OfferItems(
                {key: item.vector for key, item in items.items()}, {key: item.food for key, item in items.items()}
            )
            self.by_crediting[crediting] = (items, of)
        return self.by_crediting[crediting]

    def laid(self) -> Offer:
        """The offer in the domain's form."""
        if self.plain is None:
            self.plain = offer_of(self.offer)
        return self.plain


def lay_out(asked: OfferAuditRequest, place: int, prepared: PreparedOffers) -> ChildOffer:
    """The offer as it stands for the child at ``place``; every fault is told with its pointer."""
    child = asked.children[place]
    where = f"/children/{place}"
    child_at = ("children", place)
    table = target_table(child.standard, child, asked.on, standard_at=child_at, child_at=child_at)
    avoidances = avoidances_of(child, asked.setting, child_at)
    items, of = prepared.items(table.standard.crediting)
    offer = _with_takes(prepared.laid(), child, where)
    check_offer(offer)
    age_months = age_in_months(child, table.age_group)
    left_out = _left_out(asked, child, items, avoidances, age_months, where)
    gone: dict[str, set[str]] = {}
    for row in left_out:
        gone.setdefault(row["group"], set()).add(row["item"])
    left = without(offer, {group: frozenset(keys) for group, keys in gone.items()})
    return ChildOffer(child, table, age_months, avoidances, left, items, of, left_out)


def offered_items(offer: OfferIn, crediting: str) -> dict[Key, PreparedItem]:
    """All items of the offer made ready, by group and key; doubled keys are refused."""
    items: dict[Key, PreparedItem] = {}
    faults: list[LunchError] = []
    for group_place, group in enumerate(offer.groups):
        for place, item in enumerate(group.items):
            where = f"/offer/groups/{group_place}/items/{place}"
            key = (group.id, item_key(item.key, item.food))
            if key in items:
                faults.append(
                    BadInput(
                        pointer=where + "/key",
                        value=key[1],
                        problem="stands twice in the group",
                        remedy="Give one of the two a key of its own.",
                    )
                )
                continue
            try:
                items[key] = prepare_one(item, crediting)
            except LunchError as fault:
                faults.append(fault.under(where))
    raise_all([one for fault in faults for one in fault.faults()])
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


def _with_takes(offer: Offer, child: OfferChild, where: str) -> Offer:
    takes = {other.group: _take(other.take) for other in child.takes}
    known = {group.id for group in offer.groups}
    for place, other in enumerate(child.takes):
        if other.group not in known:
            raise UnknownName(
                pointer=f"{where}/takes/{place}/group",
                value=other.group,
                kind="group of the offer",
                known="It has: " + ", ".join(sorted(known)) + ".",
            )
    groups = tuple(ChoiceGroup(g.id, g.items, takes.get(g.id, g.take)) for g in offer.groups)
    return Offer(groups, offer.alternatives, offer.rules)


def _left_out(
    asked: OfferAuditRequest,
    child: OfferChild,
    items: Mapping[Key, PreparedItem],
    avoidances: list[Avoidance],
    age_months: int,
    where: str,
) -> list[dict[str, Any]]:
    disliked = set()
    for place, ref in enumerate(child.without):
        if (ref.group, ref.item) not in items:
            raise UnknownName(
                pointer=f"{where}/without/{place}",
                value=f"{ref.group}/{ref.item}",
                kind="item of the offer",
                known="Name the group's id and the item's key.",
            )
        disliked.add((ref.group, ref.item))
    words, rules = vocabulary(), handling_rules()
    rows = []
    for (group, key), item in items.items():
        reasons = []
        results = [screen_food(words, item.food, avoidance) for avoidance in avoidances]
        for one in sorted(results, key=lambda result: -OUTCOME_RANK[result.outcome]):
            if one.do_not_pack or one.outcome == "check_label":
                by = "banned here" if one.avoidance.by == "setting" else "to be avoided"
                said = {"avoid": "contains", "may_contain": "may contain"}.get(one.outcome, "read the label for")
                reasons.append(f"{said} {words.allergens[one.avoidance.allergen].name} ({by}): {one.evidence.evidence}")
        choking = choking_finding(rules, item.food, item.form, age_months, asked.regions)
        if choking is not None and choking.status == "do_not_pack":
            reasons.append(choking.sentence)
        if (group, key) in disliked:
            reasons.append("not taken by this child")
        if reasons:
            kind = "must_not" if len(reasons) > ((group, key) in disliked) else "dislike"
            rows.append({"group": group, "item": key, "name": item.food.name, "kind": kind, "reasons": reasons})
    return rows
