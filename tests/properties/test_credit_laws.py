"""Credits are rounded down once: never more than the food gives, never more by cutting it up."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.foods.crediting import credited, merge_credits
from service.domain.foods.food import CreditOption
from service.domain.measures import MEASURE_INDEX, MEASURES, SCALE
from tests.builders import us_scheme
from tests.crediting import COMPONENT_MEASURES, credits_from_amount
from tests.strategies import AMOUNTS_MG, BASES_MG, LAW

pytestmark = pytest.mark.property


@st.composite
def mixed(draw: st.DrawFn) -> tuple[CreditOption, int]:
    """One to three components of a dish, in cups or ounce equivalents for a basis."""
    basis_mg = draw(BASES_MG)
    parts = draw(
        st.lists(
            st.tuples(
                st.sampled_from(sorted(COMPONENT_MEASURES)), st.fractions(Fraction(1, 500), 4, max_denominator=500)
            ),
            min_size=1,
            max_size=3,
        )
    )
    credits = tuple(c for component, amount in parts for c in credits_from_amount(component, amount))
    return CreditOption("mixed", merge_credits(credits)), basis_mg


def rounded(option: CreditOption, amount_mg: int, basis_mg: int) -> dict[int, Fraction]:
    return {m: Fraction(value, SCALE) for m, value in credited(option, amount_mg, basis_mg, us_scheme())}


@LAW
@given(mixed(), AMOUNTS_MG)
def test_a_credit_is_the_unrounded_credit_cut_to_the_step(dish: tuple[CreditOption, int], amount_mg: int) -> None:
    option, basis_mg = dish
    told = rounded(option, amount_mg, basis_mg)
    for credit in option.credits:
        rule = us_scheme().rounding[credit.measure]
        step, least = Fraction(rule.step, SCALE), Fraction(rule.minimum, SCALE)
        unrounded = credit.per_basis * amount_mg / basis_mg
        value = told.get(credit.measure, Fraction(0))
        assert value <= unrounded
        assert value % step == 0
        assert value == 0 or value >= least
        assert unrounded - value < max(step, least)


@LAW
@given(mixed(), AMOUNTS_MG, AMOUNTS_MG)
def test_cutting_a_portion_in_two_never_credits_more(
    dish: tuple[CreditOption, int], first_mg: int, second_mg: int
) -> None:
    option, basis_mg = dish
    whole = rounded(option, first_mg + second_mg, basis_mg)
    parts = [rounded(option, amount_mg, basis_mg) for amount_mg in (first_mg, second_mg)]
    for measure in {m for part in parts for m in part}:
        assert sum(part.get(measure, Fraction(0)) for part in parts) <= whole[measure]


@LAW
@given(mixed(), AMOUNTS_MG, AMOUNTS_MG)
def test_more_of_a_food_never_credits_less(dish: tuple[CreditOption, int], amount_mg: int, more_mg: int) -> None:
    option, basis_mg = dish
    less, greater = rounded(option, amount_mg, basis_mg), rounded(option, amount_mg + more_mg, basis_mg)
    assert all(greater[measure] >= value for measure, value in less.items())


@LAW
@given(mixed(), AMOUNTS_MG)
def test_subgroups_never_add_up_to_more_than_their_group(dish: tuple[CreditOption, int], amount_mg: int) -> None:
    """Legumes are left out: as meat alternate they count in their subgroup only (7 CFR 210.10(c)(2)(iv)(E))."""
    option, basis_mg = dish
    told = {MEASURES[m].id: value for m, value in rounded(option, amount_mg, basis_mg).items()}
    vegetables = ("dark_green", "red_orange", "starchy", "other", "juice")
    subgroups = sum((told.get(f"vegetable_{name}_cup", Fraction(0)) for name in vegetables), Fraction(0))
    assert subgroups <= told.get("vegetable_cup", Fraction(0))
    assert told.get("fruit_juice_cup", Fraction(0)) <= told.get("fruit_cup", Fraction(0))
    special = ("whole_grain_rich_oz_eq", "grain_dessert_oz_eq", "sweet_cracker_oz_eq")
    grains = sum((told.get(name, Fraction(0)) for name in special), Fraction(0))
    assert grains <= told.get("grain_oz_eq", Fraction(0))


def test_every_credit_measure_has_a_rounding() -> None:
    """A measure without one would silently not credit."""
    needed = {MEASURE_INDEX[m] for parts in COMPONENT_MEASURES.values() for m, _part in parts}
    assert needed <= set(us_scheme().rounding)
    assert needed == {i for i, measure in enumerate(MEASURES) if measure.kind == "credit"}
