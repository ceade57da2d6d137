"""All changes at once must say what judging each changed lunch by itself says; none breaks a met target."""

import itertools
from collections import Counter
from dataclasses import dataclass
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.foods.amounts import ItemVector, add_up
from service.domain.lunch.changing.changes import Change, ChangeKind, Judged, LunchChange, Move, Moves
from service.domain.lunch.changing.ranking import MOST_ALIKE, rank_changes
from service.domain.lunch.findings import Judgement, judge
from service.domain.lunch.standards import Target, TargetTable
from tests.builders import food, table, vector
from tests.strategies import LAW, SHORT_LAW, tables, vectors

pytestmark = pytest.mark.property

LEFT_OUT = ("met", "not_applicable")


@st.composite
def drawn_changes(draw: st.DrawFn, lunch: list[ItemVector]) -> list[LunchChange]:
    """Portions, swaps, additions, and removals where something is left; each a family of its own."""
    drawn = []
    for place in range(draw(st.integers(1, 8))):
        out = draw(st.none() | st.sampled_from(lunch))
        into = draw(vectors() if out is None or len(lunch) == 1 else st.none() | vectors())
        kind: ChangeKind = "add" if out is None else "remove" if into is None else "swap"
        other = draw(st.sampled_from([(), (), (), ("allergen:peanut",)]))
        size = draw(st.integers(0, 50_000))
        moves = (Move(out, into),)
        drawn.append(Change(kind, moves, size, (kind, str(place), ""), (kind, str(place)), fixes_beside=other))
    return drawn


@dataclass
class One:
    """A change judged by itself."""

    change: LunchChange
    after: list[Judgement]
    breaks: bool
    fixes: tuple[str, ...]
    fixes_counted: int
    score: float


def score(judgements: list[Judgement]) -> float:
    """The score before it is rounded to one place, as service/domain/lunch/verdict.py defines it."""
    applying = [one for one in judgements if one.status != "not_applicable"]
    weight = sum(one.target.weight for one in applying)
    earned = sum(one.target.weight * one.satisfaction for one in applying)
    return 100 * earned / weight if weight else 0.0


def one_by_one(
    targets: tuple[Target, ...], before: list[Judgement], lunch: list[ItemVector], change: LunchChange
) -> One:
    changed = list(lunch)
    (move,) = change.where
    if move.out is not None:
        changed.remove(move.out)
    if move.into is not None:
        changed.append(move.into)
    totals = add_up(changed)
    after = [judge(target, totals) for target in targets]
    pairs = list(zip(before, after, strict=True))
    mended = [(b, a) for b, a in pairs if b.status not in LEFT_OUT and a.status == "met"]
    return One(
        change,
        after,
        any(b.status in LEFT_OUT and a.status not in LEFT_OUT for b, a in pairs),
        tuple(a.target.id for _b, a in mended),
        sum(b.counts for b, _a in mended),
        score(after),
    )


@LAW
@given(st.data(), tables(), st.lists(vectors(), min_size=1, max_size=4))
def test_all_at_once_is_the_same_as_one_by_one(
    data: st.DataObject, table: TargetTable, lunch: list[ItemVector]
) -> None:
    drawn = data.draw(drawn_changes(lunch))
    totals = add_up(lunch)
    before = [judge(target, totals) for target in table.targets]
    ranked = rank_changes(table.targets, before, lunch, drawn, len(drawn))
    alone = {id(c): one_by_one(table.targets, before, lunch, c) for c in drawn}

    for row in ranked:
        one = alone[id(row.change)]
        assert not one.breaks
        assert row.fixes == one.fixes
        assert abs(row.after - one.score) <= 0.05 + 1e-9

    told = {id(row.change) for row in ranked}
    for one in alone.values():
        gains = bool(one.change.fixes_beside or one.fixes)
        gain_in_score = one.score - score(before) - 0.5
        if abs(gain_in_score) > 1e-6:
            lowers = one.score < score(before) - 1e-9
            wanted = not one.breaks and not lowers and (gains or gain_in_score > 0)
            assert (id(one.change) in told) == wanted

    def key(row: Judged[Moves, float]) -> tuple[int, int, int, float]:
        single = alone[id(row.change)]
        return -len(row.change.fixes_beside), -single.fixes_counted, -len(row.fixes), -round(single.score, 5)

    kinds: Counter[tuple[tuple[str, ...], tuple[str, ...]]] = Counter()
    turns = []
    for row in ranked:
        kinds[row.change.fixes_beside, row.fixes] += 1
        turns.append(kinds[row.change.fixes_beside, row.fixes] > MOST_ALIKE)
    assert turns == sorted(turns)  # a third that fixes just the same comes after all that fix something else
    for first, second in itertools.pairwise(zip(turns, map(key, ranked), strict=True)):
        if first[0] == second[0]:
            assert first[1][:3] <= second[1][:3]
            assert first[1][:3] != second[1][:3] or first[1][3] <= second[1][3] + 2e-5


@SHORT_LAW
@given(st.data(), tables(), st.lists(vectors(), min_size=1, max_size=3))
def test_the_order_and_number_of_candidates_do_not_change_the_best(
    data: st.DataObject, table: TargetTable, lunch: list[ItemVector]
) -> None:
    drawn = data.draw(drawn_changes(lunch))
    totals = add_up(lunch)
    before = [judge(target, totals) for target in table.targets]
    every = rank_changes(table.targets, before, lunch, drawn, len(drawn))
    limit = data.draw(st.integers(0, len(drawn)))
    shuffled = data.draw(st.permutations(drawn))
    best = rank_changes(table.targets, before, lunch, shuffled, limit)
    assert [row.change.key for row in best] == [row.change.key for row in every[:limit]]


def test_taking_out_the_only_known_energy_does_not_mend_a_share_of_energy() -> None:
    """What is left has energy, only nobody knows how much: the share stays unknown, nothing is fixed."""
    targets = table("us-school-lunch", "grades-k-5", date(2026, 9, 1)).targets
    rich = vector(food("rich", {"energy_kcal": 200, "fat_g": 15, "saturated_fat_g": 10}), 100)
    tea = vector(food("tea", unknown=["energy_kcal"]), 100)
    totals = add_up([rich, tea])
    before = [judge(target, totals) for target in targets]
    share = next(one for one in before if one.target.id == "saturated-fat")
    assert share.status == "unknown"
    moves = (Move(rich, None),)
    remove = Change("remove", moves, 1, ("remove", "rich", ""), ("remove", "rich"), fixes_beside=("allergen:milk",))
    (row,) = rank_changes(targets, before, [rich, tea], [remove], 5)
    assert "saturated-fat" not in row.fixes


def test_a_share_that_was_met_is_broken_where_only_unknown_energy_is_left() -> None:
    """Nobody can tell any more that the share is kept: the change is not told, whatever else it fixes."""
    targets = table("us-school-lunch", "grades-k-5", date(2026, 9, 1)).targets
    lean = vector(food("lean", {"energy_kcal": 200, "fat_g": 5, "saturated_fat_g": 1}), 100)
    tea = vector(food("tea", unknown=["energy_kcal"]), 100)
    totals = add_up([lean, tea])
    before = [judge(target, totals) for target in targets]
    assert next(one for one in before if one.target.id == "saturated-fat").status == "met"
    moves = (Move(lean, None),)
    remove = Change("remove", moves, 1, ("remove", "lean", ""), ("remove", "lean"), fixes_beside=("allergen:milk",))
    assert rank_changes(targets, before, [lean, tea], [remove], 5) == []
