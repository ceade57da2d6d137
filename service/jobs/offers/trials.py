"""What can be tried on an offer to fix it, and the counts after it.

Lists of options and their values are built once and used again, since most offers tried differ in one group.
"""

from collections.abc import Iterable, Iterator, Sequence
from functools import cache
from itertools import combinations
from typing import Any

from service.domain.counting.masks import Tick
from service.domain.errors import LunchError
from service.domain.foods.amounts import Portion, amount_mg_of
from service.domain.foods.food import Food
from service.domain.lunch.changing.changes import Change, ChangeKind
from service.domain.lunch.handling import Held
from service.domain.measures import THOUSANDTHS
from service.domain.messages import Message, message
from service.domain.offers.branches import Key, KnownLists, branches
from service.domain.offers.changes import InOffer, OfferChange, offer_after, with_group
from service.domain.offers.counts import count_right, without_items
from service.domain.offers.handled import broken_of
from service.domain.offers.offer import MOST_OPTIONS, ChoiceGroup, Offer, Take, ways_to_take
from service.domain.offers.one_group import OneGroup, RightOf
from service.domain.offers.rows import OfferItems
from service.domain.offers.together import Together
from service.jobs.lunch.change_rows import change_row
from service.jobs.offers.layout import ChildOffer
from service.jobs.offers.requests import MOST_TAKEN, item_key
from service.reference.foods.household_measures import food_amount
from service.reference.foods.suggesting import suggesting
from service.reference.lunch.standards import crediting_scheme

ONE = Take(1, 1)
MOST_GO, MOST_COME = 12, 20
"""So many of a group's own items, those with the fewest right lunches, and of the foods at hand, those with the most."""
MOST_GO_SECOND, MOST_COME_SECOND = 4, 6
"""The same for a second change beside a first."""
MOST_LAID = 200_000
"""The more ways there are to take from a group, the fewer of its items are tried."""
MOST_RULES_TRIED = 3
MOST_WITH = 12
"""Rules are tried on offers with fewer rules than this, along with groups of at most so many items."""
SIZES: dict[ChangeKind, float] = {"portion": 0.5, "with": 0.8, "remove": 1.0, "take": 1.0, "add": 1.5, "swap": 2.0}
"""How much each kind of change asks of a parent, for choosing among equals (our choice)."""
SELDOM = 0.4
"""How much more a food asks that fewer families pack."""

DRINKS = frozenset({"drinks", "milk", "plant-drinks"})
"""Categories of which one stands in for another."""


