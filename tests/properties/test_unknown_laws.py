"""Unknown is not zero: what hangs on a missing or rounded value is never told as met.

A status that is decided (met, short, over) must hold whatever the missing values turn out to be. Where
a completion leaves a lunch with no energy at all, a share of energy does not apply to it; that is no
statement against the status.
"""

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from service.domain.foods.amounts import ItemVector, add_up
from service.domain.lunch.findings import Judgement, judge, satisfactions
from service.domain.lunch.special_rules import product_findings
from service.domain.lunch.standards import Target, TargetTable
from service.domain.measures import ENERGY, MEASURE_INDEX, MEASURES, NUTRIENT_COUNT, PARTS_IN_A_THOUSANDTH
from tests.builders import food, judged, table, vector
from tests.strategies import LAW, VALUES, Item, lunches, tables, targets, vector_of, vectors

pytestmark = pytest.mark.property

DECIDED = ("met", "short", "over")


def judged_all(targets: TargetTable, lunch: list[Item]) -> list[Judgement]:
    totals = add_up([vector_of(item) for item in lunch])
    return [judge(target, totals) for target in targets.targets + targets.week_targets]


@LAW
@given(st.data(), lunches(), tables())
def test_forgetting_a_value_never_makes_a_target_met(
    data: st.DataObject, lunch: list[Item], table: TargetTable
) -> None:
    place = data.draw(st.integers(0, len(lunch) - 1))
    used = sorted({m for target in table.targets for m, _w in target.terms if m < NUTRIENT_COUNT}) or [ENERGY]
    measure = data.draw(st.sampled_from(used))
    one, amount_mg = lunch[place]
    nutrients = list(one.nutrients)
    nutrients[measure] = None
    ranges = {m: ends for m, ends in one.ranges.items() if m != measure}
    forgetful = [*lunch]
    forgetful[place] = (replace(one, nutrients=tuple(nutrients), ranges=ranges), amount_mg)
    for before, after in zip(judged_all(table, lunch), judged_all(table, forgetful), strict=True):
        if after.status == "met":
            assert before.status in ("met", "not_applicable")
        if after.status in ("short", "over"):
            assert before.status in (after.status, "not_applicable")
        if before.status == "unknown":
            assert after.status == "unknown"


@st.composite
def completed(draw: st.DrawFn, one: ItemVector) -> ItemVector:
    """The same item with every unknown or interval replaced by some amount it may be."""
    nominal = list(one.nominal)
    for measure, low, high in one.interval_entries:
        nominal[measure] = draw(VALUES.map(PARTS_IN_A_THOUSANDTH.__mul__) if high is None else st.integers(low, high))
    return ItemVector(tuple(nominal), ())


@LAW
@given(st.data(), st.lists(vectors(), min_size=1, max_size=4), targets())
def test_a_decided_status_holds_for_every_completion(
    data: st.DataObject, lunch: list[ItemVector], target: Target
) -> None:
    told = judge(target, add_up(lunch))
    true_lunch = [data.draw(completed(one)) for one in lunch]
    truth = judge(target, add_up(true_lunch))
    assert truth.status != "unknown"
    if told.status in DECIDED:
        assert truth.status in (told.status, "not_applicable")
    if told.status == "not_applicable":
        assert truth.status == "not_applicable"


@LAW
@given(st.data(), st.lists(vectors(), min_size=1, max_size=4), targets())
def test_the_shown_interval_holds_the_true_amount(data: st.DataObject, lunch: list[ItemVector], target: Target) -> None:
    """For targets without a subtracted measure (there the end without bound is shown as what is known)."""
    assume(all(weight > 0 for _measure, weight in target.shown_terms))
    told = judge(target, add_up(lunch))
    truth = judge(target, add_up([data.draw(completed(one)) for one in lunch]))
    assume(truth.status != "not_applicable")
    slack = 1e-9 * max(1.0, abs(truth.amount))
    assert told.low <= truth.amount + slack
    assert told.high is None or truth.amount <= told.high + slack


