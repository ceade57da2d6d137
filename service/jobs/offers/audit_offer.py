"""Audit an offer: for each child, is every lunch it allows all right, and what is the smallest change if not?

Items that a child must not have are left out first and reported with the reason. What is left is set out
and every lunch of it counted, exactly. The reply is a plain dictionary (see service/api/offers/replies.py).
"""

from collections.abc import Hashable, Iterator
from importlib.util import find_spec
from typing import Any

from service.domain.allergens.screening import Avoidance
from service.domain.cautions import CAUTIONS
from service.domain.counting.masks import Tick
from service.domain.foods.food import Food
from service.domain.offers.branches import MOST_PARTS, NONE_ALIKE, Branch, branches, parts_by_shared_foods
from service.domain.offers.judging import (
    OfferJudgement,
    OfferToJudge,
    judge_offer,
    refuse_many_shared,
    refuse_too_large,
)
from service.domain.offers.offer import Offer
from service.domain.offers.spread import KnownSpreads
from service.jobs.allergens.reply import not_read_cautions
from service.jobs.foods.salted_water import salted_water_cautions
from service.jobs.lunch.cautions import measures_used
from service.jobs.offers.cards import to_label_or_move
from service.jobs.offers.changes import offer_changes
from service.jobs.offers.layout import ChildOffer
from service.jobs.offers.packets import packets_to_read
from service.jobs.offers.reply import child_reply
from service.jobs.offers.requests import OfferAuditRequest
from service.jobs.offers.resolve import ResolvedAudit, resolve_audit
from service.reference.messages import listed_as, worded_as

MOST_COMBINATIONS = 30_000_000_000
"""More lunches than this for one child are not counted in one request; a limit of ours."""
MOST_WITHOUT_COMPILED = 2_000_000_000
"""The same where the compiled counting (the extra ``compiled``) is not installed."""
TIMES_TOGETHER = 5
"""The lunches of all children together are at most so many times as many; a limit of ours."""


def audit_offer(asked: OfferAuditRequest, tick: Tick | None = None, *, weeks: bool = True) -> dict[str, Any]:
    """Audit an offer for all children.

    ``weeks``: with the chance that a week's mean keeps each target; left out, it is None everywhere.
    ``tick`` is called now and then during long counts and may raise to stop them. Raises ``LunchError`` for
    anything in the request that does not fit; nothing is answered in part.
    """
    made = resolve_audit(asked, tick)
    offers = _to_judge(asked, made, weeks=weeks)
    spreads: KnownSpreads = {}
    known: dict[Hashable, OfferJudgement] = {}
    children = []
    for child_offer, one in zip(made.children, offers, strict=True):
        # All that tells two children of one request apart: of whom it is the same, the lunches are counted once.
        key = (one.table, one.offer, one.items, one.unread, one.yardsticks)
        judged = known.get(key) or judge_offer(one, spreads, tick)
        known[key] = judged
        reply = child_reply(asked, child_offer, one, judged)
        if asked.max_changes and judged.counts is not None and judged.counts.total:
            reply["changes"], note = offer_changes(
                asked, child_offer, judged.counts, made.named, _avoided_by_others(made, child_offer), tick
            )
            reply |= worded_as("changes_note", note)
        children.append(reply)
    to_read = packets_to_read(made.children, [one.branches for one in offers], tick)
    foods = list(_foods_offered(made))
    salt = salted_water_cautions(foods, asked.salts_cooking_water)
    return {
        "on": asked.on.isoformat(),
        "children": children,
        "to_read": to_read.before_taken,
        "to_read_once": to_read.once,
        "to_label_or_move": to_label_or_move(
            [child["left_out"] for child in children],
            [one.child.nickname or f"child {place}" for place, one in enumerate(made.children, 1)],
        ),
        **listed_as("caution", [*CAUTIONS, *not_read_cautions(foods), *salt]),
    }


def _foods_offered(made: ResolvedAudit) -> Iterator[Food]:
    """The foods that are set out, whoever may take them."""
    return (item.food for one in made.children for item in one.items.values())


def _avoided_by_others(made: ResolvedAudit, child_offer: ChildOffer) -> list[Avoidance]:
    """What the other children of a request avoid: they sit at the same table."""
    return [one for other in made.children if other is not child_offer for one in other.avoidances]


def most_combinations() -> int:
    """How many lunches one request counts for one child, by what is installed."""
    return MOST_COMBINATIONS if find_spec("numba") is not None else MOST_WITHOUT_COMPILED


def _to_judge(asked: OfferAuditRequest, made: ResolvedAudit, *, weeks: bool) -> list[OfferToJudge]:
    """Each child's offer laid out, once where several have the same; ``BadInput`` for one too large to count."""
    size_of = {offer: sum(branch.size for branch in branches(offer)) for offer in {one.offer for one in made.children}}
    most = most_combinations()
    sizes = [size_of[one.offer] for one in made.children]
    if asked.estimate is None:
        refuse_too_large(sizes, most, TIMES_TOGETHER * most)
    known: dict[tuple[str, Offer], list[Branch]] = {}
    keys = [(one.table.standard.crediting, one.offer) for one in made.children]
    for key, one in zip(keys, made.children, strict=True):
        if key not in known:
            shared = one.of.alike
            if asked.estimate is None:
                refuse_many_shared(one.offer, one.of)
            elif parts_by_shared_foods(one.offer, shared) > MOST_PARTS:
                shared = NONE_ALIKE  # an estimate credits such foods group by group, as its description says
            known[key] = branches(one.offer, alike=shared)
    return [
        OfferToJudge(
            one.table,
            one.offer,
            known[key],
            one.of,
            sorted(measures_used(one.table)) if made.measures is None else made.measures,
            asked.examples,
            asked.exact_weeks,
            (asked.estimate.lunches, asked.estimate.seed) if asked.estimate is not None and size > most else None,
            frozenset(one.unread),
            weeks,
            one.yardsticks,
        )
        for one, key, size in zip(made.children, keys, sizes, strict=True)
    ]
