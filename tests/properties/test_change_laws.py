"""All changes at once must say what judging each changed lunch by itself says; none breaks a met target."""

import itertools
from collections import Counter
from dataclasses import dataclass
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.foods.amounts import ItemVector, add_up
from service.domain.lunch.changes import MOST_ALIKE, Candidate, Ranked, rank_changes
from service.domain.lunch.findings import Judgement, judge
from service.domain.lunch.standards import Target, TargetTable
from tests.builders import food, table, vector
from tests.strategies import LAW, SHORT_LAW, tables, vectors

pytestmark = pytest.mark.property

LEFT_OUT = ("met", "not_applicable")


@st.composite
def candidates(draw: st.DrawFn, lunch: list[ItemVector]) -> list[Candidate]:
    """Portions, swaps, additions, and removals where something is left; each a family of its own."""
    drawn = []
    for place in range(draw(st.integers(1, 8))):
        out = draw(st.none() | st.sampled_from(lunch))
        into = draw(vectors() if out is None or len(lunch) == 1 else st.none() | vectors())
        kind = "add" if out is None else "remove" if into is None else "swap"
        other = draw(st.sampled_from([(), (), (), ("allergen:peanut",)]))
        size = draw(st.integers(0, 50_000))
        drawn.append(Candidate(kind, out, into, (kind, str(place), ""), size, (kind, str(place)), other))
    return drawn


@dataclass
class One:
    """A candidate judged by itself."""

    candidate: Candidate
    after: list[Judgement]
    breaks: bool
    mends: tuple[str, ...]
    mends_counted: int
    score: float


def score(judgements: list[Judgement]) -> float:
    """The score before it is rounded to one place, as service/domain/lunch/verdict.py defines it."""
    applying = [one for one in judgements if one.status != "not_applicable"]
    weight = sum(one.target.weight for one in applying)
    earned = sum(one.target.weight * one.satisfaction for one in applying if one.status != "unknown")
    return 100 * earned / weight if weight else 0.0


def one_by_one(
    targets: tuple[Target, ...], before: list[Judgement], lunch: list[ItemVector], candidate: Candidate
) -> One:
    changed = list(lunch)
    if candidate.out is not None:
        changed.remove(candidate.out)
    if candidate.into is not None:
        changed.append(candidate.into)
    totals = add_up(changed)
    after = [judge(target, totals) for target in targets]
    pairs = list(zip(before, after, strict=True))
    mended = [(b, a) for b, a in pairs if b.status not in LEFT_OUT and a.status == "met"]
    return One(
        candidate,
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
    drawn = data.draw(candidates(lunch))
    totals = add_up(lunch)
    before = [judge(target, totals) for target in table.targets]
    ranked = rank_changes(table.targets, before, lunch, drawn, len(drawn))
    alone = {id(c): one_by_one(table.targets, before, lunch, c) for c in drawn}

    for row in ranked:
        one = alone[id(row.candidate)]
        assert not one.breaks
        assert row.mends == one.mends
        assert abs(row.score - one.score) <= 0.05 + 1e-9

    told = {id(row.candidate) for row in ranked}
    for one in alone.values():
        gains = bool(one.candidate.mends_other or one.mends)
        gain_in_score = one.score - score(before) - 0.5
        if abs(gain_in_score) > 1e-6:
            wanted = not one.breaks and (gains or gain_in_score > 0)
            assert (id(one.candidate) in told) == wanted

    def key(row: Ranked) -> tuple[int, int, int, float]:
        single = alone[id(row.candidate)]
        return -len(row.candidate.mends_other), -single.mends_counted, -len(row.mends), -round(single.score, 5)

    kinds: Counter[tuple[tuple[str, ...], tuple[str, ...]]] = Counter()
    turns = []
    for row in ranked:
        kinds[row.candidate.mends_other, row.mends] += 1
        turns.append(kinds[row.candidate.mends_other, row.mends] > MOST_ALIKE)
    assert turns == sorted(turns)  # a third that mends just the same comes after all that mend something else
    for first, second in itertools.pairwise(zip(turns, map(key, ranked), strict=True)):
        if first[0] == second[0]:
            assert first[1][:3] <= second[1][:3]
            assert first[1][:3] != second[1][:3] or first[1][3] <= second[1][3] + 2e-5


@SHORT_LAW
@given(st.data(), tables(), st.lists(vectors(), min_size=1, max_size=3))
def test_the_order_and_number_of_candidates_do_not_change_the_best(
    data: st.DataObject, table: TargetTable, lunch: list[ItemVector]
) -> None:
    drawn = data.draw(candidates(lunch))
    totals = add_up(lunch)
    before = [judge(target, totals) for target in table.targets]
    every = rank_changes(table.targets, before, lunch, drawn, len(drawn))
    limit = data.draw(st.integers(0, len(drawn)))
    shuffled = data.draw(st.permutations(drawn))
    best = rank_changes(table.targets, before, lunch, shuffled, limit)
    assert [row.candidate.key for row in best] == [row.candidate.key for row in every[:limit]]


def test_taking_out_the_only_known_energy_does_not_mend_a_share_of_energy() -> None:
    """What is left has energy, only nobody knows how much: the share stays unknown, nothing is mended."""
    targets = table("us-school-lunch", "grades-k-5", date(2026, 9, 1)).targets
    rich = vector(food("rich", {"energy_kcal": 200, "fat_g": 15, "saturated_fat_g": 10}), 100)
    tea = vector(food("tea", unknown=["energy_kcal"]), 100)
    totals = add_up([rich, tea])
    before = [judge(target, totals) for target in targets]
    share = next(one for one in before if one.target.id == "saturated-fat")
    assert share.status == "unknown"
    remove = Candidate("remove", rich, None, ("remove", "rich", ""), 1, ("remove", "rich"), ("allergen:milk",))
    (row,) = rank_changes(targets, before, [rich, tea], [remove], 5)
    assert "saturated-fat" not in row.mends


def test_a_share_that_was_met_is_broken_where_only_unknown_energy_is_left() -> None:
    """Nobody can tell any more that the share is kept: the change is not told, whatever else it mends."""
    targets = table("us-school-lunch", "grades-k-5", date(2026, 9, 1)).targets
    lean = vector(food("lean", {"energy_kcal": 200, "fat_g": 5, "saturated_fat_g": 1}), 100)
    tea = vector(food("tea", unknown=["energy_kcal"]), 100)
    totals = add_up([lean, tea])
    before = [judge(target, totals) for target in targets]
    assert next(one for one in before if one.target.id == "saturated-fat").status == "met"
    remove = Candidate("remove", lean, None, ("remove", "lean", ""), 1, ("remove", "lean"), ("allergen:milk",))
    assert rank_changes(targets, before, [lean, tea], [remove], 5) == []
