"""The score lies between 0 and 100, is 100 where everything is met, and never speaks for a lunch not to pack."""

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from service.domain.allergens.screening import Avoidance, Screened
from service.domain.foods.amounts import ItemVector, add_up
from service.domain.foods.food import Containment
from service.domain.lunch.findings import judge, satisfaction
from service.domain.lunch.standards import Target, TargetTable
from service.domain.lunch.verdict import Verdict, off_the_mean, score_of, score_range, verdict_of
from tests.strategies import LAW, tables, targets, vectors

pytestmark = pytest.mark.property

GRAVITY: dict[Verdict, int] = {"pack": 0, "adjust": 1, "check_label": 2, "do_not_pack": 3}


@LAW
@given(tables(), st.lists(vectors(), min_size=1, max_size=4))
def test_the_score_lies_between_0_and_100(table: TargetTable, lunch: list[ItemVector]) -> None:
    totals = add_up(lunch)
    judgements = [judge(target, totals) for target in table.targets]
    score = score_of(judgements)
    assert 0.0 <= score <= 100.0
    statuses = {one.status for one in judgements}
    if statuses <= {"met", "not_applicable"} and "met" in statuses:
        assert score == 100.0
        assert verdict_of(judgements, [], [], []) == "pack"
    low, high = score_range(judgements)
    assert low <= score <= high
    if "unknown" not in statuses and all(one.low == one.high for one in judgements):
        assert low == score == high


@LAW
@given(tables(), st.lists(vectors(), min_size=1, max_size=4))
def test_a_judgement_counts_or_is_off_the_mean_or_is_fine(table: TargetTable, lunch: list[ItemVector]) -> None:
    """Exactly one of the three; what holds for each lunch or day always counts when it is not met."""
    totals = add_up(lunch)
    for one in (judge(target, totals) for target in table.targets):
        fine = one.status in ("met", "not_applicable")
        assert fine + one.counts + off_the_mean(one) == 1
        if one.target.firm:
            assert not off_the_mean(one)


@LAW
@given(targets(), st.floats(0.001, 3_000), st.floats(0.001, 3_000))
def test_satisfaction_falls_with_the_distance_from_the_bound(target: Target, one: float, other: float) -> None:
    nearer, further = sorted((one, other))
    if target.at_most is not None:
        assume(target.at_most > 0)
        near, far = satisfaction(target, target.at_most + nearer), satisfaction(target, target.at_most + further)
        assert 0.0 <= far <= near <= 1.0
        assert satisfaction(target, target.at_most * (1 + target.distance_percent / 100) + 1e-6) == 0.0
    if target.at_least is not None:
        assume(target.at_least > 0)
        near, far = satisfaction(target, target.at_least - nearer), satisfaction(target, target.at_least - further)
        assert 0.0 <= far <= near <= 1.0


@LAW
@given(tables(), st.lists(vectors(), min_size=1, max_size=3), st.booleans(), st.booleans())
def test_nothing_offsets_an_allergen(
    table: TargetTable, lunch: list[ItemVector], forbidden: bool, unclear: bool
) -> None:
    """The verdict is the worst of all findings, however good the figures are."""
    totals = add_up(lunch)
    judgements = [judge(target, totals) for target in table.targets]
    avoidance = Avoidance("peanut", "contains")
    screened = []
    if forbidden:
        screened.append(Screened(avoidance, "avoid", "peanut", Containment("contains", "nature"), True))
    if unclear:
        screened.append(Screened(avoidance, "check_label", "peanut", Containment("unknown", "none"), False))
    alone = verdict_of(judgements, [], [], [])
    verdict = verdict_of(judgements, [], screened, [])
    assert GRAVITY[verdict] >= GRAVITY[alone]
    if forbidden:
        assert verdict == "do_not_pack"
    elif unclear:
        assert verdict == "check_label"
    else:
        assert verdict == alone
