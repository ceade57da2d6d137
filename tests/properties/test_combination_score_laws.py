"""The best and worst combinations by branch and bound are those of judging every combination like a single lunch."""

from collections.abc import Sequence
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.counting import ranked as combinations_ranked
from service.domain.counting.ranked import Scored, best_and_worst
from service.domain.counting.scores import OptionsTake
from service.domain.foods.amounts import NOTHING, ItemVector, add_up
from service.domain.lunch.findings import Judgement, judge
from service.domain.lunch.points_off import Taken, off_score
from service.domain.lunch.standards import PointsOff, Target, TargetTable
from service.domain.lunch.verdict import score_of
from tests.strategies import EXAMPLES, tables, vectors

pytestmark = pytest.mark.property

LAW = settings(deadline=None, max_examples=2 * EXAMPLES)


def unrounded(judgements: Sequence[Judgement]) -> float:
    """`verdict.score_of` without its rounding, so that ranks do not hang on a tenth of a point."""
    weight = earned = 0.0
    for one in judgements:
        if one.status != "not_applicable":
            weight += one.target.weight
            earned += one.target.weight * one.satisfaction
    if weight == 0:
        return 0.0
    assert score_of(judgements) == round(100 * earned / weight, 1)
    return 100 * earned / weight


def scored_one_by_one(targets: Sequence[Target], lists: Sequence[Sequence[Sequence[ItemVector]]]) -> list[Scored]:
    """Every combination, judged by the functions of a single check."""
    found = []
    for options in product(*(range(len(one)) for one in lists)):
        items = [item for place, option in enumerate(options) for item in lists[place][option]]
        totals = add_up([*items, NOTHING])
        found.append(Scored(unrounded([judge(target, totals) for target in targets]), options))
    return found


@st.composite
def option_lists(draw: st.DrawFn) -> list[list[list[ItemVector]]]:
    """Some lists of options over a few items; options take up to two items, or none, and may be alike."""
    pool = draw(st.lists(vectors(widened=draw(st.booleans())), min_size=1, max_size=4))
    option = st.lists(st.sampled_from(pool), max_size=2)
    return draw(st.lists(st.lists(option, min_size=1, max_size=5), min_size=1, max_size=4))


def check(targets: Sequence[Target], lists: list[list[list[ItemVector]]], k: int) -> None:
    """Same scores to the last bit, same combinations, same order."""
    every = scored_one_by_one(targets, lists)
    found = best_and_worst(targets, lists, k)
    assert list(found.best) == sorted(every, key=lambda one: (-one.score, one.options))[:k]
    assert list(found.worst) == sorted(every, key=lambda one: (one.score, one.options))[:k]


@LAW
@given(tables(), option_lists(), st.integers(1, 7), st.sampled_from([1, 3, 1024]))
def test_the_best_and_worst_are_those_of_scoring_all(
    table: TargetTable, lists: list[list[list[ItemVector]]], k: int, boxes: int
) -> None:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(combinations_ranked, "BOXES", boxes)
        patch.setattr(combinations_ranked, "SCORED_OUTRIGHT", 1)
        patch.setattr(combinations_ranked, "BRANCHING", 2)
        check(table.targets, lists, k)


@LAW
@given(tables(), option_lists(), st.integers(1, 4))
def test_ties_go_to_the_first_options(table: TargetTable, lists: list[list[list[ItemVector]]], k: int) -> None:
    """Every option appears twice, so every score does."""
    doubled = [[*options, *options] for options in lists[:3]]
    check(table.targets, doubled, k)


@settings(LAW, max_examples=EXAMPLES)
@given(tables(), option_lists())
def test_without_targets_all_are_alike(table: TargetTable, lists: list[list[list[ItemVector]]]) -> None:
    check([], lists, 3)
    check(table.targets[:1], lists, 3)


@LAW
@given(st.data(), tables(), option_lists(), st.integers(1, 5))
def test_what_is_taken_off_is_taken_off_every_combination(
    data: st.DataObject, table: TargetTable, lists: list[list[list[ItemVector]]], k: int
) -> None:
    """Products, handling and what is far over a maximum: the best and worst are still those of scoring all."""
    points = PointsOff(data.draw(st.sampled_from([0.0, 7.5])), 10.0, 20, data.draw(st.sampled_from([0.0, 5.0])), 3.0)
    off = st.tuples(st.sampled_from([0, 0, 1_200, 19_800]), st.integers(0, 1))
    taken = [[data.draw(off) for _option in options] for options in lists]
    every = []
    for options in product(*(range(len(one)) for one in lists)):
        items = [item for place, option in enumerate(options) for item in lists[place][option]]
        found = [judge(target, add_up([*items, NOTHING])) for target in table.targets]
        some = [taken[place][option] for place, option in enumerate(options)]
        amounts = [(one.target, one.amount, one.low, one.high) for one in found]
        of_items = [Taken(thousandths, thousandths, thousandths) for thousandths, _handled in some]
        handled = any(count for _thousandths, count in some)
        less = off_score(points, amounts, of_items, (handled, handled)).known
        assert score_of(found, off_score(points, amounts, of_items, (handled, handled))) == round(
            max(0.0, unrounded(found) - less), 1
        )
        every.append(Scored(max(0.0, unrounded(found) - less), options))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(combinations_ranked, "SCORED_OUTRIGHT", data.draw(st.sampled_from([1, 8192])))
        patch.setattr(combinations_ranked, "BRANCHING", 2)
        best = best_and_worst(table.targets, lists, k, taken=OptionsTake(points, taken))
    assert list(best.best) == sorted(every, key=lambda one: (-one.score, one.options))[:k]
    assert list(best.worst) == sorted(every, key=lambda one: (one.score, one.options))[:k]