class Trials:
    """One child's foods at hand, laid out together with the offer's items, and counts of changed offers."""

    def __init__(self, child_offer: ChildOffer, at_hand: Sequence[Portion], tick: Tick | None, *, named: bool) -> None:
        self.child_offer = child_offer
        self.at_hand = at_hand
        self.tick = tick
        self.named = named
        self.known = KnownLists()
        self.portions: dict[Key, Portion] = {}
        """What may come in, by group and key."""
        self.other_portions: dict[Key, list[str]] = {key: [] for key in child_offer.items}
        self.first_key: dict[Key, str] = {}
        """The key that an item of another portion has in the offer."""
        for group, key in child_offer.items:
            for name, portion in self._other_portions(group, key):
                self.portions[(group, name)] = portion
                self.other_portions[(group, key)].append(name)
                self.first_key[(group, name)] = key
        for portion in at_hand:
            for one in child_offer.offer.groups:
                self.portions[(one.id, self.key_of(one.id, portion.food))] = portion
        scheme = crediting_scheme(child_offer.table.standard.crediting)
        # Most foods may come into several groups: each is worked out once.
        vector_of = cache(lambda one: one.vector(scheme))
        findings_of = cache(lambda one, held: broken_of(child_offer.to_handle.findings(one.food, one.form, held)))
        vectors = {key: vector_of(one) for key, one in self.portions.items()}
        foods = {key: one.food for key, one in self.portions.items()}
        held: dict[Key, Held] = {key: child_offer.items[(key[0], first)].held for key, first in self.first_key.items()}
        handled = {key: findings_of(one, held.get(key, "cold")) for key, one in self.portions.items()}
        of = child_offer.of
        credited = {key: (one.food, one.option, one.amount_mg) for key, one in self.portions.items()}
        together = Together({**(of.together.items if of.together else {}), **credited}, scheme)
        self.of = OfferItems({**of.vectors, **vectors}, {**of.foods, **foods}, {**of.handled, **handled}, together)
        at_home = self._categories(child_offer.items)
        self.anywhere = {
            one.food.id for one in at_hand if one.food.kind == "label" or (named and one.food.category not in at_home)
        }

    def key_of(self, group: str, food: Food) -> str:
        """The key that a food gets in a group: as a request gives it, or the next that is free."""
        wanted = key = item_key(None, food.name if food.kind in ("label", "recipe") else food.id)
        number = 2
        while (group, key) in self.child_offer.items:
            key, number = f"{wanted} {number}", number + 1
        return key

    def _categories(self, keys: Iterable[Key]) -> set[str]:
        """The categories of some items, and those that stand in for them."""
        found = {self.of.foods[key].category for key in keys}
        return found | DRINKS if found & DRINKS else found

    def one_group(self, offer: Offer, group: str) -> OneGroup:
        """For looking into offers that differ from an offer in one group."""
        return OneGroup(self.child_offer.table, self.of, offer, group, self.known)

    def counted(self, offer: Offer) -> RightOf:
        """Count an offer in full."""
        found = count_right(self.child_offer.table, branches(offer, self.known, self.of.alike), self.of, self.tick)
        return RightOf(found.total, found.right)

    def right_while_unread(self, offer: Offer, after: RightOf) -> int:
        """How many of the right lunches hold no packet still to be read; what comes in has none."""
        child = self.child_offer
        if not child.unread:
            return after.right
        unread = {*child.unread, *(key for key, first in self.first_key.items() if (key[0], first) in child.unread)}
        read = without_items(branches(offer, self.known, self.of.alike), unread)
        return count_right(child.table, read, self.of, self.tick).right

    def in_group(
        self, offer: Offer, group: ChoiceGroup, one: OneGroup, *, second: bool
    ) -> Iterator[tuple[ChangeKind, InOffer, float]]:
        """Changes within one group that are worth a closer look, each with the share of right lunches to expect after it.

        Foods and portions that may come in are put into the group next to its own items, one item of them all taken: what
        share of the lunches is right with each tells which come in, and which of the group's own go. Where one item is
        taken from the group and no rule speaks of it, the share to expect is the mean of these. ``one``: for looking into
        offers that differ in the group; ``second``: beside a first change.
        """
        most_go, most_come = (MOST_GO_SECOND, MOST_COME_SECOND) if second else (MOST_GO, MOST_COME)
        extra = self._extra_items(offer, group)
        alone = one.share_with_each(one.add(with_group(offer, ChoiceGroup(group.id, (*group.items, *extra), ONE))))
        shares = {key: share for (of_group, key), share in alone.items() if of_group == group.id}
        own = sorted((key for key in group.items if key in shares), key=lambda key: shares[key])
        own = own[: max(1, min(most_go, MOST_LAID // ways_to_take(len(group.items), group.take)))]
        foods = sorted((name for name, first in extra.items() if first is None), key=lambda name: -shares.get(name, 0))
        found: list[tuple[ChangeKind, InOffer]] = []
        for key in own:
            if len(group.items) > 1:
                found.append(("remove", InOffer(group.id, key)))
            found += (
                ("portion" if extra.get(name) == key else "swap", InOffer(group.id, key, name))
                for name in (*self.other_portions.get((group.id, key), ()), *foods[:most_come])
                if shares.get(name, 0.0) > shares[key]
            )
        found += (("add", InOffer(group.id, None, name)) for name in foods[:most_come])
        more = self._more(group)
        if more is not None:
            found.append(("take", InOffer(group.id, take=more)))
        by_itself = group.take == ONE and offer.stands_alone(group.id)
        for kind, where in found:
            after = offer_after(offer, where)
            items = after.group(group.id).items
            mean = by_itself and where.take is None and all(key in shares for key in items)
            yield kind, where, sum(shares[key] for key in items) / len(items) if mean else one.share(one.add(after))

    def _extra_items(self, offer: Offer, group: ChoiceGroup) -> dict[str, str | None]:
        """Foods and other portions that may come into a group: their keys, and the item whose portion it is.

        Foods come into a group that holds some of their kind; one that a caller named and that is of no kind on offer
        may come in anywhere, as one sent along with its label may.
        """
        categories = self._categories((group.id, key) for key in group.items)
        there = {self.of.foods[(group.id, key)].id for key in group.items}
        extra: dict[str, str | None] = {
            name: key for key in group.items for name in self.other_portions.get((group.id, key), ())
        }
        beside = [
            [self.of.foods[(one.id, key)] for key in one.items]
            for one in offer.groups
            if one.id != group.id and one.take.at_least
        ]
        for one in self.at_hand:
            of_kind = one.food.category in categories or one.food.id in self.anywhere
            if of_kind and one.food.id not in there and suggesting().fits_among(one.food, beside):
                extra[self.key_of(group.id, one.food)] = None
        return extra

    def _other_portions(self, group: str, key: str) -> Iterator[tuple[str, Portion]]:
        item = self.child_offer.items[(group, key)]
        for quantity in suggesting().other_quantities(item.food, item.quantity, item.unit, self.child_offer.age_months):
            try:
                amount_mg = amount_mg_of(item.food, round(quantity * THOUSANDTHS), item.unit)
            except LunchError:
                continue  # too large to be one item
            yield (
                f"{key} x {quantity / item.quantity:.4g}",
                Portion(item.food, amount_mg, quantity, item.unit, item.form, item.option),
            )

    def along_with(self, offer: Offer, group: ChoiceGroup) -> Iterator[tuple[Key, InOffer]]:
        """Having one more taken from a group along with one item of another."""
        more = self._more(group)
        if more is None or len(offer.rules) >= MOST_RULES_TRIED or any(group.id in ids for ids in offer.alternatives):
            return
        for other in offer.groups:
            if other.id == group.id or len(other.items) > MOST_WITH:
                continue
            if len(other.items) == 1 and other.take.at_least:
                continue  # every lunch holds it: the same as having more taken from the group at all
            for key in other.items:
                if not any((one.group, one.item, one.then_group) == (other.id, key, group.id) for one in offer.rules):
                    yield (other.id, key), InOffer(group.id, key, take=more, with_group=other.id)

    def _more(self, group: ChoiceGroup) -> Take | None:
        """One more taken from a group than now; None where there is not one more, or where nobody packs two of its items."""
        more = Take(group.take.at_least + 1, max(group.take.at_most, group.take.at_least + 1), group.take.repeats)
        there = more.at_least <= (MOST_TAKEN if more.repeats else len(group.items))
        if not there or ways_to_take(len(group.items), more) > MOST_OPTIONS:
            return None
        foods = [self.of.foods[(group.id, key)] for key in group.items]
        lists = suggesting()
        return None if any(lists.kinds_of(one) & lists.kinds_of(two) for one, two in combinations(foods, 2)) else more

    def change(self, kind: ChangeKind, where: InOffer) -> OfferChange:
        """A change with its foods; their names break ties."""
        out = None if where.item is None else self.of.foods[(where.with_group or where.group, where.item)]
        into = None if where.new_item is None else self.portions[(where.group, where.new_item)]
        family = (kind, where.group, where.item or "")
        size = SIZES[kind]
        if into is not None and not self.named and into.food.id in suggesting().seldom:
            size += SELDOM
        amount = "" if into is None else f"{into.quantity:012.4f} {into.unit}"
        names = ("" if into is None else into.food.name, amount, where.group, "" if out is None else out.name)
        return Change(kind, where, size, family, (kind, *names), out, into)

    def row(self, change: OfferChange) -> dict[str, Any]:
        """One change as published, with the keys that the items have in the offer."""
        where = change.where
        group = where.with_group or where.group
        item = None if where.item is None else self.first_key.get((group, where.item), where.item)
        new_item = None if where.new_item is None else self.first_key.get((where.group, where.new_item), where.new_item)
        take = None if where.take is None else where.take._asdict()
        rule = None
        if where.with_group is not None:
            rule = {"group": where.with_group, "item": item, "then_group": where.group, "take": take}
        return {
            **change_row(change, change_message(change)),
            "group": where.group,
            "item": item,
            "new_item": new_item,
            "take": None if rule else take,
            "rule": rule,
        }


def change_message(change: OfferChange) -> Message:
    """The change in words."""
    where, into, name = change.where, change.into, "" if change.out is None else change.out.name
    group = where.group
    if where.take is not None:
        if where.with_group is None:
            return message("offer-change.take", group=group, at_least=where.take.at_least)
        return message("offer-change.take-with", name=name, group=group, at_least=where.take.at_least)
    if into is None:
        return message("offer-change.take-out", name=name, group=group)
    if change.kind == "portion":
        return message("offer-change.portion", group=group, name=name, quantity=into.quantity, unit=into.unit)
    food = food_amount(into.food.name, into.quantity, into.unit)
    if change.out is None:
        return message("offer-change.add", group=group, food=food)
    return message("offer-change.swap", group=group, food=food, before=name)
