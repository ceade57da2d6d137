"""Judges a whole offer for one child: every lunch it allows counted or estimated, and how its measures spread.

Everything that has to be looked up (targets, items with their measures) comes in; nothing is looked up here.
"""

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from service.domain.counting import days as combinations_days
from service.domain.counting.estimate import Estimate, estimate
from service.domain.counting.masks import Tick
from service.domain.counting.ranked import best_and_worst
from service.domain.counting.scores import OptionsTake
from service.domain.errors import BadInput
from service.domain.lunch.standards import Target, TargetTable
from service.domain.lunch.yardsticks import Yardstick
from service.domain.messages import message
from service.domain.offers.branches import MOST_PARTS, Branch, Key, parts_by_shared_foods
from service.domain.offers.counts import OfferCounts, Verdicts, count_kept, count_offer, verdicts_of
from service.domain.offers.offer import Offer
from service.domain.offers.rows import OfferItems, energy_minima, rows_of
from service.domain.offers.spread import KnownSpreads, MeasureSpread, WeekChance, measure_spreads, week_chances

MOST_SUMS = 20_000
"""Different sums that a week's mean is counted on exactly; beyond it the chance has two ends (a limit of ours)."""
MOST_CAUSES = 3
"""How many of the targets that lunches break are looked into for the item that goes with it."""


class OfferToJudge(NamedTuple):
    """One child's offer, after what it must not be given was left out, and what to look into.

    ``branches``: the offer laid out. ``measures``: whose spread is asked for. ``sample``: how many lunches to draw and
    the seed, for an offer too large to count; None where it is to be counted.
    """

    table: TargetTable
    offer: Offer
    branches: Sequence[Branch]
    items: OfferItems
    measures: Sequence[int]
    examples: int
    exact_weeks: bool
    sample: tuple[int, int] | None
    unread: frozenset[Key] = frozenset()
    """Items whose packet is still to be read."""
    weeks: bool = True
    """Whether the chance that a week's mean keeps a target is asked for."""
    yardsticks: tuple[Yardstick, ...] = ()
    """What the lunches are shown beside; they change nothing else."""

    @property
    def size(self) -> int:
        """How many lunches there are."""
        return sum(branch.size for branch in self.branches)


class WorstTarget(NamedTuple):
    """A target whose limit lunches break: how many, whether short of it, and the item most of these hold.

    ``without_sweets``: they keep a minimum of energy, but would not without their sweets and snacks.
    """

    target: Target
    broken: int
    short: bool
    item: Key | None
    holding: int
    without_sweets: bool = False


class OfferBeside(NamedTuple):
    """All lunches beside a yardstick: how many keep its rows, and the chance that a week's mean does, by target.

    ``counts``: None where it has no rows for the child, or the lunches were not counted.
    """

    yardstick: Yardstick
    counts: OfferCounts | None
    chances: dict[str, WeekChance]


class OfferJudgement(NamedTuple):
    """The result of an offer. ``counts``: None where it was estimated instead; labels play no part in them.

    ``worst_targets``: what most lunches break, most often first. ``best``, ``worst``: the items of the lunches with the highest score, best first, and the lowest, worst first.
    """

    counts: OfferCounts | None
    verdicts: Verdicts | None
    estimate: Estimate | None
    chances: dict[str, WeekChance]
    spreads: dict[int, MeasureSpread]
    worst_targets: list[WorstTarget]
    best: list[list[Key]]
    worst: list[list[Key]]
    beside: list[OfferBeside]


def refuse_too_large(sizes: Sequence[int], most: int, together: int) -> None:
    """Raise ``BadInput`` for more lunches than are counted in one request: of one child, or of all together."""
    for place, size in enumerate(sizes):
        if size > most:
            raise BadInput(
                field="offer",
                value=f"{size:,} lunches for child {place + 1}",
                problem=message("fault.too-many-lunches", most=most),
            )
    if sum(sizes) > together:
        raise BadInput(
            field="children",
            value=f"{sum(sizes):,} lunches for {len(sizes)} children",
            problem=message("fault.too-many-lunches-together", most=together),
        )


def refuse_many_shared(offer: Offer, items: OfferItems) -> None:
    """Raise ``BadInput`` where several groups have the same foods, and there are too many ways to take of them."""
    parts = parts_by_shared_foods(offer, items.alike)
    if parts > MOST_PARTS:
        names = sorted({items.foods[key].name for key in items.alike})
        raise BadInput(
            field=("offer", "groups"),
            value=f"{parts:,} ways to take foods that several groups have",
            problem=message("fault.too-many-shared", most=MOST_PARTS, names=names),
        )


