"""What can be tried on an offer to mend it, how promising each change is, and the counts after it.

All foods that may come in are tried in one count a group: their options stand beside the group's own, and every
option's right lunches are counted. The most promising changes are then counted in full. Lists of options and their
values are laid out once and used again, since most offers tried differ in one group.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import partial

from service.domain.counting.masks import Tick
from service.domain.errors import LunchError
from service.domain.foods.amounts import ItemVector, amount_mg_of, credit_option, item_vector
from service.domain.foods.food import Food
from service.domain.measures import SCALE
from service.domain.offers.counts import OfferCounts, count_right
from service.domain.offers.offer import ChoiceGroup, KnownLists, Offer, Take, WithRule, branches
from service.domain.offers.rows import Key, OfferItems
from service.jobs.offers.layout import ChildOffer
from service.jobs.offers.requests import MOST_TAKEN
from service.reference.lunch.standards import crediting_scheme

ONE = Take(1, 1)
PORTIONS = (0.5, 1.5, 2.0)
"""Other portions that are tried, as multiples of the offered one (a choice of ours)."""
MOST_RULES_TRIED = 3
MOST_WITH = 12
"""Rules are tried on offers with fewer rules than this, along with groups of at most so many items."""

DRINKS = frozenset({"drinks", "milk", "plant-drinks"})
"""Categories of which one stands in for another."""

AtHand = tuple[Food, int, str]
"""A food that may come in, its milligrams, and the amount in words."""


@dataclass(frozen=True, slots=True)
class OfferChange:
    """One change to an offer, and how it is said.

    ``size``: how much is changed, for choosing among equals, smaller first. ``applied``: makes the offer after it.
    """

    kind: str
    sentence: str
    group: str
    out: str | None
    into: str | None
    size: float
    applied: Callable[[], Offer]


class Trials:
    """One child's foods at hand, laid out together with the offer's items, and counts of changed offers."""

    def __init__(self, laid: ChildOffer, foods: list[AtHand], tick: Tick | None, *, named: bool) -> None:
        self.laid = laid
        self.foods = foods
        self.tick = tick
        self.known: KnownLists = {}
        self.portions = {key: list(self._portions(*key)) for key in laid.items}
        self.said: dict[Key, str] = {}
        vectors, known = dict(laid.of.vectors), dict(laid.of.foods)
        scheme = crediting_scheme(laid.table.standard.crediting)

        def add(key: Key, food: Food, said: str, vector: ItemVector) -> None:
            vectors[key], known[key], self.said[key] = vector, food, said

        for (group, _key), portions in self.portions.items():
            for name, food, amount_mg, said in portions:
                add((group, name), food, said, item_vector(food, amount_mg, scheme, credit_option(food, None)))
        for food, amount_mg, said in foods:
            vector = item_vector(food, amount_mg, scheme, credit_option(food, None))
            for one in laid.offer.groups:
                add((one.id, _name(food)), food, said, vector)
        self.of = OfferItems(vectors, known)
        at_home = self._categories(key for key in laid.items)
        self.anywhere = {
            food.id for food, *_amount in foods if food.kind == "label" or (named and food.category not in at_home)
        }

    def _categories(self, keys: Iterable[Key]) -> set[str]:
        """The categories of some items, and those that stand in for them."""
        found = {self.of.foods[key].category for key in keys}
        return found | DRINKS if found & DRINKS else found

    def count(self, offer: Offer) -> OfferCounts:
        """Count an offer in full."""
        return count_right(self.laid.table, branches(offer, self.known), self.of, self.tick)

    def in_group(self, offer: Offer, group: ChoiceGroup, counts: OfferCounts) -> Iterator[tuple[float, OfferChange]]:
        """Changes within one group, with the share of right lunches that each lets expect, where that is more than now.

        Foods and portions that may come in are put into the group beside its own items and counted once; an
        item's right lunches there, against those of the item it would replace, tell what to expect (taken
        alone, also where several are taken: it only chooses what is counted in full).
        """
        now = counts.right / counts.total if counts.total else 0.0
        for expected, change in self._in_group(offer, group, counts):
            if expected > now:
                yield expected, change()

    def _in_group(
        self, offer: Offer, group: ChoiceGroup, counts: OfferCounts
    ) -> Iterator[tuple[float, Callable[[], OfferChange]]]:
        own = counts.items()
        for key in group.items:
            tally = own.get((group.id, key))
            if len(group.items) > 1 and tally is not None and counts.total > tally.lunches:
                expected = (counts.right - tally.right) / (counts.total - tally.lunches)
                yield expected, partial(self._without, offer, group, key)
        extra = self._extra_items(group)
        if not extra:
            return
        found = self.count(_with_group(offer, ChoiceGroup(group.id, (*group.items, *extra), ONE)))
        beside = found.items()
        for name, instead in extra.items():
            tally = beside.get((group.id, name))
            if tally is None or not tally.lunches:
                continue
            promise = tally.right / tally.lunches
            for key in group.items if instead is None else (instead,):
                before, alone = own.get((group.id, key)), beside.get((group.id, key))
                if before is None or alone is None or not alone.lunches or promise <= alone.right / alone.lunches:
                    continue
                expected = (counts.right + (promise - alone.right / alone.lunches) * before.lunches) / counts.total
                yield expected, partial(self._swap, offer, group, key, name, portion=instead is not None)
            if instead is None:
                ways = counts.total * tally.lunches / max(1, found.total - tally.lunches)
                expected = (counts.right + promise * ways) / (counts.total + ways)
                yield expected, partial(self._addition, offer, group, name)

    def _extra_items(self, group: ChoiceGroup) -> dict[str, str | None]:
        """Foods and other portions that may come into a group: their keys, and the item whose portion it is.

        Foods come into a group that holds some of their kind; one that a caller named and that is of no kind on offer
        may come in anywhere, as one sent along with its label may.
        """
        categories = self._categories((group.id, key) for key in group.items)
        there = {self.of.foods[(group.id, key)].id for key in group.items}
        extra: dict[str, str | None] = {
            name: key for key in group.items for name, *_food in self.portions.get((group.id, key), ())
        }
        for food, _amount_mg, _said in self.foods:
            if food.id not in there and (food.category in categories or food.id in self.anywhere):
                extra[_name(food)] = None
        return extra

    def _portions(self, group: str, key: str) -> Iterator[tuple[str, Food, int, str]]:
        item = self.laid.items[(group, key)]
        for times in PORTIONS:
            quantity = round(item.quantity * times, 3)
            try:
                amount_mg = amount_mg_of(item.food, round(quantity * SCALE), item.unit)
            except LunchError:
                continue  # too large to be one item
            yield f"{key} x {times:g}", item.food, amount_mg, f"{quantity:g} {item.unit}"

    def _without(self, offer: Offer, group: ChoiceGroup, key: str) -> OfferChange:
        sentence = f"Take {self.of.foods[(group.id, key)].name} out of {group.id}."
        return OfferChange("remove", sentence, group.id, key, None, 1.0, partial(_taken_out, offer, group, key))

    def _swap(self, offer: Offer, group: ChoiceGroup, key: str, name: str, *, portion: bool) -> OfferChange:
        food, said = self.of.foods[(group.id, name)], self.said[(group.id, name)]
        before = self.of.foods[(group.id, key)].name
        after = partial(_swapped, offer, group, key, name)
        if portion:
            sentence = f"In {group.id}, portion {before} as {said}."
            return OfferChange("portion", sentence, group.id, key, food.id, 0.5, after)
        sentence = f"In {group.id}, set out {food.name} ({said}) instead of {before}."
        return OfferChange("swap", sentence, group.id, key, food.id, 2.0, after)

    def _addition(self, offer: Offer, group: ChoiceGroup, name: str) -> OfferChange:
        food, said = self.of.foods[(group.id, name)], self.said[(group.id, name)]
        after = partial(_with_group, offer, ChoiceGroup(group.id, (*group.items, name), group.take))
        sentence = f"Set out {food.name} ({said}) in {group.id} too."
        return OfferChange("add", sentence, group.id, None, food.id, 1.5, after)

    def more_taken(self, offer: Offer) -> Iterator[OfferChange]:
        """Having one more taken from a group."""
        for group in offer.groups:
            more = _more(group)
            if more is not None:
                after = partial(_with_group, offer, ChoiceGroup(group.id, group.items, more))
                sentence = f"From {group.id}, have at least {more.at_least} taken."
                yield OfferChange("take", sentence, group.id, None, None, 1.0, after)

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
                    rule = WithRule(other.id, key, group.id, more)
                    if any((one.group, one.item, one.then_group) == rule[:3] for one in offer.rules):
                        continue
                    name = self.of.foods[(other.id, key)].name
                    sentence = f"With {name}, have at least {more.at_least} taken from {group.id}."
                    after = partial(Offer, offer.groups, offer.alternatives, (*offer.rules, rule))
                    yield OfferChange("with", sentence, group.id, key, None, 0.8, after)


def _name(food: Food) -> str:
    return f"+ {food.id} {food.name}"


def _with_group(offer: Offer, changed: ChoiceGroup, rules: tuple[WithRule, ...] | None = None) -> Offer:
    groups = tuple(changed if group.id == changed.id else group for group in offer.groups)
    return Offer(groups, offer.alternatives, offer.rules if rules is None else rules)


def _taken_out(offer: Offer, group: ChoiceGroup, key: str) -> Offer:
    items = tuple(one for one in group.items if one != key)
    rules = tuple(rule for rule in offer.rules if (rule.group, rule.item) != (group.id, key))
    return _with_group(offer, ChoiceGroup(group.id, items, group.take), rules)


def _swapped(offer: Offer, group: ChoiceGroup, key: str, name: str) -> Offer:
    items = tuple(name if one == key else one for one in group.items)
    rules = tuple(
        rule._replace(item=name) if (rule.group, rule.item) == (group.id, key) else rule for rule in offer.rules
    )
    return _with_group(offer, ChoiceGroup(group.id, items, group.take), rules)


def _more(group: ChoiceGroup) -> Take | None:
    """One more taken from a group than now; None where there is not one more."""
    more = Take(group.take.at_least + 1, max(group.take.at_most, group.take.at_least + 1), group.take.repeats)
    return more if more.at_least <= (MOST_TAKEN if more.repeats else len(group.items)) else None
