"""Smallest changes to an offer: which one or two mend most lunches, each checked by a full count.

Looked into: take an item out, another portion of it, another food in its place, one more food in a group, and
another number taken from a group along with an item ("with this, take two"). All foods that may come in are
tried in one count a group: their options stand beside the group's own, and every option's right lunches are
counted. Never a food that the child or the setting must avoid or of which that is unknown.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from service.domain.amounts import amount_mg_of, credit_option, item_vector
from service.domain.errors import LunchError, raise_all
from service.domain.foods import Food
from service.domain.measures import SCALE
from service.domain.offer_rows import OfferItems
from service.domain.offers import ChoiceGroup, Offer, Take, WithRule, branches
from service.jobs.changes import NOT_SUGGESTED, may_come_in
from service.jobs.foods import amount_of, food_by_id, food_of_item
from service.jobs.offer_counts import OfferCounts, Tick, count_right
from service.jobs.offer_layout import ChildOffer
from service.jobs.offer_requests import MOST_TAKEN, OfferAuditRequest
from service.jobs.requests import LunchItem
from service.reference.foods import packable_foods
from service.reference.standards import crediting_scheme

Key = tuple[str, str]
ONE = Take(1, 1)
PORTIONS = (0.5, 1.5, 2.0)
"""Other portions that are tried, as multiples of the offered one (a choice of ours)."""
MOST_LUNCHES = 50_000_000
"""Offers with more lunches are not searched for changes; a limit of ours, so that an answer comes."""
MOST_RULES_TRIED = 3
MOST_WITH = 12
"""Rules are tried on offers with fewer rules than this, along with groups of at most so many items."""
PAIRS_FROM = 3
"""From how many of the best single changes pairs are made."""
MOST_TRIED = 24
"""How many of the most promising changes to items get a full count, each time."""


@dataclass(frozen=True, slots=True)
class OfferChange:
    """One change: the offer and its items after it, and how it is said."""

    kind: str
    sentence: str
    group: str
    out: str | None
    into: str | None
    offer: Offer
    of: OfferItems
    size: float
    """How much is changed, for choosing among equals: smaller first."""


@dataclass(frozen=True, slots=True)
class Tried:
    """A change (or two) with its full count."""

    changes: tuple[OfferChange, ...]
    counts: OfferCounts

    def share(self) -> float:
        """Share of right lunches after it."""
        return self.counts.right / self.counts.total if self.counts.total else 0.0


def offer_changes(
    asked: OfferAuditRequest, laid: ChildOffer, counts: OfferCounts, of: OfferItems, tick: Tick | None
) -> tuple[list[dict[str, Any]], str]:
    """The best changes as published rows, and a note on whether the wanted share is reached.

    Ranked by the lunches mended for each change; pairs only where no single change reaches the wanted share.
    """
    before = counts.right / counts.total
    wanted = asked.wanted_share
    if before >= wanted:
        return [], f"No change is needed: {before:.1%} of the lunches are right, {wanted:.1%} were wanted."
    if counts.total > MOST_LUNCHES:
        return [], f"Changes are looked for up to {MOST_LUNCHES:,} lunches; this offer has {counts.total:,}."
    foods = _foods_at_hand(asked, laid)
    singles = _tried(laid, (), laid.offer, of, counts, foods, tick)
    best = _ranked(singles, before)
    pairs: list[Tried] = []
    if not best or best[0].share() < wanted:
        for first in best[:PAIRS_FROM]:
            change = first.changes[0]
            again = _tried(laid, first.changes, change.offer, change.of, first.counts, foods, tick)
            pairs += _ranked(again, first.share())[:PAIRS_FROM]
    found = _ranked([*best, *pairs], before)[: asked.max_changes]
    if not found:
        return [], "No single change and no pair of changes out of the foods at hand mends more lunches."
    top = max(one.share() for one in found)
    if top >= wanted:
        note = f"{wanted:.1%} of right lunches can be reached."
    else:
        note = f"{wanted:.1%} is out of reach with one or two changes out of the foods at hand: {top:.1%} is the most."
    return [_row(one, counts) for one in found], note


def _ranked(tried: list[Tried], before: float) -> list[Tried]:
    """Those that mend, best first: share gained a change, then fewer changes, then the smaller one."""
    better = [one for one in tried if one.share() > before + 1e-12]
    better.sort(
        key=lambda one: (
            -(one.share() - before) / len(one.changes),
            len(one.changes),
            sum(change.size for change in one.changes),
            tuple(change.sentence for change in one.changes),
        )
    )
    kept: list[Tried] = []
    seen: set[tuple[tuple[str, str, str | None], ...]] = set()
    for one in better:
        alike = tuple(sorted((change.kind, change.group, change.out) for change in one.changes))
        if alike not in seen:
            seen.add(alike)
            kept.append(one)
    return kept


def _tried(
    laid: ChildOffer,
    already: tuple[OfferChange, ...],
    offer: Offer,
    of: OfferItems,
    counts: OfferCounts,
    foods: list[tuple[Food, int, str]],
    tick: Tick | None,
) -> list[Tried]:
    """The most promising single changes to an offer, each with a full count."""
    promising: list[tuple[float, OfferChange]] = []
    for group in offer.groups:
        promising += _in_group(laid, offer, group, of, counts, foods, tick)
    now = counts.right / counts.total if counts.total else 0.0
    promising = [one for one in promising if one[0] > now]
    promising.sort(key=lambda one: (-one[0], one[1].size, one[1].sentence))
    chosen: list[OfferChange] = []
    told: dict[tuple[str, str, str | None], int] = {}
    for _promise, change in promising:
        alike = (change.kind, change.group, change.out)
        told[alike] = told.get(alike, 0) + 1
        if told[alike] == 1 and len(chosen) < MOST_TRIED:
            chosen.append(change)
    tried = [_counted(laid, already, change, tick) for change in [*chosen, *_more_taken(offer, of)]]
    helps = {one.changes[-1].group for one in tried if one.changes[-1].kind == "take" and one.share() > now}
    if not already:
        tried += [_counted(laid, (), change, tick) for change in _along_with(offer, of, helps)]
    return tried


def _counted(laid: ChildOffer, already: tuple[OfferChange, ...], change: OfferChange, tick: Tick | None) -> Tried:
    return Tried((*already, change), count_right(laid.table, branches(change.offer), change.of, tick))


def _in_group(
    laid: ChildOffer,
    offer: Offer,
    group: ChoiceGroup,
    of: OfferItems,
    counts: OfferCounts,
    foods: list[tuple[Food, int, str]],
    tick: Tick | None,
) -> Iterator[tuple[float, OfferChange]]:
    """Changes within one group, with the share of right lunches that each lets expect.

    Foods and portions that may come in are put into the group beside its own items and counted once; an
    item's right lunches there, against those of the item it would replace, tell what to expect (taken
    alone, also where several are taken: it only chooses what is counted in full).
    """
    for key in group.items:
        if len(group.items) > 1:
            tally = counts.items.get((group.id, key))
            if tally is not None and counts.total > tally.lunches:
                yield (
                    (counts.right - tally.right) / (counts.total - tally.lunches),
                    _without(laid, offer, group, key, of),
                )
    extra = _extra_items(laid, group, of, foods)
    if not extra:
        return
    vectors, known = dict(of.vectors), dict(of.foods)
    for name, (food, amount_mg, _said, _instead) in extra.items():
        vectors[(group.id, name)] = _vector(laid, food, amount_mg)
        known[(group.id, name)] = food
    wider = OfferItems(vectors, known)
    bigger = _with_group(offer, ChoiceGroup(group.id, (*group.items, *extra), ONE))
    found = count_right(laid.table, branches(bigger), wider, tick)
    for name, (food, amount_mg, said, instead) in extra.items():
        tally = found.items.get((group.id, name))
        if tally is None or not tally.lunches:
            continue
        promise = tally.right / tally.lunches
        for key in group.items if instead is None else (instead,):
            own, alone = counts.items.get((group.id, key)), found.items.get((group.id, key))
            if own is None or alone is None or not alone.lunches or promise <= alone.right / alone.lunches:
                continue
            expected = (counts.right + (promise - alone.right / alone.lunches) * own.lunches) / counts.total
            yield expected, _swap(laid, offer, group, key, name, food, amount_mg, said, wider, instead is not None)
        if instead is None:
            ways = counts.total * tally.lunches / max(1, found.total - tally.lunches)
            yield (
                (counts.right + promise * ways) / (counts.total + ways),
                _addition(laid, offer, group, name, food, amount_mg, said, wider),
            )


def _extra_items(
    laid: ChildOffer, group: ChoiceGroup, of: OfferItems, foods: list[tuple[Food, int, str]]
) -> dict[str, tuple[Food, int, str, str | None]]:
    """Foods and other portions that may come into a group: key -> food, milligrams, amount in words, item replaced."""
    own = [of.foods[(group.id, key)] for key in group.items]
    categories = {food.category for food in own}
    there = {food.id for food in own}
    extra: dict[str, tuple[Food, int, str, str | None]] = {}
    for key in group.items:
        item = laid.items.get((group.id, key))
        if item is None:
            continue
        for times in PORTIONS:
            quantity = round(item.quantity * times, 3)
            try:
                amount_mg = amount_mg_of(item.food, round(quantity * SCALE), item.unit)
            except LunchError:
                continue  # too large to be one item
            extra[f"{key} x {times:g}"] = (item.food, amount_mg, f"{quantity:g} {item.unit}", key)
    for food, amount_mg, said in foods:
        if food.id not in there and (food.category in categories or food.kind == "label"):
            extra[f"+ {food.id} {food.name}"] = (food, amount_mg, said, None)
    return extra


def _vector(laid: ChildOffer, food: Food, amount_mg: int) -> Any:
    return item_vector(food, amount_mg, crediting_scheme(laid.table.standard.crediting), credit_option(food, None))


def _with_group(offer: Offer, changed: ChoiceGroup, rules: tuple[WithRule, ...] | None = None) -> Offer:
    groups = tuple(changed if group.id == changed.id else group for group in offer.groups)
    return Offer(groups, offer.alternatives, offer.rules if rules is None else rules)


def _without(laid: ChildOffer, offer: Offer, group: ChoiceGroup, key: str, of: OfferItems) -> OfferChange:
    items = tuple(one for one in group.items if one != key)
    rules = tuple(rule for rule in offer.rules if (rule.group, rule.item) != (group.id, key))
    food = of.foods[(group.id, key)]
    changed = _with_group(offer, ChoiceGroup(group.id, items, group.take), rules)
    return OfferChange("remove", f"Take {food.name} out of {group.id}.", group.id, key, None, changed, of, 1.0)


def _swap(
    laid: ChildOffer,
    offer: Offer,
    group: ChoiceGroup,
    key: str,
    name: str,
    food: Food,
    amount_mg: int,
    said: str,
    of: OfferItems,
    portion: bool,
) -> OfferChange:
    items = tuple(name if one == key else one for one in group.items)
    rules = tuple(
        rule._replace(item=name) if (rule.group, rule.item) == (group.id, key) else rule for rule in offer.rules
    )
    changed = _with_group(offer, ChoiceGroup(group.id, items, group.take), rules)
    before = of.foods[(group.id, key)]
    if portion:
        sentence = f"In {group.id}, portion {before.name} as {said}."
        return OfferChange("portion", sentence, group.id, key, food.id, changed, of, 0.5)
    sentence = f"In {group.id}, set out {food.name} ({said}) instead of {before.name}."
    return OfferChange("swap", sentence, group.id, key, food.id, changed, of, 2.0)


def _addition(
    laid: ChildOffer,
    offer: Offer,
    group: ChoiceGroup,
    name: str,
    food: Food,
    amount_mg: int,
    said: str,
    of: OfferItems,
) -> OfferChange:
    changed = _with_group(offer, ChoiceGroup(group.id, (*group.items, name), group.take))
    sentence = f"Set out {food.name} ({said}) in {group.id} too."
    return OfferChange("add", sentence, group.id, None, food.id, changed, of, 1.5)


def _more(group: ChoiceGroup) -> Take | None:
    """One more taken from a group than now; None where there is not one more."""
    more = Take(group.take.at_least + 1, max(group.take.at_most, group.take.at_least + 1), group.take.repeats)
    return more if more.at_least <= (MOST_TAKEN if more.repeats else len(group.items)) else None


def _more_taken(offer: Offer, of: OfferItems) -> Iterator[OfferChange]:
    """Having one more taken from a group."""
    for group in offer.groups:
        more = _more(group)
        if more is not None:
            changed = _with_group(offer, ChoiceGroup(group.id, group.items, more))
            sentence = f"From {group.id}, have at least {more.at_least} taken."
            yield OfferChange("take", sentence, group.id, None, None, changed, of, 1.0)


def _along_with(offer: Offer, of: OfferItems, helps: set[str]) -> Iterator[OfferChange]:
    """Having one more taken from a group along with one item of another, where more from it helps at all."""
    for group in offer.groups:
        more = _more(group)
        if more is None or group.id not in helps or any(group.id in together for together in offer.alternatives):
            continue
        for other in offer.groups:
            if other.id == group.id or len(offer.rules) >= MOST_RULES_TRIED or len(other.items) > MOST_WITH:
                continue
            for key in other.items:
                rule = WithRule(other.id, key, group.id, more)
                if any((one.group, one.item, one.then_group) == rule[:3] for one in offer.rules):
                    continue
                name = of.foods[(other.id, key)].name
                sentence = f"With {name}, have at least {more.at_least} taken from {group.id}."
                ruled = Offer(offer.groups, offer.alternatives, (*offer.rules, rule))
                yield OfferChange("with", sentence, group.id, key, None, ruled, of, 0.8)


def _foods_at_hand(asked: OfferAuditRequest, laid: ChildOffer) -> list[tuple[Food, int, str]]:
    """Foods that may come in: those named, or else the lunch foods; only what this child may take."""
    found: list[tuple[Food, int, str]] = []
    faults: list[LunchError] = []
    if asked.swap_foods is None:
        found = [
            (food, food.units[0].grams_mg, f"1 {food.units[0].name}")
            for food in packable_foods()
            if food.everyday and food.category not in NOT_SUGGESTED
        ]
    for place, offered in enumerate(asked.swap_foods or []):
        where = f"/swap_foods/{place}"
        try:
            if isinstance(offered, LunchItem):
                food = food_of_item(offered, where)
                amount_mg, unit = amount_of(food, offered.quantity, offered.unit, where)
                found.append((food, amount_mg, f"{offered.quantity:g} {unit}"))
            else:
                food = food_by_id(offered, where)
                found.append((food, food.units[0].grams_mg, f"1 {food.units[0].name}"))
        except LunchError as fault:
            faults.append(fault)
    raise_all(faults)
    return [one for one in found if may_come_in(one[0], laid.table, laid.avoidances, laid.age_months, asked.regions)]


def _row(tried: Tried, before: OfferCounts) -> dict[str, Any]:
    counts = tried.counts
    return {
        "changes": [
            {
                "kind": change.kind,
                "sentence": change.sentence,
                "group": change.group,
                "item": change.out,
                "food": change.into,
            }
            for change in tried.changes
        ],
        "sentence": " ".join(change.sentence for change in tried.changes),
        "total_after": counts.total,
        "right_after": counts.right,
        "right_share_after": round(tried.share(), 6),
        "mended": counts.right - before.right,
    }
