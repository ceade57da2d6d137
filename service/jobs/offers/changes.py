"""Smallest changes to an offer: which one or two fix most lunches, each checked by a full count.

Looked into: leave an item out, another portion of it, another food in its place, one more food in a group, and
another number taken from a group along with an item ("with this, take two"). Never a food that the child or the
setting must avoid or of which that is unknown. What is tried, and how it is counted: `trials`.
"""

from collections.abc import Sequence
from typing import Any, NamedTuple

from service.domain.counting.masks import Tick
from service.domain.errors import at
from service.domain.foods.amounts import Portion
from service.domain.foods.packets import NO_PACKETS, Packets
from service.domain.lunch.changes import Judged, best_changes
from service.domain.messages import Message, message
from service.domain.offers.changes import InOffer, OfferChange, offer_after
from service.domain.offers.counts import OfferCounts
from service.domain.offers.handled import LunchesWith
from service.domain.offers.offer import Offer
from service.jobs.foods.at_hand import foods_named
from service.jobs.foods.packets import packets_at_hand
from service.jobs.lunch.changes import MayHave
from service.jobs.offers.layout import ChildOffer
from service.jobs.offers.requests import OfferAuditRequest
from service.jobs.offers.trials import Trials, change_message
from service.jobs.offers.words import percent
from service.reference.messages import worded

MOST_LUNCHES = 50_000_000
"""Offers with more lunches are not searched for changes; a limit of ours, so that an answer comes."""
PAIRS_FROM = 3
"""From how many of the best single changes pairs are made."""
MOST_TRIED = 24
"""How many of the most promising changes to items get a full count, each time."""


class Counted(NamedTuple):
    """An offer and its full count."""

    offer: Offer
    counts: OfferCounts

    def share(self) -> float:
        """Share of right lunches."""
        return self.counts.right / self.counts.total if self.counts.total else 0.0


Tried = Judged[InOffer, Counted]
"""A change (or two) to an offer, worth the share gained a change."""


def offer_changes(
    asked: OfferAuditRequest,
    child_offer: ChildOffer,
    counts: OfferCounts,
    named: list[Portion] | None,
    tick: Tick | None,
) -> tuple[list[dict[str, Any]], Message]:
    """The best changes as published rows, and a note on whether the wanted share is reached.

    Ranked by the lunches fixed for each change; pairs only where no single change reaches the wanted share. Whatever
    gives the largest share is shown too. ``named``: the foods that may come in; None: the lunch foods.
    """
    now = Counted(child_offer.offer, counts)
    before, wanted = now.share(), asked.wanted_share
    if before >= wanted:
        return [], message("offer-note.enough", percent=percent(before), wanted=percent(wanted))
    if asked.holding is None and not counts.right and _hangs_on_holding(child_offer, counts):
        return [], message("offer-note.say-holding")
    if counts.total > MOST_LUNCHES:
        return [], message("offer-note.too-many", most=MOST_LUNCHES, total=counts.total)
    may_have = MayHave(
        child_offer.table,
        tuple(child_offer.avoidances),
        child_offer.age_months,
        tuple(asked.regions),
        packets_at_hand(asked.packets, asked.on),
    )
    trials = Trials(child_offer, may_have.foods_at_hand(named), tick, named=named is not None)
    singles = _tried(trials, (), now)
    best = _ranked(singles, before)
    pairs: list[Tried] = []
    number = len(singles)
    if not best or best[0].after.share() < wanted:
        for first in best[:PAIRS_FROM]:
            again = _tried(trials, first.changes, first.after)
            number += len(again)
            pairs += _ranked(again, first.after.share())[:PAIRS_FROM]
    ranked = _ranked([*best, *pairs], before)
    if not ranked:
        return [], message("offer-note.none-helps")
    top = max(ranked, key=lambda one: one.after.share())
    found = ranked[: asked.max_changes]
    if all(one.after.share() < top.after.share() for one in found):
        found[-1] = top
    if top.after.share() >= wanted:
        note = message("offer-note.in-reach", wanted=percent(wanted))
    else:
        most = percent(top.after.share())
        note = message("offer-note.not-found", wanted=percent(wanted), number=number, best=most)
    return [_row(trials, one, counts) for one in found], note


def _hangs_on_holding(child_offer: ChildOffer, counts: OfferCounts) -> bool:
    """Whether every lunch holds an item of which it is not known how it is kept."""
    open_ones = {
        key
        for key, found in child_offer.handling.items()
        if any(one.id.startswith("holding:") and one.status == "unknown" for one in found)
    }
    return LunchesWith([branch for branch, _found in counts.parts]).number(open_ones) == counts.total


def _ranked(tried: Sequence[Tried], before: float) -> list[Tried]:
    """Those that fix lunches, best first: share gained a change, then fewer changes, then the smaller one."""
    return best_changes(
        (
            Judged(one.changes, ((one.after.share() - before) / len(one.changes), -len(one.changes)), (), one.after)
            for one in tried
            if one.after.share() > before + 1e-12
        ),
        None,
    )


def _tried(trials: Trials, already: tuple[OfferChange, ...], now: Counted) -> list[Tried]:
    """The most promising single changes to an offer, each with a full count."""
    promising = (
        Judged((change,), (promise,), (), None)
        for group in now.offer.groups
        for promise, change in trials.in_group(now.offer, group, now.counts)
    )
    chosen = [one.change for one in best_changes(promising, MOST_TRIED, looked_at=MOST_TRIED)]

    def counted(change: OfferChange) -> Tried:
        offer = offer_after(now.offer, change.where)
        return Judged((*already, change), (), (), Counted(offer, trials.count(offer)))

    tried = [counted(change) for change in [*chosen, *trials.more_taken(now.offer)]]
    helps = {
        one.changes[-1].where.group
        for one in tried
        if one.changes[-1].kind == "take" and one.after.share() > now.share()
    }
    if not already:
        tried += [counted(change) for change in trials.along_with(now.offer, helps)]
    return tried


def named_foods(asked: OfferAuditRequest, packets: Packets = NO_PACKETS) -> list[Portion] | None:
    """The foods that the caller lets come in, each in an amount; None where none are named.

    Raises ``LunchError`` for any that does not fit the reference data.
    """
    with at("swap_foods"):
        return None if asked.swap_foods is None else foods_named(asked.swap_foods, packets)


def _row(trials: Trials, tried: Tried, before: OfferCounts) -> dict[str, Any]:
    counts = tried.after.counts
    said = [change_message(change) for change in tried.changes]
    lost = before.right - counts.right
    if lost > 0:
        said.append(message("offer-change.lost", lost=lost))
    right = trials.verdicts(counts).right
    return {
        "changes": [trials.row(change) for change in tried.changes],
        **worded(message("text.sentences", parts=said)),
        "total_after": counts.total,
        "right_after": right,
        "right_once_read_after": counts.right,
        "right_share_after": round(right / counts.total, 6),
        "mended": counts.right - before.right,
    }
