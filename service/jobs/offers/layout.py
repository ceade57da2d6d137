"""An offer as it stands for one child: what must not be taken goes first, then the rest is laid out.

Left out, with the reason: what the child or the setting must avoid or of which that is not known, what is a choking
concern at its age in any form, and what it does not take. What is in a form that is too risky for its age is cut in
another for this child. What is left is what the child may take.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from service.domain.allergens.screening import Avoidance, Screened
from service.domain.errors import BadInput, Faults, UnknownName
from service.domain.foods.packets import NO_PACKETS, Packets, as_on_all
from service.domain.lunch.check import PreparedItem
from service.domain.lunch.handling import HandlingFinding
from service.domain.lunch.standards import TargetTable
from service.domain.lunch.yardsticks import Yardstick
from service.domain.messages import message
from service.domain.offers.branches import Key
from service.domain.offers.handled import ToHandle, broken_of
from service.domain.offers.left_out import LeftOut, left_out, unread
from service.domain.offers.offer import ChoiceGroup, Offer, Take, WithRule, check_offer, without
from service.domain.offers.rows import OfferItems
from service.domain.offers.together import Together
from service.jobs.allergens.avoidances import avoidances_of
from service.jobs.lunch.items import prepare_one
from service.jobs.lunch.resolve import holding_of
from service.jobs.lunch.targets import age_in_months, target_table
from service.jobs.lunch.yardsticks import yardsticks_for
from service.jobs.offers.portions import (
    Amounts,
    OwnAmount,
    amounts_in,
    in_own_amounts,
    names_of_children,
    own_amounts,
)
from service.jobs.offers.requests import HowMany, OfferAuditRequest, OfferChild, OfferIn, item_key
from service.reference.allergens.vocabulary import vocabulary
from service.reference.lunch.handling import handling_rules
from service.reference.lunch.standards import crediting_scheme


@dataclass(frozen=True, slots=True)
class ChildOffer:
    """One child's part of an audit: its targets, what it must avoid, the offer left, and what was left out."""

    child: OfferChild
    table: TargetTable
    age_months: int
    avoidances: list[Avoidance]
    whole: Offer
    """The offer with the numbers that this child takes, before anything was left out."""
    offer: Offer
    items: Mapping[Key, PreparedItem]
    of: OfferItems
    left_out: list[LeftOut]
    to_handle: ToHandle
    handling: Mapping[Key, list[HandlingFinding]]
    """Findings on forms and on how lunches are kept, of the items that are left."""
    unread: Mapping[Key, tuple[Screened, ...]]
    """Items that are left and whose packet is still to be read, with what for."""
    recut: Mapping[Key, str]
    """Items that must be cut in another form for this child than they are set out in: that form."""
    own_amounts: frozenset[Key] = frozenset()
    """Items of which this child gets another amount than everybody."""
    yardsticks: tuple[Yardstick, ...] = ()
    """What its lunches are shown beside."""

    def form_of(self, key: Key) -> str | None:
        """How an item is cut for this child; None: nothing is known of it."""
        prepared = self.items[key]
        usual = prepared.food.handling.forms[:1]
        return prepared.form or (usual[0] if usual else None)

    def cut(self, key: Key) -> str:
        """How an item is cut for this child, in words; empty where that goes without saying."""
        form = self.form_of(key)
        told = key in self.recut or form not in self.items[key].food.handling.forms[:1]
        return "" if form is None or not told else handling_rules().in_words(form)


class PreparedOffers:
    """The offer of one request made ready, once for each way of crediting.

    ``on_other_days``: the packets that hold on its other days, where they are others.
    """

    def __init__(self, asked: OfferIn, packets: Packets = NO_PACKETS, on_other_days: Sequence[Packets] = ()) -> None:
        self.asked = asked
        self.packets = packets
        self.on_other_days = on_other_days
        self.offer = offer_of(asked)
        self.by_crediting: dict[tuple[str, Amounts], dict[Key, PreparedItem]] = {}
        self.by_handling: dict[tuple[str, Amounts, tuple[tuple[int, int], ...]], OfferItems] = {}

    def items(self, crediting: str, own: tuple[OwnAmount, ...] = ()) -> dict[Key, PreparedItem]:
        """All items, some of them in the amounts of a child."""
        known = (crediting, amounts_in(own))
        if known not in self.by_crediting:
            self.by_crediting[known] = (
                in_own_amounts(self.items(crediting), own, crediting) if own else self._items_on_all_days(crediting)
            )
        return self.by_crediting[known]

    def _items_on_all_days(self, crediting: str) -> dict[Key, PreparedItem]:
        items = offered_items(self.asked, crediting, self.packets)
        others = [offered_items(self.asked, crediting, packets) for packets in self.on_other_days]
        if not others:
            return items
        return {
            key: replace(item, food=as_on_all([item.food, *(other[key].food for other in others)]))
            for key, item in items.items()
        }

    def laid_over(
        self, crediting: str, own: tuple[OwnAmount, ...], findings: Mapping[Key, list[HandlingFinding]]
    ) -> OfferItems:
        """The measures of the items, and what counts against each, to be laid over options.

        Children of whom the same is found, and who get the same amounts, share them.
        """
        items = self.items(crediting, own)
        handled = {key: broken_of(findings[key]) for key in items}
        key = (crediting, amounts_in(own), tuple(handled.values()))
        if key not in self.by_handling:
            vectors = {key: item.vector for key, item in items.items()}
            foods = {key: item.food for key, item in items.items()}
            credited = {key: (item.food, item.option, item.amount_mg) for key, item in items.items()}
            together = Together(credited, crediting_scheme(crediting))
            self.by_handling[key] = OfferItems(vectors, foods, handled, together)
        return self.by_handling[key]


