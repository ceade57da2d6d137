"""Smallest changes to an offer: which one or two fix most lunches, each checked by a full count.

Looked into: leave an item out, another portion of it, another food in its place, one more food in a group, and
another number taken from a group along with an item ("with this, take two"). Never a food that the child or the
setting must avoid or of which that is unknown. What is tried, and how it is counted: `trials`.
"""

from collections.abc import Callable, Sequence
from typing import Any, NamedTuple

from service.domain.allergens.screening import Avoidance, screen_food
from service.domain.counting.masks import Tick
from service.domain.errors import at
from service.domain.foods.amounts import Portion
from service.domain.foods.packets import NO_PACKETS, Packets
from service.domain.lunch.changing.changes import Judged, best_changes
from service.domain.lunch.handling import HandlingStatus
from service.domain.messages import Message, message
from service.domain.offers.branches import options_of
from service.domain.offers.changes import InOffer, OfferChange, offer_after
from service.domain.offers.counts import OfferCounts
from service.domain.offers.handled import LunchesWith, breaks, kept_so
from service.domain.offers.offer import Offer
from service.domain.offers.one_group import OneGroup, RightOf
from service.domain.shares import percent
from service.jobs.foods.at_hand import foods_named
from service.jobs.foods.packets import packets_at_hand
from service.jobs.lunch.may_have import MayHave
from service.jobs.offers.layout import ChildOffer
from service.jobs.offers.requests import OfferAuditRequest
from service.jobs.offers.trials import Trials, change_message
from service.reference.allergens.vocabulary import vocabulary
from service.reference.messages import worded

MOST_LUNCHES = 50_000_000
"""Offers with more lunches are not searched for changes; a limit of ours, so that an answer comes."""
PAIRS_FROM = 3
"""From how many of the best single changes pairs are made."""
MOST_TRIED, MOST_SECOND = 24, 6
"""How many of the most promising changes are counted, and beside a first one; a share is expected of many more first."""
WORK, FREE_WORK = 3, 500_000
"""Lunches counted for single changes: so many times those of the offer, and so many besides; a limit of ours."""

LEAST_GAIN, SHARE_DIGITS = 1e-12, 12
"""Shares that differ by less are one share: they are means of fractions, summed in different orders."""


class Counted(NamedTuple):
    """An offer and its count."""

    offer: Offer
    found: RightOf


Tried = Judged[InOffer, Counted]
"""A change (or two) to an offer, worth the share gained a change."""


def offer_changes(
    asked: OfferAuditRequest,
    child_offer: ChildOffer,
    counts: OfferCounts,
    named: list[Portion] | None,
    others: Sequence[Avoidance],
    tick: Tick | None,
) -> tuple[list[dict[str, Any]], Message]:
    """The best changes as published rows, and a note on whether the wanted share is reached.

    Ranked by the lunches fixed for each change; pairs only where no single change reaches the wanted share. Whatever
    gives the largest share is shown too. ``named``: the foods that may come in; None: the lunch foods. ``others``: what
    the other children avoid: nothing of it comes in where anything else helps.
    """
    now, wanted = RightOf(counts.total, counts.right), asked.wanted_share
    before = now.share()
    if before >= wanted:
        return [], message("offer-note.enough", percent=percent(before, wanted), wanted=percent(wanted))
    if asked.holding is None and not counts.right and _hangs_on_holding(child_offer, counts, _is_open):
        return [], message("offer-note.say-holding")
    if counts.total > MOST_LUNCHES:
        return [], message("offer-note.too-many", most=MOST_LUNCHES, total=counts.total)
    packets = packets_at_hand(asked.packets, asked.on, asked.salts_cooking_water)
    avoidances, regions = tuple(child_offer.avoidances), tuple(asked.regions)
    may_come = MayHave(child_offer.table, avoidances, child_offer.age_months, regions, packets).foods_at_hand(named)
    for_all = [one for one in may_come if not any(screen_food(vocabulary(), one.food, x).do_not_pack for x in others)]
    trials = Trials(child_offer, for_all, tick, named=named is not None)
    ranked, number = _searched(trials, child_offer, counts, wanted)
    if not ranked and len(for_all) < len(may_come):
        trials = Trials(child_offer, may_come, tick, named=named is not None)
        ranked, number = _searched(trials, child_offer, counts, wanted)
    if not ranked:
        return [], _none_helps(child_offer, counts)
    top = max(ranked, key=lambda one: one.after.found.share())
    most_share = top.after.found.share()
    found = ranked[: asked.max_changes]
    if all(one.after.found.share() < most_share for one in found):
        found[-1] = top
    if most_share >= wanted:
        note = message("offer-note.in-reach", wanted=percent(wanted))
    else:
        most = percent(most_share, wanted)
        note = message("offer-note.not-found", wanted=percent(wanted), number=number, best=most)
    return [_row(trials, one, now) for one in found], note


def _none_helps(child_offer: ChildOffer, counts: OfferCounts) -> Message:
    """That nothing was found, and what stands in the way: how lunches are kept, or rules that no lunch keeps by itself.

    The latter are what another group of foods is needed for.
    """
    if _hangs_on_holding(child_offer, counts, breaks):
        return message("offer-note.not-kept")
    targets = zip(child_offer.table.targets, counts.targets, strict=True)
    never = [target.label for target, tally in targets if not tally.kept and not tally.not_applicable]
    return message("offer-note.none-helps", rules=never) if never else message("offer-note.none-helps-each-kept")