def judge_offer(one: OfferToJudge, spreads: KnownSpreads, tick: Tick | None = None) -> OfferJudgement:
    """Judge an offer; ``spreads``: those known already from children with the same offer, added to.

    ``tick``: called now and then, may raise to stop. Source: ours.
    """
    if one.sample is not None:
        drawn, seed = one.sample
        drawn_from = [
            (one.items.values(one.table, branch), one.items.limits(one.table, branch)) for branch in one.branches
        ]
        found = estimate(drawn_from, drawn, seed, tick)
        return OfferJudgement(
            None, None, found, {}, {}, [], [], [], [OfferBeside(each, None, {}) for each in one.yardsticks]
        )
    counts = count_offer(one.table, one.branches, one.items, tick)
    most_sums = combinations_days.MOST_SUMS if one.exact_weeks else MOST_SUMS
    best, worst = _best_and_worst(one, tick) if one.examples and counts.total else ([], [])
    return OfferJudgement(
        counts,
        verdicts_of(one.table, counts, one.items, one.unread, tick),
        None,
        week_chances(one.table, one.branches, one.items, most_sums) if one.weeks else {},
        measure_spreads(one.measures, one.table.standard.crediting, one.offer, one.branches, one.items, spreads),
        _worst_targets(one.table, counts),
        best,
        worst,
        [_beside(one, each, most_sums, tick) for each in one.yardsticks],
    )


def _beside(one: OfferToJudge, yardstick: Yardstick, most_sums: int, tick: Tick | None) -> OfferBeside:
    if yardstick.table is None:
        return OfferBeside(yardstick, None, {})
    chances = week_chances(yardstick.table, one.branches, one.items, most_sums) if one.weeks else {}
    return OfferBeside(yardstick, count_kept(yardstick.table, one.branches, one.items, tick), chances)


def _best_and_worst(one: OfferToJudge, tick: Tick | None) -> tuple[list[list[Key]], list[list[Key]]]:
    """The lunches with the highest and the lowest score; ties by the offer's order."""
    best: list[tuple[float, int, tuple[int, ...]]] = []
    worst: list[tuple[float, int, tuple[int, ...]]] = []
    for number, branch in enumerate(one.branches):
        lists = [[one.items.scored_together(option) for option in options] for options in branch.lists]
        points = one.table.standard.points_off
        off = [[one.items.taken(one.table, option) for option in options] for options in branch.lists]
        found = best_and_worst(one.table.targets, lists, one.examples, tick, OptionsTake(points, off))
        best += [(lunch.score, number, lunch.options) for lunch in found.best]
        worst += [(lunch.score, number, lunch.options) for lunch in found.worst]
    best.sort(key=lambda lunch: (-lunch[0], lunch[1], lunch[2]))
    worst.sort()

    def taken(number: int, chosen: tuple[int, ...]) -> list[Key]:
        options = [lists[which] for lists, which in zip(one.branches[number].lists, chosen, strict=True)]
        return [(option.group, key) for option in options for key in option.items]

    return (
        [taken(number, chosen) for _score, number, chosen in best[: one.examples]],
        [taken(number, chosen) for _score, number, chosen in worst[: one.examples]],
    )


def _worst_targets(table: TargetTable, counts: OfferCounts) -> list[WorstTarget]:
    """What fails most, most often first, each with the item whose lunches fail so most often."""
    broken: dict[tuple[int, bool], int] = {}
    for place in range(len(table.targets)):
        rows = [found.limits[place] for _branch, found in counts.parts]
        for short in (True, False):
            broken[(place, short)] = sum(row.short if short else row.over for row in rows)
    ranked = sorted((one for one in broken if broken[one]), key=lambda one: -broken[one])
    worst = [
        WorstTarget(table.targets[place], broken[(place, short)], short, *_item_that_fails(counts, place, short=short))
        for place, short in ranked[:MOST_CAUSES]
    ]
    worst += _only_with_sweets(table, counts, broken)
    return sorted(worst, key=lambda one: -one.broken)[:MOST_CAUSES]


def _only_with_sweets(
    table: TargetTable, counts: OfferCounts, broken: Mapping[tuple[int, bool], int]
) -> list[WorstTarget]:
    """The minima of energy that lunches keep only with their sweets and snacks; which item that is, is no news."""
    first = len(rows_of(table).limits)  # `OfferItems.limits` has them after those of the table
    found = []
    for place, target in enumerate(energy_minima(table), first):
        rows = [survey.limits[place] for _branch, survey in counts.parts if place < len(survey.limits)]
        only = sum(row.short for row in rows) - broken[(table.targets.index(target), True)]
        if only > 0:
            found.append(WorstTarget(target, only, True, None, 0, without_sweets=True))
    return found


def _item_that_fails(counts: OfferCounts, place: int, *, short: bool) -> tuple[Key | None, int]:
    """The item whose lunches fail a target most often, and how many of them do."""
    holding: dict[Key, int] = {}
    for branch, found in counts.parts:
        options = [option for one in branch.lists for option in one]
        for option, wrong in zip(options, found.failures_by_option(place, short=short), strict=True):
            for key in set(option.items):
                holding[(option.group, key)] = holding.get((option.group, key), 0) + wrong
    items = counts.items()
    ranked = sorted(holding, key=lambda one: (-holding[one] / items[one].lunches, -holding[one], one))
    return (ranked[0], holding[ranked[0]]) if ranked else (None, 0)
