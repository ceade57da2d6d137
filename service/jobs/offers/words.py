"""The first sentence of an audit: what a parent reads before anything else."""

from service.domain.lunch.standards import Target
from service.domain.messages import Message, message
from service.jobs.offers.counts import OfferCounts
from service.jobs.offers.layout import ChildOffer


def first_sentence(laid: ChildOffer, counts: OfferCounts) -> Message:
    """Say how many lunches keep the rules; where they do not, what fails most, and the item whose lunches fail so oftenest."""
    who = laid.child.nickname or message("offer.this-child")
    right, wrong, unknown, total = counts.right, counts.wrong, counts.unknown, counts.total
    if not total:
        return message("offer.no-lunch", who=who)
    if total == 1:
        parts = [
            message("offer.only-right", who=who)
            if right
            else message("offer.only-wrong", who=who)
            if wrong
            else message("offer.only-unknown", who=who)
        ]
        return message("text.sentences", parts=[*parts, *_most_often(laid, counts)])
    if right == total:
        return message("offer.all-right", who=who, total=total)
    open_ones = [message("offer.unknown", unknown=unknown)] if unknown else []
    if not wrong:
        return message(
            "text.sentences", parts=[message("offer.some-right", who=who, right=right, total=total), *open_ones]
        )
    first = message("offer.some-wrong", who=who, wrong=wrong, total=total)
    if wrong == total:
        first = message("offer.all-wrong", who=who, total=total)
    return message("text.sentences", parts=[first, *_most_often(laid, counts), *open_ones])


def _most_often(laid: ChildOffer, counts: OfferCounts) -> list[Message]:
    """What fails most, and the item whose lunches fail so oftenest."""
    worst = _worst_target(laid, counts)
    if worst is None:
        return []
    target, broken, short, item, holding = worst
    much = message("summary.too-much", label=target.label)
    if short:
        much = message("summary.too-little", label=target.label)
    if counts.total == 1:
        return [message("offer.it-has", much=much)]
    if item:
        return [message("offer.most-often-with", much=much, broken=broken, holding=holding, item=item)]
    return [message("offer.most-often", much=much, broken=broken)]


def _worst_target(laid: ChildOffer, counts: OfferCounts) -> tuple[Target, int, bool, str, int] | None:
    """The target whose limit most lunches break: how many, whether short of it, and the item whose lunches break it oftenest."""
    most, at, is_short = 0, 0, False
    for place in range(len(laid.table.targets)):
        for short in (True, False):
            rows = [found.limits[place] for _branch, found in counts.parts]
            broken = sum(row.short if short else row.over for row in rows)
            if broken > most:
                most, at, is_short = broken, place, short
    if not most:
        return None
    holding: dict[tuple[str, str], int] = {}
    for branch, found in counts.parts:
        options = [option for one in branch.lists for option in one]
        for option, wrong in zip(options, found.broken_with(at, short=is_short), strict=True):
            for key in set(option.items):
                holding[(option.group, key)] = holding.get((option.group, key), 0) + wrong
    items = counts.items()
    ranked = sorted(holding, key=lambda one: (-holding[one] / items[one].lunches, -holding[one], one))
    name = laid.items[ranked[0]].food.name if ranked else ""
    return laid.table.targets[at], most, is_short, name, holding[ranked[0]] if ranked else 0
