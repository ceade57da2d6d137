"""How many portions of each item of an offer are enough for some days: whatever is taken, and in most cases."""

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from typing import Any, NamedTuple

from service.domain.cautions import CAUTIONS
from service.domain.counting.masks import Tick
from service.domain.errors import BadInput, Faults
from service.domain.lunch.check import PreparedItem
from service.domain.messages import Message, Value, message
from service.domain.offers.branches import Key
from service.domain.offers.offer import ChoiceGroup, Offer
from service.domain.plan.portions.enough import Eater
from service.domain.plan.portions.usual_portions import Usual, usual_portions
from service.domain.shares import percent
from service.domain.weeks.cost import NotCounted, packed_cost, rounded
from service.jobs.offers.audit_offer import audit_offer
from service.jobs.offers.portions import names_of_children
from service.jobs.offers.requests import item_key
from service.jobs.offers.resolve import resolve_audit
from service.jobs.plan.eaters import eater_of, largest_of, left_for
from service.jobs.plan.how_readily import how_readily, shares_of
from service.jobs.plan.requests import PortionNeedsRequest
from service.jobs.plan.weeks.resolve import food_key_of
from service.jobs.weeks.cost_rows import decimals_of, not_counted_messages
from service.jobs.weeks.prices import price_book, priced_item
from service.planning.enough_model import Guaranteed, guaranteed
from service.reference.messages import listed_as, worded, worded_as

Reply = dict[str, Any]


class _Group(NamedTuple):
    """One choice group: its items, who takes of it, what a portion costs, and the floors."""

    group: ChoiceGroup
    eaters: list[Eater]
    cost: Mapping[str, Fraction | int]
    at_least: Mapping[str, int]


class _Costs(NamedTuple):
    """What a portion of each item costs, in minor units; ``unpriced``: items without a price; ``not_counted``: prices in another currency."""

    currency: str | None
    of: Mapping[Key, Fraction]
    unpriced: tuple[str, ...]
    not_counted: tuple[NotCounted, ...]

    @property
    def known(self) -> bool:
        """Whether every item has a price."""
        return self.currency is not None and not self.unpriced


def portion_needs(asked: PortionNeedsRequest, tick: Tick | None = None) -> Reply:
    """How many portions are enough for each choice group.

    ``tick``: called now and then, may raise to stop. Raises ``LunchError`` for what does not fit, all faults together.

    Every group is looked at by itself, as if each child there took from it each morning: with groups that stand in for each
    other, and with rules that ask for more, this is enough and may be more than needed (``exact`` is then false).
    """
    made = resolve_audit(asked.audit(), tick)
    largest = largest_of(made.children)
    costs = _costs(asked, largest)
    floors = _floors(asked, made.children[0].whole)
    names = names_of_children(asked.children)
    audited = audit_offer(asked.audit(), tick)
    groups = []
    for group in made.children[0].whole.groups:
        if tick is not None:
            tick()
        keys = [key for key in group.items if any((group.id, key) in left_for(one) for one in made.children)]
        one = _Group(
            group,
            [
                eater_of(child, names[place], group, _mornings(asked, place))
                for place, child in enumerate(made.children)
            ],
            {key: costs.of[(group.id, key)] if costs.known else 1 for key in keys},
            {key: max(floors.get((group.id, key), 0), asked.of_each) for key in keys},
        )
        groups.append(_group_row(asked, one, made.children[0].whole, largest, costs))
    return {
        "days": [day.isoformat() for day in sorted(asked.days)],
        "currency": costs.currency,
        "digits": None if costs.currency is None else decimals_of(costs.currency),
        "cheapest": costs.known,
        "unpriced": sorted(set(costs.unpriced)) if costs.currency else [],
        "children": [
            {
                "nickname": child["nickname"],
                "right": child["right"],
                "total": child["total"],
                "to_mend": child["right"] != child["total"],
            }
            for child in audited["children"]
        ],
        "groups": groups,
        **listed_as("note", list(_notes(audited["children"], names, costs))),
        **listed_as("caution", CAUTIONS),
    }


def _mornings(asked: PortionNeedsRequest, place: int) -> frozenset[int]:
    """The numbers of the days on which a child takes something."""
    away = {day for one in asked.not_there if one.child == place for day in one.days}
    return frozenset(number for number, day in enumerate(sorted(asked.days)) if day not in away)


