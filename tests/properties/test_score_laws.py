"""The score lies between 0 and 100, is 100 where everything is met, and never speaks for a lunch not to pack."""

from datetime import date

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from service.domain.allergens.screening import Avoidance, Screened
from service.domain.foods.amounts import ItemVector, add_up
from service.domain.foods.food import Containment
from service.domain.lunch.findings import judge, satisfaction
from service.domain.lunch.standards import Target, TargetTable
from service.domain.lunch.verdict import Verdict, off_the_mean, score_of, score_range, verdict_of
from service.domain.measures import SCALE
from tests import builders
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


@LAW
@given(st.data(), tables(), st.lists(vectors(), min_size=1, max_size=3))
def test_the_range_holds_whatever_the_missing_figures_are(
    data: st.DataObject, table: TargetTable, lunch: list[ItemVector]
) -> None:
    """Each figure that is not known is filled in with one that it can be: the score stays within the range."""
    low, high = score_range([judge(target, add_up(lunch)) for target in table.targets])
    filled = []
    for vector in lunch:
        nominal = list(vector.nominal)
        for measure, least, most in vector.interval_entries:
            nominal[measure] = data.draw(st.integers(least, least + 400 * SCALE if most is None else most))
        filled.append(ItemVector(tuple(nominal), ()))
    known = [judge(target, add_up(filled)) for target in table.targets]
    # Where it turns out that there is no energy, a share of it does not apply and has no weight.
    assume(all(one.status != "not_applicable" for one in known))
    assert low - 0.1 <= score_of(known) <= high + 0.1


@LAW
@given(st.data(), tables(), st.lists(vectors(), min_size=1, max_size=3))
def test_fixing_a_rule_never_lowers_the_score(data: st.DataObject, table: TargetTable, lunch: list[ItemVector]) -> None:
    judgements = [judge(target, add_up(lunch)) for target in table.targets]
    broken = [place for place, one in enumerate(judgements) if one.status in ("short", "over", "unknown")]
    assume(broken)
    place = data.draw(st.sampled_from(broken))
    fixed = list(judgements)
    fixed[place] = judgements[place]._replace(status="met", satisfaction=1.0)
    assert score_of(fixed) >= score_of(judgements)
    assert score_range(fixed)[0] >= score_range(judgements)[0]
    assert score_range(fixed)[1] >= score_range(judgements)[1] - 1e-9


def test_a_small_biscuit_without_figures_widens_the_score_and_does_not_sink_it() -> None:
    """5 g of which nothing is known: the score stays by what is known, the lowest end says what might be."""
    targets = builders.table("us-school-lunch", "grades-k-5", date(2026, 9, 1)).targets
    lunch = [
        builders.measured(
            {"energy_kcal": 600, "sodium_mg": 500, "fat_g": 15, "saturated_fat_g": 3, "fluid_milk_cup": 1}
            | {"grain_oz_eq": 1, "meat_alternate_oz_eq": 1, "vegetable_cup": 1, "fruit_cup": "0.5"}
        )
    ]
    biscuit = builders.vector(builders.food("biscuit", unknown=["energy_kcal", "sodium_mg", "saturated_fat_g"]), 5)
    before = [judge(target, add_up(lunch)) for target in targets]
    after = [judge(target, add_up([*lunch, biscuit])) for target in targets]
    assert score_of(before) == score_of(after) == 100.0
    low, high = score_range(after)
    assert low < 100.0
    assert high == 100.0
