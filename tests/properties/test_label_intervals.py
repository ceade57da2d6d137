"""A printed figure stands for every amount that is printed so (21 CFR 101.9(c)), and for little more."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.foods.label_figures import RoundingRule, intervals, printed, stands_for
from service.domain.measures import MEASURE_INDEX, THOUSANDTHS
from service.reference.foods.label_rounding import rounding_rules
from tests.strategies import LAW

pytestmark = pytest.mark.property

RULES = st.sampled_from(list(rounding_rules().values()))
AMOUNTS = st.one_of(st.integers(0, 1_000), st.integers(0, 20_000), st.integers(0, 2_000_000)).map(
    lambda thousandths: Decimal(thousandths) / THOUSANDTHS
)


@LAW
@given(RULES, AMOUNTS)
def test_every_amount_lies_in_what_its_printed_figure_stands_for(rule: RoundingRule, amount: Decimal) -> None:
    low, high = stands_for(rule, printed(rule, amount))
    assert low <= amount * THOUSANDTHS <= high


@LAW
@given(RULES, AMOUNTS)
def test_a_printed_figure_is_printed_again_as_itself(rule: RoundingRule, amount: Decimal) -> None:
    """Rounding a rounded figure changes nothing, unless the figure itself may be printed as 0."""
    figure = printed(rule, amount)
    assert printed(rule, figure) == (figure if figure >= rule.zero_below else 0)


@LAW
@given(RULES, AMOUNTS, AMOUNTS)
def test_more_is_never_printed_as_less(rule: RoundingRule, amount: Decimal, more: Decimal) -> None:
    assert printed(rule, amount) <= printed(rule, amount + more)


@LAW
@given(RULES, AMOUNTS)
def test_an_interval_reaches_no_further_than_a_step_from_its_figure(rule: RoundingRule, amount: Decimal) -> None:
    """Half a step of the wider band, and what may be printed as 0 or as the first step."""
    figure = printed(rule, amount)
    low, high = stands_for(rule, figure)
    step = max(band.step for band in rule.bands if figure >= band.from_amount)
    reach = max(step, rule.zero_below)
    assert 0 <= low <= figure * THOUSANDTHS <= high
    assert high - figure * THOUSANDTHS <= reach * THOUSANDTHS
    assert figure * THOUSANDTHS - low <= reach * THOUSANDTHS


DISTINCT = {(rule.zero_below, rule.bands): measure for measure, rule in sorted(rounding_rules().items())}


@pytest.mark.parametrize("measure", sorted(DISTINCT.values()))
def test_every_thousandth_up_to_the_second_band(measure: str) -> None:
    """All amounts from 0 to past the last edge, in thousandths up to 20 and in coarser steps beyond."""
    rule = rounding_rules()[measure]
    last = int(max(band.from_amount for band in rule.bands) * THOUSANDTHS)
    for thousandths in [*range(20_001), *range(20_000, last + 30_000, 251)]:
        amount = Decimal(thousandths) / THOUSANDTHS
        low, high = stands_for(rule, printed(rule, amount))
        assert low <= thousandths <= high, amount


def test_only_measures_with_a_rounding_rule_become_intervals() -> None:
    facts = {"energy_kcal": Decimal(120), "vitamin_c_mg": Decimal(9)}
    assert "vitamin_c_mg" not in rounding_rules()
    assert intervals(rounding_rules(), facts) == {"energy_kcal": (115_000, 125_000)}


def test_every_rounding_rule_is_for_a_measure() -> None:
    assert set(rounding_rules()) <= set(MEASURE_INDEX)
