"""The first sentence of an audit: what a parent reads before anything else."""

from service.domain.lunch.standards import Target
from service.jobs.offers.counts import OfferCounts
from service.jobs.offers.layout import ChildOffer


def first_sentence(laid: ChildOffer, counts: OfferCounts) -> str:
    """Say how many lunches are right; where they are not, what fails most, and the item whose lunches fail so oftenest."""
    who = laid.child.nickname or "this child"
    if not counts.total:
        return f"There is no lunch that {who} can take from this offer."
    if counts.total == 1:
        said = "keeps every rule checked" if counts.right else "breaks a rule" if counts.wrong else "may break a rule"
        return f"The only lunch {who} can take {said} for one lunch.{_most_often(laid, counts)}"
    total = f"{counts.total:,}"
    if counts.right == counts.total:
        return f"Every one of the {total} lunches {who} can take keeps every rule checked for one lunch."
    open_ones = f" For {counts.unknown:,} it cannot be told." if counts.unknown else ""
    if not counts.wrong:
        return f"{counts.right:,} of the {total} lunches {who} can take keep the rules for one lunch.{open_ones}"
    number = "All of" if counts.wrong == counts.total else f"{counts.wrong:,} of"
    return (
        f"{number} the {total} lunches {who} can take break a rule for one lunch.{_most_often(laid, counts)}{open_ones}"
    )


def _most_often(laid: ChildOffer, counts: OfferCounts) -> str:
    """What fails most, and the item whose lunches fail so oftenest."""
    worst = _worst_target(laid, counts)
    if worst is None:
        return ""
    target, broken, short, item, holding = worst
    much = "too little" if short else "too much"
    if counts.total == 1:
        return f" It has {much} {target.label}."
    most = f"; {holding:,} of them hold {item}" if item else ""
    return f" Most often: {much} {target.label}, in {broken:,}{most}."


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
        for option, wrong in zip(options, found.failures_by_option(at, short=is_short), strict=True):
            for key in set(option.items):
                holding[(option.group, key)] = holding.get((option.group, key), 0) + wrong
    items = counts.items()
    ranked = sorted(holding, key=lambda one: (-holding[one] / items[one].lunches, -holding[one], one))
    name = laid.items[ranked[0]].food.name if ranked else ""
    return laid.table.targets[at], most, is_short, name, holding[ranked[0]] if ranked else 0
