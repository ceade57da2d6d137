"""The best and worst lunches of an offer, each as a full check."""

from typing import Any

from service.domain.counting.masks import Tick
from service.domain.counting.ranked import best_and_worst
from service.domain.offers.offer import Branch
from service.domain.offers.rows import OfferItems
from service.jobs.lunch.check_lunch import check_items
from service.jobs.lunch.items import PreparedItem
from service.jobs.offers.layout import ChildOffer
from service.jobs.offers.requests import OfferAuditRequest

Place = tuple[float, int, tuple[int, ...]]
"""Score, branch and options of one lunch."""


def examples_of(
    asked: OfferAuditRequest, laid: ChildOffer, parts: list[Branch], of: OfferItems, tick: Tick | None
) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    """The lunches with the highest score, best first, and with the lowest, worst first; ties by the offer's order."""
    best: list[Place] = []
    worst: list[Place] = []
    for number, branch in enumerate(parts):
        lists = [
            [tuple(of.vectors[(option.group, key)] for key in option.items) for option in options]
            for options in branch.lists
        ]
        found = best_and_worst(laid.table.targets, lists, asked.examples, tick)
        best += [(one.score, number, one.options) for one in found.best]
        worst += [(one.score, number, one.options) for one in found.worst]
    best.sort(key=lambda one: (-one[0], one[1], one[2]))
    worst.sort(key=lambda one: (one[0], one[1], one[2]))
    return (
        [_example(asked, laid, parts, one) for one in best[: asked.examples]],
        [_example(asked, laid, parts, one) for one in worst[: asked.examples]],
    )


def _example(asked: OfferAuditRequest, laid: ChildOffer, parts: list[Branch], place: Place) -> dict[str, Any]:
    _score, number, chosen = place
    taken: list[tuple[str, str]] = []
    for options, which in zip(parts[number].lists, chosen, strict=True):
        option = options[which]
        taken += [(option.group, key) for key in option.items]
    ordered = sorted(range(len(taken)), key=lambda place: laid.items[taken[place]].order)
    items: list[PreparedItem] = [laid.items[taken[place]] for place in ordered]
    if not items:
        return {"items": [], "check": None}
    reply, _judgements = check_items(
        laid.table, items, laid.avoidances, asked.holding, laid.age_months, asked.regions, ordered
    )
    return {"items": [list(key) for key in taken], "check": reply}
