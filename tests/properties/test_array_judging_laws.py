"""Judging many lunches at once gives just what judging each by itself gives, for targets of every kind and basis."""

from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import get_args

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.foods.amounts import ItemVector, add_up, sum_of
from service.domain.lunch.compiling import compile_targets
from service.domain.lunch.findings import Judgement, judge
from service.domain.lunch.judging_arrays import STATUSES, VERDICTS, judge_all, judge_many, scores, verdicts
from service.domain.lunch.special_rules import RuleFinding
from service.domain.lunch.standards import ENERGY, AgeGroup, Scoring, Standard, Target, TargetBasis, TargetRow, TermKind
from service.domain.lunch.totals_arrays import bounds_of
from service.domain.lunch.verdict import off_the_mean, score_of, score_range, verdict_of
from service.domain.measures import MEASURE_COUNT, MEASURES, PARTS_IN_A_THOUSANDTH
from tests.builders import parts
from tests.strategies import EXAMPLES, VALUES, intervals

pytestmark = pytest.mark.property

LAW = settings(deadline=None, max_examples=3 * EXAMPLES)
DAY = date(2026, 1, 1)
GROUP = AgeGroup("all", "All", 0, 240, "drawn", "estimated")
MEASURED = [ENERGY, 2, 3, 10]
"""Energy, fat, saturated fat, sodium: few, so that targets and lunches meet."""


@st.composite
def rows(draw: st.DrawFn, number: int) -> TargetRow:
    """A row of any kind, basis and bounds, strict or not; bounds of 0 among them."""
    kind: TermKind = draw(st.sampled_from(get_args(TermKind)))
    names = [MEASURES[place].id for place in MEASURED]
    weight = st.sampled_from([Decimal(1), Decimal(9), Decimal("0.5")])
    terms = {draw(st.sampled_from(names[1:] if kind == "share_of_energy" else names)): draw(weight)}
    if kind == "combination":
        terms[draw(st.sampled_from(names))] = -draw(weight)
    most = 100 if kind == "share_of_energy" else 1_500
    bound = st.decimals(0, most, places=1) | st.sampled_from([Decimal(0), Decimal(10)])
    low, high = sorted([draw(bound), draw(bound)])
    which = draw(st.sampled_from(["least", "most", "both"]))
    return TargetRow(
        id=f"row-{number}",
        age_group=GROUP.id,
        label=f"row {number}",
        kind=kind,
        terms=terms,
        unit="% of energy" if kind == "share_of_energy" else "g",
        basis=draw(st.sampled_from(get_args(TargetBasis))),
        at_least=low if which != "most" else None,
        at_most=high if which != "least" else None,
        above=draw(st.booleans()),
        below=draw(st.booleans()),
        from_day=DAY,
        until_day=None,
        source="drawn",
        status="estimated",
    )


@st.composite
def drawn_targets(draw: st.DrawFn) -> tuple[Target, ...]:
    """Some rows compiled; weights and distances differ."""
    chosen = [draw(rows(number)) for number in range(draw(st.integers(1, 4)))]
    percent = st.sampled_from([Fraction(0), Fraction(10), Fraction(100), Fraction(33, 2)])
    scoring = {row.id: Scoring(Fraction(draw(st.integers(0, 30)), 10), draw(percent)) for row in chosen}
    made = Standard("drawn", "XX", "Drawn", "", "", "", "partial", (), False, None, (GROUP,), tuple(chosen), scoring)
    table = compile_targets(made, GROUP, DAY)
    return table.targets + table.week_targets


AMOUNTS = VALUES.map(PARTS_IN_A_THOUSANDTH.__mul__)


@st.composite
def items(draw: st.DrawFn) -> ItemVector:
    """An item whose amounts are exact, rounded, or unknown; energy is often 0, or unknown."""
    nominal = [0] * MEASURE_COUNT
    entries: list[tuple[int, int, int | None]] = []
    for measure in MEASURED:
        known = draw(st.sampled_from(["nothing", "exact", "exact", "rounded", "unknown", "at most"]))
        if known == "exact":
            nominal[measure] = draw(AMOUNTS)
        elif known == "rounded":
            nominal[measure], low, high = (PARTS_IN_A_THOUSANDTH * end for end in draw(intervals()))
            entries.append((measure, low, high))
        elif known == "unknown":
            entries.append((measure, 0, None))
        elif known == "at most":
            entries.append((measure, 0, draw(AMOUNTS)))
    return ItemVector(tuple(nominal), tuple(entries))


LUNCHES = st.lists(st.lists(items(), min_size=1, max_size=3), min_size=1, max_size=5)


def singly(targets: Sequence[Target], lunch: Sequence[ItemVector]) -> list[Judgement]:
    """A lunch judged by the functions of a single check."""
    totals = add_up(lunch)
    return [judge(target, totals) for target in targets]