@LAW
@given(st.lists(vectors(), min_size=1, max_size=4), targets())
def test_an_unknown_target_is_scored_by_what_is_known_and_may_still_be_met(
    lunch: list[ItemVector], target: Target
) -> None:
    """An unknown figure does not count as zero credit; it widens what the target may turn out to earn, up to all of it."""
    told = judge(target, add_up(lunch))
    least, most = satisfactions(told)
    assert least <= told.satisfaction <= most
    if told.status == "unknown":
        assert most == 1.0
        assert told.counts == target.firm
    if told.status == "met":
        assert told.satisfaction == 1.0
        assert not told.counts


@LAW
@given(st.data(), lunches(most=2), tables())
def test_a_product_rule_holds_for_every_completion(data: st.DataObject, lunch: list[Item], table: TargetTable) -> None:
    kinds = sorted({kind for rule in table.product_rules for kind in rule.applies_to})
    assume(kinds)
    one, _amount = lunch[0]
    product = replace(one, product_kind=data.draw(st.sampled_from(kinds)))
    nutrients = list(product.nutrients)
    for measure, value in enumerate(nutrients):
        if value is None:
            nutrients[measure] = data.draw(VALUES)
        elif measure in product.ranges:
            nutrients[measure] = data.draw(st.integers(*product.ranges[measure]))
    truth = product_findings(table.product_rules, [replace(product, nutrients=tuple(nutrients), ranges={})])
    told = product_findings(table.product_rules, [product])
    for one_told, one_true in zip(told, truth, strict=True):
        assert one_true.status in ("met", "over")
        assert one_told.status in ("unknown", one_true.status)


US = table("us-school-lunch", "grades-k-5", date(2026, 9, 1))
ROUND_THE_LIMIT = {
    "energy_kcal": 600,
    "fat_g": 30,
    "saturated_fat_g": 7,
    "carbohydrate_g": 80,
    "sugars_g": 40,
    "added_sugars_g": 5,
    "sodium_mg": 500,
}


@pytest.mark.parametrize("measure", [m.id for m in MEASURES[:NUTRIENT_COUNT]])
def test_a_lunch_of_which_one_thing_is_unknown(measure: str) -> None:
    """Every target that uses the measure is unknown; the others do not mind.

    Saturated fat stands at 10.5 % of energy, so that even the milk's part of it matters.
    """
    lunch = [vector(food("lunch", ROUND_THE_LIMIT, unknown=[measure]), 100)]
    for target_id, one in judged(US, lunch).items():
        uses = MEASURE_INDEX[measure] in {m for m, _w in one.target.terms}
        assert (one.status == "unknown") == uses, target_id


def test_a_missing_part_is_at_most_its_whole() -> None:
    """600 kcal with 5 g of fat: saturated fat cannot pass 10 % of energy (6.67 g), known or not."""
    lunch = [vector(food("lunch", {"energy_kcal": 600, "fat_g": 5}, unknown=["saturated_fat_g"]), 100)]
    assert judged(US, lunch)["saturated-fat"].status == "met"
    richer = [vector(food("lunch", {"energy_kcal": 600, "fat_g": 7}, unknown=["saturated_fat_g"]), 100)]
    assert judged(US, richer)["saturated-fat"].status == "unknown"


def test_a_share_of_no_energy_does_not_apply_even_if_the_part_is_unknown() -> None:
    """Water whose label says 0 kcal and nothing of fat: not over, not unknown."""
    water = food("water", unknown=["fat_g", "saturated_fat_g", "fluid_milk_saturated_fat_g"])
    assert judged(US, [vector(water, 250)])["saturated-fat"].status == "not_applicable"


def test_no_figure_for_energy_is_not_no_energy() -> None:
    tea = food("tea", unknown=["energy_kcal"])
    assert judged(US, [vector(tea, 250)])["saturated-fat"].status == "unknown"