def _searched(trials: Trials, child_offer: ChildOffer, counts: OfferCounts, wanted: float) -> tuple[list[Tried], int]:
    """What helps of all that is tried, best first, and how many changes were counted."""
    before = RightOf(counts.total, counts.right).share()
    singles = _singles(trials, child_offer.offer, counts)
    best = _ranked(singles, before)
    pairs: list[Tried] = []
    number = len(singles)
    if not best or best[0].after.found.share() < wanted:
        for first in best[:PAIRS_FROM]:
            seconds = _seconds(trials, first)
            number += len(seconds)
            pairs += _ranked(seconds, first.after.found.share())[:PAIRS_FROM]
    return _ranked([*best, *pairs], before), number


def _hangs_on_holding(
    child_offer: ChildOffer, counts: OfferCounts, of_status: Callable[[HandlingStatus], bool]
) -> bool:
    """Whether every lunch holds an item of which the rules on holding find this."""
    some = kept_so(child_offer.handling, of_status)
    return LunchesWith([branch for branch, _found in counts.parts]).number(some) == counts.total


def _is_open(status: HandlingStatus) -> bool:
    return status == "unknown"


def _ranked(tried: Sequence[Tried], before: float) -> list[Tried]:
    """Those that fix lunches, best first: share gained a change, then fewer changes, then the smaller one."""
    return best_changes(
        (
            Judged(
                one.changes, ((one.after.found.share() - before) / len(one.changes), -len(one.changes)), (), one.after
            )
            for one in tried
            if one.after.found.share() > before + LEAST_GAIN
        ),
        None,
    )


Promising = Judged[InOffer, OneGroup | None]
"""A change with the share of right lunches to expect; where it differs in one group, what looks into offers that do."""


def _promising(trials: Trials, offer: Offer, before: float, *, second: bool = False) -> list[Promising]:
    """The most promising changes to an offer, best first; ``second``: beside a first one, and without new rules."""
    found: list[Promising] = []
    least = before + LEAST_GAIN
    for group in offer.groups:
        one = trials.one_group(offer, group.id)
        one.add(offer)
        expected = list(trials.in_group(offer, group, one, second=second))
        helps = any(kind == "take" and share > least for kind, _where, share in expected)
        found += [
            Judged((trials.change(kind, where),), (round(share, SHARE_DIGITS),), (), one)
            for kind, where, share in expected
            if share > least
        ]
        for item, where in trials.along_with(offer, group) if helps and not second else ():
            share = one.share_with(item, options_of(group, where.take))
            if share > least:
                found.append(Judged((trials.change("with", where),), (round(share, SHARE_DIGITS),), (), None))
        if trials.tick is not None:
            trials.tick()
    most = MOST_SECOND if second else MOST_TRIED
    return best_changes(found, most, looked_at=most)


def _singles(trials: Trials, offer: Offer, counts: OfferCounts) -> list[Tried]:
    """The most promising single changes, each counted exactly: as many as the work allows, one in any case."""
    left = WORK * counts.total + FREE_WORK
    in_groups: dict[OneGroup, list[tuple[OfferChange, int]]] = {}
    tried: list[Tried] = []
    share = RightOf(counts.total, counts.right).share()
    for number, one in enumerate(_promising(trials, offer, share)):
        changed, group = offer_after(offer, one.change.where), one.after
        place = None if group is None else group.add(changed)
        work = counts.total if group is None or place is None else group.work(place)
        if number and work > left:
            continue
        left -= work
        if group is None or place is None:
            tried.append(Judged(one.changes, (), (), Counted(changed, trials.counted(changed))))
        else:
            in_groups.setdefault(group, []).append((one.change, place))
    for group, some in in_groups.items():
        found = group.counted([place for _change, place in some], counts, trials.tick)
        for (change, _place), right in zip(some, found, strict=True):
            tried.append(Judged((change,), (), (), Counted(offer_after(offer, change.where), right)))
    return tried


def _seconds(trials: Trials, first: Tried) -> list[Tried]:
    """The most promising changes to make besides a first one, each counted in full: as many as the work allows."""
    offer, found = first.after
    left = found.total + FREE_WORK
    tried: list[Tried] = []
    for one in _promising(trials, offer, found.share(), second=True):
        if tried and left < found.total:
            break
        changed = offer_after(offer, one.change.where)
        tried.append(Judged((*first.changes, one.change), (), (), Counted(changed, trials.counted(changed))))
        left -= tried[-1].after.found.total
    return tried


def named_foods(asked: OfferAuditRequest, packets: Packets = NO_PACKETS) -> list[Portion] | None:
    """The foods that the caller lets come in, each in an amount; None where none are named.

    Raises ``LunchError`` for any that does not fit the reference data.
    """
    with at("swap_foods"):
        return None if asked.swap_foods is None else foods_named(asked.swap_foods, packets)


def _row(trials: Trials, tried: Tried, before: RightOf) -> dict[str, Any]:
    offer, found = tried.after
    said = [change_message(change) for change in tried.changes]
    lost = before.right - found.right
    if lost > 0:
        said.append(message("offer-change.lost", lost=lost))
    right = trials.right_while_unread(offer, found)
    return {
        "changes": [trials.row(change) for change in tried.changes],
        **worded(message("text.sentences", parts=said)),
        "total_after": found.total,
        "right_after": right,
        "right_once_read_after": found.right,
        "right_share_after": round(right / found.total, 6),
        "mended": found.right - before.right,
    }
