"""The first sentence of an audit: what a parent reads before anything else."""

from service.domain.combinations import count
from service.domain.offer_rows import OfferItems
from service.domain.offers import Branch
from service.domain.standards import Target
from service.jobs.offer_counts import OfferCounts, limit_span, sizes_of
from service.jobs.offer_layout import ChildOffer


def first_sentence(laid: ChildOffer, counts: OfferCounts, parts: list[Branch], of: OfferItems) -> str:
    """Say how many lunches are right; where they are not, what fails most, and the item whose lunches fail so oftenest."""
    who = laid.child.nickname or "this child"
    if not counts.total:
        return f"There is no lunch that {who} can take from this offer."
    total = f"{counts.total:,}"
    if counts.right == counts.total:
        return f"Every one of the {total} lunches {who} can take keeps every rule checked for one lunch."
    open_ones = f" For {counts.unknown:,} it cannot be told." if counts.unknown else ""
    if not counts.wrong:
        return f"{counts.right:,} of the {total} lunches {who} can take keep the rules for one lunch.{open_ones}"
    worst = _worst_target(laid, parts, of)
    head = f"{counts.wrong:,} of the {total} lunches {who} can take break a rule for one lunch."
    if worst is None:
        return head + open_ones
    target, broken, short, item, holding = worst
    much = "too little" if short else "too much"
    most = f"; {holding:,} of them hold {item}" if item else ""
    return f"{head} Most often: {much} {target.label}, in {broken:,}{most}.{open_ones}"


def _worst_target(laid: ChildOffer, parts: list[Branch], of: OfferItems) -> tuple[Target, int, bool, str, int] | None:
    """The target whose limit most lunches break: how many, whether short of it, and the item whose lunches break it oftenest."""
    best: tuple[Target, int, bool, str, int] | None = None
    for target in laid.table.targets:
        for short in (True, False):
            if (target.limit.low if short else target.limit.high) is None:
                continue
            broken = 0
            holding: dict[tuple[str, str], int] = {}
            with_it: dict[tuple[str, str], int] = {}
            for branch in parts:
                found = count([limit_span(target, branch, of, lower=short)], sizes_of(branch))
                broken += found.wrong
                for slot, options in enumerate(branch.lists):
                    each = found.total // len(options)
                    for place, option in enumerate(options):
                        wrong = each - found.option_right[slot][place] - found.option_unknown[slot][place]
                        for key in set(option.items):
                            holding[(option.group, key)] = holding.get((option.group, key), 0) + wrong
                            with_it[(option.group, key)] = with_it.get((option.group, key), 0) + each
            if broken and (best is None or broken > best[1]):
                ranked = sorted(holding, key=lambda one: (-holding[one] / with_it[one], -holding[one], one))
                name = laid.items[ranked[0]].food.name if ranked else ""
                best = (target, broken, short, name, holding[ranked[0]] if ranked else 0)
    return best
