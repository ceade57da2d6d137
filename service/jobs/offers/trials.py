"""What can be tried on an offer to fix it, how promising each change is, and the counts after it.

All foods that may come in are tried in one count a group: their options stand next to the group's own, and every
option's right lunches are counted. The most promising changes are then counted in full. Lists of options and their
values are built once and used again, since most offers tried differ in one group.
"""

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from service.domain.counting.masks import Tick
from service.domain.errors import LunchError
from service.domain.foods.amounts import Portion, amount_mg_of
from service.domain.foods.food import Food
from service.domain.lunch.changes import Change, ChangeKind
from service.domain.lunch.handling import Held
from service.domain.measures import SCALE
from service.domain.messages import Message, message
from service.domain.offers.changes import InOffer, OfferChange, with_group
from service.domain.offers.counts import OfferCounts, Verdicts, count_right, verdicts_of
from service.domain.offers.handled import broken_of
from service.domain.offers.offer import ChoiceGroup, KnownLists, Offer, Take, branches
from service.domain.offers.rows import Key, OfferItems
from service.jobs.lunch.change_rows import change_row
from service.jobs.offers.layout import ChildOffer, item_key
from service.jobs.offers.requests import MOST_TAKEN
from service.reference.lunch.standards import crediting_scheme
from service.reference.messages import say

ONE = Take(1, 1)
PORTIONS = (0.5, 1.5, 2.0)
"""Other portions that are tried, as multiples of the offered one (our choice)."""
MOST_RULES_TRIED = 3
MOST_WITH = 12
"""Rules are tried on offers with fewer rules than this, along with groups of at most so many items."""
SIZES: dict[ChangeKind, float] = {"portion": 0.5, "with": 0.8, "remove": 1.0, "take": 1.0, "add": 1.5, "swap": 2.0}
"""How much each kind of change asks of a parent, for choosing among equals (our choice)."""

DRINKS = frozenset({"drinks", "milk", "plant-drinks"})
"""Categories of which one stands in for another."""


