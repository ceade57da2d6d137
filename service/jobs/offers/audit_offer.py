"""Audit an offer: for each child, is every lunch it allows all right, and what is the smallest change if not?

Items that a child must not have are left out first and reported with the reason. What is left is laid out
and every lunch of it counted, exactly. The reply is a plain dictionary (see service/api/offers/replies.py).
"""

from typing import Any

from service.domain.cautions import CAUTIONS
from service.domain.errors import BadInput
from service.domain.offers.offer import Branch, Offer, branches, empty_groups
from service.domain.offers.rows import OfferItems
from service.jobs.lunch.reply import standard_row, table_cautions
from service.jobs.offers.cards import card_of, to_label_or_move
from service.jobs.offers.changes import named_foods, offer_changes
from service.jobs.offers.counts import OfferCounts, Tick, count_offer
from service.jobs.offers.examples import examples_of
from service.jobs.offers.layout import ChildOffer, PreparedOffers, lay_out
from service.jobs.offers.requests import OfferAuditRequest
from service.jobs.offers.spread import KnownSpreads, check_measures, measure_rows, week_chances
from service.jobs.offers.trials import AtHand
from service.jobs.offers.words import first_sentence

MOST_COMBINATIONS = 30_000_000_000
"""More lunches than this for one child are not counted in one request; a limit of ours."""
MOST_WITHOUT_COMPILED = 2_000_000_000
"""The same where the compiled counting (the extra ``compiled``) is not installed."""


def audit_offer(asked: OfferAuditRequest, tick: Tick | None = None) -> dict[str, Any]:
    """Audit an offer for all children.

    ``tick`` is called now and then during long counts and may raise to stop them. Raises ``LunchError`` for
    anything in the request that does not fit; nothing is answered in part.
    """
    _check_doubles(asked)
    check_measures(asked)
    named = named_foods(asked)
    prepared = PreparedOffers(asked.offer)
    laid = [lay_out(asked, place, prepared) for place in range(len(asked.children))]
    known: dict[Offer, list[Branch]] = {}
    for one in laid:
        if one.offer not in known:
            known[one.offer] = branches(one.offer)
    parts = [known[one.offer] for one in laid]
    sizes = [sum(branch.size for branch in part) for part in parts]
    limit = most_combinations()
    for place, size in enumerate(sizes):
        if size > limit and asked.estimate is None:
            raise BadInput(
                pointer="/offer",
                value=f"{size:,} lunches for child {place + 1}",
                problem=f"are more than one request counts ({limit:,})",
                remedy="Offer fewer items, split the groups, or give 'estimate' to have them estimated from a sample.",
            )
    spreads: KnownSpreads = {}
    children = [
        _child(asked, one, part, size, size > limit, spreads, named, tick)
        for one, part, size in zip(laid, parts, sizes, strict=True)
    ]
    return {
        "on": asked.on.isoformat(),
        "children": children,
        "to_label_or_move": to_label_or_move(laid),
        "cautions": list(CAUTIONS),
    }


def most_combinations() -> int:
    """How many lunches one request counts for one child, by what is installed."""
    from importlib.util import find_spec

    return MOST_COMBINATIONS if find_spec("numba") is not None else MOST_WITHOUT_COMPILED


def _check_doubles(asked: OfferAuditRequest) -> None:
    names = [child.nickname for child in asked.children if child.nickname]
    for place, child in enumerate(asked.children):
        if child.nickname and names.count(child.nickname) > 1:
            raise BadInput(
                pointer=f"/children/{place}/nickname",
                value="(a nickname)",
                problem="stands twice",
                remedy="Give each child a nickname of its own.",
            )


def _child(
    asked: OfferAuditRequest,
    laid: ChildOffer,
    parts: list[Branch],
    size: int,
    too_large: bool,
    spreads: KnownSpreads,
    named: list[AtHand] | None,
    tick: Tick | None,
) -> dict[str, Any]:
    of = laid.of
    reply: dict[str, Any] = {
        "nickname": laid.child.nickname,
        "standard": standard_row(laid.table),
        "left_out": laid.left_out,
        "nothing_left_in": list(empty_groups(laid.offer)),
        "total": size,
        "counted": not too_large,
        "estimate": None,
        "card": card_of(laid),
        "notes": list(table_cautions(laid.table)),
    }
    if too_large and asked.estimate is not None:
        from service.jobs.offers.estimate import estimated

        return {**reply, **_nothing_counted(), "estimate": estimated(asked.estimate, laid, parts, of, tick)}
    counts = count_offer(laid.table, parts, of, tick)
    reply |= {
        "right": counts.right,
        "wrong": counts.wrong,
        "unknown": counts.unknown,
        "right_share": _share(counts.right, counts.total),
        "targets": _target_rows(laid, counts, parts, of, asked.exact_weeks),
        "items": _item_rows(laid, counts),
        "measures": measure_rows(asked, laid, parts, spreads),
        "best": [],
        "worst": [],
        "changes": [],
        "changes_note": "" if counts.total else "There is nothing to change as long as no lunch can be taken.",
    }
    reply["sentence"] = first_sentence(laid, counts)
    if asked.examples and counts.total:
        reply["best"], reply["worst"] = examples_of(asked, laid, parts, of, tick)
    if asked.max_changes and counts.total:
        reply["changes"], reply["changes_note"] = offer_changes(asked, laid, counts, named, tick)
    return reply


def _nothing_counted() -> dict[str, Any]:
    return {
        "right": None,
        "wrong": None,
        "unknown": None,
        "right_share": None,
        "targets": [],
        "items": [],
        "measures": {},
        "best": [],
        "worst": [],
        "changes": [],
        "changes_note": "Changes are looked for only where all lunches are counted.",
        "sentence": "Too many lunches to count: the share of right ones is estimated from a sample.",
    }


def _share(part: int, whole: int) -> float | None:
    return round(part / whole, 6) if whole else None


def _target_rows(
    laid: ChildOffer, counts: OfferCounts, parts: list[Branch], of: OfferItems, exact_weeks: bool
) -> list[dict[str, Any]]:
    chances = week_chances(laid.table, parts, of, exact=exact_weeks)
    return [
        {
            "id": target.id,
            "label": target.label,
            "unit": target.unit,
            "at_least": target.at_least,
            "at_most": target.at_most,
            "exclusive": target.above or target.below,
            "basis": target.basis,
            "firm": target.firm,
            "kept": tally.kept,
            "broken": tally.broken,
            "unknown": tally.unknown,
            "week_mean_chance": chances.get(target.id),
            "source": target.source,
            "source_status": target.status,
        }
        for target, tally in zip(laid.table.targets, counts.targets, strict=True)
    ]


def _item_rows(laid: ChildOffer, counts: OfferCounts) -> list[dict[str, Any]]:
    rows = []
    tallies = counts.items()
    for group in laid.offer.groups:
        for key in group.items:
            tally = tallies.get((group.id, key))
            lunches, right, unknown = (0, 0, 0) if tally is None else (tally.lunches, tally.right, tally.unknown)
            rows.append(
                {
                    "group": group.id,
                    "item": key,
                    "name": laid.items[(group.id, key)].food.name,
                    "lunches_with": lunches,
                    "right_with": right,
                    "unknown_with": unknown,
                    "right_share_with": _share(right, lunches),
                    "right_share_without": _share(counts.right - right, counts.total - lunches),
                }
            )
    return rows