def lay_out(asked: OfferAuditRequest, place: int, prepared: PreparedOffers) -> ChildOffer:
    """The offer as it stands for the child at ``place``, in its amounts; all faults together, each with its place.

    ``place``: of the child among those asked for. Raises ``ManyFaults``.
    """
    child, child_at = asked.children[place], ("children", place)
    own = own_amounts(asked.offer, names_of_children(asked.children)[place])
    table: TargetTable | None = None
    avoidances: list[Avoidance] = []
    items: dict[Key, PreparedItem] = {}
    offer = prepared.offer
    faults = Faults()
    with faults.at():
        table = target_table(child.standard, child, asked.on, standard_at=child_at, child_at=child_at)
    with faults.at():
        avoidances = avoidances_of(child, asked.setting, child_at)
    with faults.at("offer"):
        items = prepared.items("" if table is None else table.standard.crediting, own)
    with faults.at(*child_at, "takes"):
        offer = _with_takes(offer, child)
    with faults.at("offer"):
        check_offer(offer)
    disliked: set[Key] = set()
    with faults.at(*child_at, "without"):
        disliked = _disliked(child, prepared.offer)
    yardsticks: tuple[Yardstick, ...] = ()
    if child.yardsticks and table is not None:
        with faults.at(*child_at, "yardsticks"):
            yardsticks = yardsticks_for(child.yardsticks, age_in_months(child, table.age_group), asked.on)
    faults.raise_all()
    assert table is not None  # noqa: S101 - otherwise there was a fault
    age_months = age_in_months(child, table.age_group)
    to_handle = ToHandle(handling_rules(), holding_of(asked.holding), age_months, tuple(asked.regions))
    recut: dict[Key, str] = {}
    for key, item in items.items():
        form = to_handle.form_in_order(item.food, item.form)
        if form is not None:
            recut[key] = form
    items = {key: replace(item, form=recut[key]) if key in recut else item for key, item in items.items()}
    findings = {key: to_handle.findings(item.food, item.form, item.held) for key, item in items.items()}
    gone = left_out(items, avoidances, disliked, findings, vocabulary())
    keys: dict[str, set[str]] = {}
    for one in gone:
        keys.setdefault(one.key[0], set()).add(one.key[1])
    left = without(offer, {group: frozenset(names) for group, names in keys.items()})
    of = prepared.laid_over(table.standard.crediting, own, findings)
    staying = [(group.id, key) for group in left.groups for key in group.items]
    handling = {key: findings[key] for key in staying}
    to_read = unread({key: items[key] for key in staying}, avoidances, vocabulary())
    return ChildOffer(
        child,
        table,
        age_months,
        avoidances,
        offer,
        left,
        items,
        of,
        gone,
        to_handle,
        handling,
        to_read,
        recut,
        frozenset(one.key for one in own),
        yardsticks,
    )


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
                        problem=message("fault.key-twice"),
                    )
                items[key] = prepare_one(item, crediting, packets)
    faults.raise_all()
    return items


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
            has = message("help.it-has", names=sorted(known))
            faults.add(
                UnknownName(field=(place, "group"), value=other.group, kind=message("kind.group-of-offer"), known=has)
            )
        elif other.group in [earlier.group for earlier in child.takes[:place]]:
            faults.add(BadInput(field=(place, "group"), value=other.group, problem=message("fault.takes-twice")))
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
            value, has = f"{ref.group}/{ref.item}", message("help.group-and-key")
            faults.add(UnknownName(field=(place,), value=value, kind=message("kind.item-of-offer"), known=has))
    faults.raise_all()
    return {(ref.group, ref.item) for ref in child.without}