def _group_row(
    asked: PortionNeedsRequest, one: _Group, whole: Offer, largest: Mapping[Key, PreparedItem], costs: _Costs
) -> Reply:
    always = guaranteed(one.eaters, one.cost, one.at_least)
    readily = how_readily(one.eaters, _food_of(asked, one.group), asked.taken_before, _liked(asked, one.group.id))
    shares = shares_of(readily)
    usual: Usual | None = None
    if always.portions:
        usual = usual_portions(one.eaters, [always.portions], one.cost, asked.chance, shares, one.at_least, asked.seed)
    return {
        "group": one.group.id,
        "exact": _is_exact(whole, one.group.id),
        "always": _choice_row(always.portions, always.cost, costs) | {"proven": always.proven},
        "usual": None
        if usual is None
        else _choice_row(usual.portions, usual.cost, costs)
        | {"chance": round(usual.chance.share, 6), "error": usual.chance.error and round(usual.chance.error, 6)},
        "items": [
            {
                "item": key,
                "name": largest[(one.group.id, key)].food.name,
                "grams": largest[(one.group.id, key)].amount_mg / 1000,
                "always": always.portions.get(key),
                "usual": None if usual is None else usual.portions[key],
                "cost_minor": rounded(costs.of[(one.group.id, key)]) if (one.group.id, key) in costs.of else None,
                "may_take": [eater.name for eater in one.eaters if key in eater.may_take],
            }
            for key in one.cost
        ],
        "readily": [each.row() for each in readily],
        "nothing_for": list(always.nobody),
        **worded(_sentence(one, always, usual)),
        **worded_as("costs", _cost_message(always, usual, costs)),
    }


def _food_of(asked: PortionNeedsRequest, group: ChoiceGroup) -> dict[str, str]:
    """The food of each item of a group."""
    foods = {
        item_key(item.key, item.food): food_key_of(item.food)
        for one in asked.offer.groups
        if one.id == group.id
        for item in one.items
    }
    return {key: foods[key] for key in group.items}


def _liked(asked: PortionNeedsRequest, group: str) -> dict[int, dict[str, float]]:
    """What the request says of how readily foods of a group are taken, by place of the child."""
    found: dict[int, dict[str, float]] = {}
    for one in asked.liked:
        if one.group == group:
            found.setdefault(one.child, {})[one.item] = one.times
    return found


def _choice_row(portions: Mapping[str, int], cost: Fraction, costs: _Costs) -> Reply:
    return {"portions": sum(portions.values()), "cost_minor": rounded(cost) if costs.known else None}


def _sentence(one: _Group, always: Guaranteed, usual: Usual | None) -> Message:
    if usual is None:
        return message("enough.nothing-for", group=one.group.id, names=list(always.nobody))
    said: dict[str, Value] = {"group": one.group.id, "always": always.total}
    if not any(eater.least for eater in one.eaters):
        return message("enough.nobody-must", **said)
    if always.total == usual.total:
        return message("enough.the-same", **said)
    return message("enough.more", **said, usual=usual.total, percent=percent(usual.chance.share))


def _cost_message(always: Guaranteed, usual: Usual | None, costs: _Costs) -> Message | None:
    if usual is None or not costs.known or costs.currency is None:
        return None
    money: dict[str, Value] = {"currency": costs.currency, "digits": decimals_of(costs.currency)}
    return message("enough.costs", **money, always=rounded(always.cost), usual=rounded(usual.cost))


def _is_exact(offer: Offer, group: str) -> bool:
    alone = not any(group in one for one in offer.alternatives)
    return alone and not any(rule.then_group == group for rule in offer.rules)


def _floors(asked: PortionNeedsRequest, offer: Offer) -> dict[Key, int]:
    known = {(group.id, key) for group in offer.groups for key in group.items}
    faults = Faults()
    for name in ("at_least", "liked"):
        for place, one in enumerate(getattr(asked, name)):
            if (one.group, one.item) not in known:
                value = f"{one.group}/{one.item}"
                faults.add(BadInput(field=(name, place), value=value, problem=message("fault.item-not-of-offer")))
    faults.raise_all()
    return {(one.group, one.item): one.portions for one in asked.at_least}


def _costs(asked: PortionNeedsRequest, largest: Mapping[Key, PreparedItem]) -> _Costs:
    """What a portion of each item costs on the first day."""
    book = price_book(asked.prices, [])
    if book is None:
        return _Costs(None, {}, (), ())
    found: dict[Key, Fraction] = {}
    unpriced: list[str] = []
    not_counted: list[NotCounted] = []
    for group in asked.offer.groups:
        for item in group.items:
            key = (group.id, item_key(item.key, item.food))
            made = largest[key]
            cost = packed_cost([priced_item(item.food, made.food, made.amount_mg)], book.foods, min(asked.days))
            unpriced += cost.unpriced
            not_counted += cost.not_counted
            if not cost.unpriced:
                found[key] = cost.exact
    return _Costs(book.currency, found, tuple(unpriced), tuple(dict.fromkeys(not_counted)))


def _notes(children: Sequence[Reply], names: Sequence[str], costs: _Costs) -> Iterator[Message]:
    wrong = [name for name, child in zip(names, children, strict=True) if child["right"] != child["total"]]
    if wrong:
        yield message("enough.not-all-right", names=wrong)
    if costs.currency is not None and not costs.known:
        yield message("enough.fewest", names=sorted(set(costs.unpriced)))
    if costs.currency is not None:
        yield from not_counted_messages(costs.not_counted, costs.currency, names)
