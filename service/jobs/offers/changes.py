"""Smallest changes to an offer: which one or two mend most lunches, each checked by a full count.

Looked into: take an item out, another portion of it, another food in its place, one more food in a group, and
another number taken from a group along with an item ("with this, take two"). Never a food that the child or the
setting must avoid or of which that is unknown. What is tried, and how it is counted: `offer_trials`.
"""

from dataclasses import dataclass
from typing import Any

from service.domain.counting.masks import Tick
from service.domain.offers.counts import OfferCounts
from service.domain.offers.offer import Offer
from service.jobs.foods.at_hand import OnHand, everyday_foods, foods_named
from service.jobs.lunch.changes import may_come_in
from service.jobs.offers.layout import ChildOffer
from service.jobs.offers.requests import OfferAuditRequest
from service.jobs.offers.trials import AtHand, OfferChange, Trials

MOST_LUNCHES = 50_000_000
"""Offers with more lunches are not searched for changes; a limit of ours, so that an answer comes."""
PAIRS_FROM = 3
"""From how many of the best single changes pairs are made."""
MOST_TRIED = 24
"""How many of the most promising changes to items get a full count, each time."""


@dataclass(frozen=True, slots=True)
class Tried:
    """A change (or two) with the offer after it and its full count."""

    changes: tuple[OfferChange, ...]
    offer: Offer
    counts: OfferCounts

    def share(self) -> float:
        """Share of right lunches after it."""
        return self.counts.right / self.counts.total if self.counts.total else 0.0


def offer_changes(
    asked: OfferAuditRequest,
    laid: ChildOffer,
    counts: OfferCounts,
    named: list[AtHand] | None,
    tick: Tick | None,
) -> tuple[list[dict[str, Any]], str]:
    """The best changes as published rows, and a note on whether the wanted share is reached.

    Ranked by the lunches mended for each change; pairs only where no single change reaches the wanted share. Whatever
    gives the largest share is told too. ``named``: the foods that may come in; None: the lunch foods.
    """
    before = counts.right / counts.total
    wanted = asked.wanted_share
    if before >= wanted:
        return [], f"No change is needed: {before:.1%} of the lunches are right, {wanted:.1%} were wanted."
    if counts.total > MOST_LUNCHES:
        return [], f"Changes are looked for up to {MOST_LUNCHES:,} lunches; this offer has {counts.total:,}."
    trials = Trials(laid, _foods_at_hand(asked, laid, named), tick, named=named is not None)
    singles = _tried(trials, (), laid.offer, counts)
    best = _ranked(singles, before)
    pairs: list[Tried] = []
    number = len(singles)
    if not best or best[0].share() < wanted:
        for first in best[:PAIRS_FROM]:
            again = _tried(trials, first.changes, first.offer, first.counts)
            number += len(again)
            pairs += _ranked(again, first.share())[:PAIRS_FROM]
    ranked = _ranked([*best, *pairs], before)
    if not ranked:
        return [], "No single change and no pair of changes out of the foods at hand mends more lunches."
    top = max(ranked, key=Tried.share)
    found = ranked[: asked.max_changes]
    if all(one.share() < top.share() for one in found):
        found[-1] = top
    if top.share() >= wanted:
        note = f"{wanted:.1%} of right lunches can be reached."
    else:
        note = (
            f"{wanted:.1%} is out of reach with one or two changes out of the foods at hand: "
            f"the best of the {number:,} that were counted in full gives {top.share():.1%}."
        )
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


def _tried(trials: Trials, already: tuple[OfferChange, ...], offer: Offer, counts: OfferCounts) -> list[Tried]:
    """The most promising single changes to an offer, each with a full count."""
    promising = [one for group in offer.groups for one in trials.in_group(offer, group, counts)]
    promising.sort(key=lambda one: (-one[0], one[1].size, one[1].sentence))
    chosen: dict[tuple[str, str, str | None], OfferChange] = {}
    for _promise, change in promising:
        if len(chosen) == MOST_TRIED:
            break
        chosen.setdefault((change.kind, change.group, change.out), change)

    def counted(change: OfferChange) -> Tried:
        after = change.applied()
        return Tried((*already, change), after, trials.count(after))

    now = counts.right / counts.total if counts.total else 0.0
    tried = [counted(change) for change in [*chosen.values(), *trials.more_taken(offer)]]
    helps = {one.changes[-1].group for one in tried if one.changes[-1].kind == "take" and one.share() > now}
    if not already:
        tried += [counted(change) for change in trials.along_with(offer, helps)]
    return tried


def named_foods(asked: OfferAuditRequest) -> list[AtHand] | None:
    """The foods that the caller lets come in, each in an amount; None where none are named.

    Raises ``LunchError`` for any that does not fit the reference data.
    """
    if asked.swap_foods is None:
        return None
    return [_said(one) for one in foods_named(asked.swap_foods, "/swap_foods")]


def _foods_at_hand(asked: OfferAuditRequest, laid: ChildOffer, named: list[AtHand] | None) -> list[AtHand]:
    """Foods that may come in: those named, or else the lunch foods; only what this child may take."""
    foods = [_said(one) for one in everyday_foods()] if named is None else named
    return [one for one in foods if may_come_in(one[0], laid.table, laid.avoidances, laid.age_months, asked.regions)]


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


def _said(one: OnHand) -> AtHand:
    food, amount_mg, quantity, unit = one
    return food, amount_mg, f"{quantity:g} {unit}"