@LAW
@given(drawn_targets(), LUNCHES)
def test_both_forms_of_judging_agree(targets: tuple[Target, ...], lunches: list[list[ItemVector]]) -> None:
    """Status, satisfaction, whether it counts, whether it is off a mean only, and score with its range; to the last bit."""
    totals = bounds_of([sum_of(lunch) for lunch in lunches])
    many = [judge_many(target, totals) for target in targets]
    each = [singly(targets, lunch) for lunch in lunches]
    for place, one in enumerate(many):
        alone = [found[place] for found in each]
        assert [STATUSES[code] for code in one.status] == [found.status for found in alone]
        assert one.satisfactions().tolist() == [found.satisfaction for found in alone]
        assert one.counts.tolist() == [found.counts for found in alone]
        assert one.off_the_mean.tolist() == [off_the_mean(found) for found in alone]
        assert one.amounts()[0].tolist() == [found.amount for found in alone]
    together = scores(many)
    assert together.known.tolist() == [score_of(found) for found in each]
    assert list(zip(together.lowest, together.highest, strict=True)) == [score_range(found) for found in each]


@LAW
@given(drawn_targets(), LUNCHES)
def test_a_search_judges_as_the_check_does(targets: tuple[Target, ...], lunches: list[list[ItemVector]]) -> None:
    """Kept, satisfaction and whether it applies, as the searches for changes ask for them."""
    kept, satisfied, applies = judge_all(targets, bounds_of([sum_of(lunch) for lunch in lunches]))
    for place, lunch in enumerate(lunches):
        found = singly(targets, lunch)
        assert kept[place].tolist() == [one.status in ("met", "not_applicable") for one in found]
        assert satisfied[place].tolist() == [one.satisfaction for one in found]
        assert applies[place].tolist() == [one.status != "not_applicable" for one in found]


def test_a_share_of_energy_that_may_be_none_is_not_nearly_met() -> None:
    """10 g of fat and 0 to 5 kcal: over 30 % of the energy for certain, so not satisfied at all in either form.

    The share that is shown is 0, which lies below the bound; a search must not take it for met.
    """
    fat, kcal = MEASURES[2].id, MEASURES[ENERGY].id
    assert (fat, kcal) == ("fat_g", "energy_kcal")
    row = TargetRow(
        "fat", "all", "fat", "share_of_energy", {fat: Decimal(9)}, "% of energy", "lunch", None, Decimal(30),
        False, False, DAY, None, "drawn", "estimated",
    )  # fmt: skip
    scoring = {"fat": Scoring(Fraction(1), Fraction(50))}
    made = Standard("drawn", "XX", "Drawn", "", "", "", "partial", (), False, None, (GROUP,), (row,), scoring)
    targets = compile_targets(made, GROUP, DAY).targets
    nominal = [0] * MEASURE_COUNT
    nominal[2] = parts(10)
    lunch = ItemVector(tuple(nominal), ((ENERGY, 0, parts(5)),))
    (alone,) = singly(targets, [lunch])
    kept, satisfied, applies = judge_all(targets, bounds_of([lunch]))
    assert (alone.status, alone.amount, alone.satisfaction) == ("over", 0.0, 0.0)
    assert (kept[0, 0], satisfied[0, 0], applies[0, 0]) == (False, 0.0, True)


@LAW
@given(drawn_targets(), LUNCHES, st.booleans())
def test_both_forms_of_the_verdict_agree(
    targets: tuple[Target, ...], lunches: list[list[ItemVector]], rule_broken: bool
) -> None:
    """For what targets and special rules find; allergens and holding only ever make it graver."""
    rules = [RuleFinding("milk", "Milk", "over", "milk", None, None, "g", "", "", "")] if rule_broken else []
    many = [judge_many(target, bounds_of([sum_of(lunch) for lunch in lunches])) for target in targets]
    adjust = np.logical_or.reduce([one.counts for one in many]) | rule_broken
    never = np.zeros(len(lunches), dtype=np.bool_)
    found = [VERDICTS[place] for place in verdicts(never, never, adjust)]
    assert found == [verdict_of(singly(targets, lunch), rules, [], []) for lunch in lunches]


def test_the_gravest_verdict_wins() -> None:
    """In the order do_not_pack, check_label, adjust, pack."""
    yes, no = np.array([True]), np.array([False])
    assert VERDICTS[verdicts(yes, yes, yes)[0]] == "do_not_pack"
    assert VERDICTS[verdicts(no, yes, yes)[0]] == "check_label"
    assert VERDICTS[verdicts(no, no, yes)[0]] == "adjust"
    assert VERDICTS[verdicts(no, no, no)[0]] == "pack"
