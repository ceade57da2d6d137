"""Many totals judged at once are judged as each by itself: statuses, amounts, satisfaction, scores."""

from datetime import date
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.foods.amounts import ItemVector, Totals, add_up
from service.domain.lunch.findings import judge
from service.domain.lunch.judging_arrays import STATUSES, judge_many, rounded, scores
from service.domain.lunch.standards import Target, TargetTable
from service.domain.lunch.verdict import score_of
from service.domain.measures import MEASURE_COUNT, MEASURE_INDEX
from service.domain.tables.totals import ManyTotals, Sums
from tests.builders import measured, parts, table
from tests.published.case_files import cases, ids
from tests.strategies import LAW, tables, targets, vectors

LUNCHES = st.lists(st.lists(vectors(), min_size=1, max_size=4), min_size=1, max_size=5)
MENUS = cases("measured_lunches.toml", "sodium_menu")


def many(totals: list[Totals]) -> ManyTotals:
    """Totals side by side."""
    nominal = Sums(np.array([one.nominal for one in totals], np.int64).reshape(-1, MEASURE_COUNT).T)
    intervals = np.array([sum(1 << m for m in one.low) for one in totals], np.uint64)
    unbounded = np.array([sum(1 << m for m, high in one.high.items() if high is None) for one in totals], np.uint64)
    ends = {}
    for m in range(MEASURE_COUNT):
        below = np.array([one.lowest(m) - one.nominal[m] for one in totals], np.int64)
        above = np.array([(one.highest(m) or one.nominal[m]) - one.nominal[m] for one in totals], np.int64)
        above[[one.highest(m) == 0 for one in totals]] = [-one.nominal[m] for one in totals if one.highest(m) == 0]
        if below.any() or above.any():
            ends[m] = (below, above)
    return ManyTotals(nominal, intervals, unbounded, np.arange(len(totals)), ends)


def assert_judged_alike(target: Target, totals: list[Totals]) -> None:
    """One target, each lunch."""
    together = judge_many(target, many(totals))
    amount, low, high = together.amounts()
    satisfactions = together.satisfactions()
    for place, one in enumerate(totals):
        single = judge(target, one)
        assert STATUSES[together.status[place]] == single.status
        assert satisfactions[place] == single.satisfaction
        assert together.counts[place] == single.counts
        assert amount[place] == single.amount
        assert low[place] == single.low
        assert high[place] == (float("inf") if single.high is None else single.high)


@pytest.mark.property
@given(target=targets(), lunches=LUNCHES)
@LAW
def test_a_target_is_judged_as_for_one_lunch(target: Target, lunches: list[list[ItemVector]]) -> None:
    """To the last bit, with unknown and rounded figures."""
    assert_judged_alike(target, [add_up(items) for items in lunches])


@pytest.mark.property
@given(target=targets(), lunches=LUNCHES)
@LAW
def test_totals_too_large_for_a_machine_number_are_judged_too(target: Target, lunches: list[list[ItemVector]]) -> None:
    """A row whose value passes 2**63 is worked out in Python's own whole numbers."""
    large = []
    for items in lunches:
        total = add_up(items)
        scaled = [value * 10**6 for value in total.nominal]
        low = {m: value * 10**6 for m, value in total.low.items()}
        high = {m: None if value is None else value * 10**6 for m, value in total.high.items()}
        large.append(Totals(scaled, low, high))
    together = judge_many(target, many(large))
    assert [STATUSES[code] for code in together.status] == [judge(target, one).status for one in large]


@pytest.mark.property
@given(compiled=tables(), lunches=LUNCHES)
@LAW
def test_a_score_is_that_of_one_lunch(compiled: TargetTable, lunches: list[list[ItemVector]]) -> None:
    """Rounded to one place as Python rounds."""
    totals = [add_up(items) for items in lunches]
    side_by_side = many(totals)
    judged = [judge_many(target, side_by_side) for target in compiled.targets]
    singly = [score_of([judge(target, one) for target in compiled.targets]) for one in totals]
    assert scores(judged).known.tolist() == singly


def test_a_score_at_a_tie_is_rounded_as_the_single_check_rounds_it() -> None:
    """0.05 and its like are no binary numbers: which way they go hangs on their last bit."""
    compiled = table("us-school-lunch", "grades-k-5", date(2026, 12, 1))
    energy = MEASURE_INDEX["energy_kcal"]
    totals = []
    for kcal in range(0, parts(700), parts("0.137")):
        nominal = [0] * MEASURE_COUNT
        nominal[energy] = kcal
        totals.append(Totals(nominal, {}, {}))
    side_by_side = many(totals)
    judged = [judge_many(target, side_by_side) for target in compiled.targets]
    singly = [score_of([judge(target, one) for target in compiled.targets]) for one in totals]
    assert scores(judged).known.tolist() == singly


@given(
    st.lists(
        st.one_of(st.floats(0, 1e12), st.integers(0, 10**7).map(lambda n: (n + 0.5) / 1000), st.just(float("inf"))),
        min_size=1,
    )
)
def test_amounts_are_shown_as_python_rounds_them(amounts: list[float]) -> None:
    """Three places, ties among them."""
    expected = [one if one == float("inf") else round(one, 3) for one in amounts]
    assert rounded(np.array(amounts), 3).tolist() == expected


@pytest.mark.parametrize("case", MENUS, ids=ids(MENUS))
def test_the_printed_sodium_menus(case: dict[str, Any]) -> None:
    """Published menus of grades 6 to 8 and the statuses of their sodium (sources in measured_lunches.toml), G-1."""
    total = add_up([measured({"sodium_mg": item["sodium_mg"]}) for item in case["items"]])
    for day, status in case["expect"].items():
        compiled = table("us-school-lunch", "grades-6-8", date.fromisoformat(day))
        sodium = next(target for target in compiled.targets if target.id == "sodium")
        together = judge_many(sodium, many([total, total]))
        assert {STATUSES[code] for code in together.status} == {status}
        assert together.amounts()[0].tolist() == [case["total_mg"]] * 2