class Trials:
    """One child's foods at hand, laid out together with the offer's items, and counts of changed offers."""

    def __init__(self, child_offer: ChildOffer, at_hand: Sequence[Portion], tick: Tick | None, *, named: bool) -> None:
        self.child_offer = child_offer
        self.at_hand = at_hand
        self.tick = tick
        self.known: KnownLists = {}
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
        vectors = {key: one.vector(scheme) for key, one in self.portions.items()}
        foods = {key: one.food for key, one in self.portions.items()}
        held: dict[Key, Held] = {key: child_offer.items[(key[0], first)].held for key, first in self.first_key.items()}
        handled = {
            key: broken_of(child_offer.to_handle.findings(one.food, one.form, held.get(key, "cold")))
            for key, one in self.portions.items()
        }
        of = child_offer.of
        self.of = OfferItems({**of.vectors, **vectors}, {**of.foods, **foods}, {**of.handled, **handled})
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

    def count(self, offer: Offer) -> OfferCounts:
        """Count an offer in full."""
        return count_right(self.child_offer.table, branches(offer, self.known), self.of, self.tick)

    def verdicts(self, counts: OfferCounts) -> Verdicts:
        """The counts of a changed offer as verdicts; what comes in has no packet that is still to be read."""
        child = self.child_offer
        unread = {*child.unread, *(key for key, first in self.first_key.items() if (key[0], first) in child.unread)}
        return verdicts_of(child.table, counts, self.of, unread, self.tick)

    def in_group(self, offer: Offer, group: ChoiceGroup, counts: OfferCounts) -> Iterator[tuple[float, OfferChange]]:
        """Changes within one group, with the share of right lunches that each lets expect, where that is more than now.

        Foods and portions that may come in are put into the group next to its own items and counted once; an
        item's right lunches there, against those of the item it would replace, tell what to expect (taken
        alone, also where several are taken: it only chooses what is counted in full).
        """
        now = counts.right / counts.total if counts.total else 0.0
        for expected, kind, where in self._in_group(offer, group, counts):
            if expected > now:
                yield expected, self.change(kind, where)

    def _in_group(
        self, offer: Offer, group: ChoiceGroup, counts: OfferCounts
    ) -> Iterator[tuple[float, ChangeKind, InOffer]]:
        own = counts.items()
        for key in group.items:
            tally = own.get((group.id, key))
            if len(group.items) > 1 and tally is not None and counts.total > tally.lunches:
                expected = (counts.right - tally.right) / (counts.total - tally.lunches)
                yield expected, "remove", InOffer(group.id, key)
        extra = self._extra_items(group)
        if not extra:
            return
        found = self.count(with_group(offer, ChoiceGroup(group.id, (*group.items, *extra), ONE)))
        with_added = found.items()
        for name, instead in extra.items():
            tally = with_added.get((group.id, name))
            if tally is None or not tally.lunches:
                continue
            promise = tally.right / tally.lunches
            for key in group.items if instead is None else (instead,):
                before, alone = own.get((group.id, key)), with_added.get((group.id, key))
                if before is None or alone is None or not alone.lunches or promise <= alone.right / alone.lunches:
                    continue
                expected = (counts.right + (promise - alone.right / alone.lunches) * before.lunches) / counts.total
                yield expected, "swap" if instead is None else "portion", InOffer(group.id, key, name)
            if instead is None:
                ways = counts.total * tally.lunches / max(1, found.total - tally.lunches)
                yield (counts.right + promise * ways) / (counts.total + ways), "add", InOffer(group.id, None, name)

    def _extra_items(self, group: ChoiceGroup) -> dict[str, str | None]:
        """Foods and other portions that may come into a group: their keys, and the item whose portion it is.

        Foods come into a group that holds some of their kind; one that a caller named and that is of no kind on offer
        may come in anywhere, as one sent along with its label may.
        """
        categories = self._categories((group.id, key) for key in group.items)
        there = {self.of.foods[(group.id, key)].id for key in group.items}
        extra: dict[str, str | None] = {
            name: key for key in group.items for name in self.other_portions.get((group.id, key), ())
        }
        for one in self.at_hand:
            if one.food.id not in there and (one.food.category in categories or one.food.id in self.anywhere):
                extra[self.key_of(group.id, one.food)] = None
        return extra

    def _other_portions(self, group: str, key: str) -> Iterator[tuple[str, Portion]]:
        item = self.child_offer.items[(group, key)]
        for times in PORTIONS:
            quantity = round(item.quantity * times, 3)
            try:
                amount_mg = amount_mg_of(item.food, round(quantity * SCALE), item.unit)
            except LunchError:
                continue  # too large to be one item
            yield f"{key} x {times:g}", Portion(item.food, amount_mg, quantity, item.unit, item.form, item.option)

    def more_taken(self, offer: Offer) -> Iterator[OfferChange]:
        """Having one more taken from a group."""
        for group in offer.groups:
            more = _more(group)
            if more is not None:
                yield self.change("take", InOffer(group.id, take=more))

    def along_with(self, offer: Offer, helps: set[str]) -> Iterator[OfferChange]:
        """Having one more taken from a group along with one item of another, where more from it helps at all."""
        for group in offer.groups:
            more = _more(group)
            if more is None or group.id not in helps or any(group.id in together for together in offer.alternatives):
                continue
            for other in offer.groups:
                if other.id == group.id or len(offer.rules) >= MOST_RULES_TRIED or len(other.items) > MOST_WITH:
                    continue
                if len(other.items) == 1 and other.take.at_least:
                    continue  # every lunch holds it: the same as having more taken from the group at all
                for key in other.items:
                    if not any(
                        (one.group, one.item, one.then_group) == (other.id, key, group.id) for one in offer.rules
                    ):
                        yield self.change("with", InOffer(group.id, key, take=more, with_group=other.id))

    def change(self, kind: ChangeKind, where: InOffer) -> OfferChange:
        """A change with its foods; the sentence breaks ties."""
        out = None if where.item is None else self.of.foods[(where.with_group or where.group, where.item)]
        into = None if where.new_item is None else self.portions[(where.group, where.new_item)]
        family = (kind, where.group, where.item or "")
        change = Change(kind, where, SIZES[kind], family, (), out, into)
        return Change(kind, where, SIZES[kind], family, (say(change_message(change)),), out, into)

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
    amount = f"{into.quantity:g} {into.unit}"
    if change.kind == "portion":
        return message("offer-change.portion", group=group, name=name, amount=amount)
    if change.out is None:
        return message("offer-change.add", group=group, name=into.food.name, amount=amount)
    return message("offer-change.swap", group=group, name=into.food.name, amount=amount, before=name)


def _more(group: ChoiceGroup) -> Take | None:
    """One more taken from a group than now; None where there is not one more."""
    more = Take(group.take.at_least + 1, max(group.take.at_most, group.take.at_least + 1), group.take.repeats)
    return more if more.at_least <= (MOST_TAKEN if more.repeats else len(group.items)) else None
