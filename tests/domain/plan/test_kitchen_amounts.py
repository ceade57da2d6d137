"""Amounts as one measures them: laws, and what cooks say; sizes of cups and spoons against NIST SP 430."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.plan.kitchen_amounts import Part, customary, metric
from service.reference.foods.catalogue import find_food
from service.reference.foods.lunch_foods import lunch_foods
from service.reference.plan.kitchen import kitchen, volume_of

AMOUNTS = st.integers(1, 20_000_000).map(Fraction)
DENSITIES = st.none() | st.fractions(Fraction(1, 20), Fraction(20), max_denominator=1000).filter(bool)
WEIGHTS = {"g": 1000, "kg": 1_000_000}


def in_mg(part: Part, ul_per_mg: Fraction | None) -> Fraction:
    known = kitchen()
    if part.unit in WEIGHTS:
        return part.amount * WEIGHTS[part.unit]
    if part.unit in ("oz", "lb"):
        return part.amount * known.ounce_mg * (16 if part.unit == "lb" else 1)
    size = next(one.size_ul for one in known.measures if one.id == part.unit)
    assert ul_per_mg is not None
    return part.amount * size / ul_per_mg


@pytest.mark.property
@given(AMOUNTS, DENSITIES)
def test_what_is_shown_is_never_nothing_and_within_the_stated_tolerance(
    amount: Fraction, density: Fraction | None
) -> None:
    known = kitchen()
    for parts in ((metric(amount, known.tolerance),), customary(amount, known, density)):
        assert parts
        assert all(part.amount > 0 for part in parts)
        shown = sum((in_mg(part, density) for part in parts), Fraction(0))
        assert abs(shown - amount) <= known.tolerance * amount


def test_cups_and_spoons_are_those_of_nist() -> None:
    """NIST SP 430, table 1: a cup 237 ml, a tablespoon 15 ml, a teaspoon 4.9 ml; 48 teaspoons and 16 tablespoons to the cup."""
    sizes = {one.id: one.size_ul for one in kitchen().measures}
    assert [round(float(sizes[name] / 1000), places) for name, places in (("cup", 0), ("tbsp", 0), ("tsp", 1))] == [
        237,
        15,
        4.9,
    ]
    assert sizes["cup"] == 16 * sizes["tbsp"] == 48 * sizes["tsp"]


@pytest.mark.parametrize(
    ("food", "grams", "shown"),
    [
        ("milk-1-percent", 244, [(1, "cup")]),
        ("milk-1-percent", 122, [(Fraction(1, 2), "cup")]),
        ("apple", 109, [(1, "cup")]),
        ("butter", 28.4, [(2, "tbsp")]),
        ("butter", 4.7, [(1, "tsp")]),
        ("bread-whole-wheat", 28.3495, [(1, "oz")]),
        ("bread-whole-wheat", 907.184, [(2, "lb")]),
    ],
)
def test_a_cup_of_something_is_a_cup(food: str, grams: float, shown: list[tuple[Fraction, str]]) -> None:
    """SR28 household measures: a cup of milk is 244 g, of apple slices 109 g, a tablespoon of butter 14.2 g."""
    known = find_food(food)
    assert known is not None
    volume = volume_of(known)
    parts = customary(Fraction(round(grams * 1000)), kitchen(), None if volume is None else volume[0])
    assert [(part.amount, part.unit) for part in parts] == shown


def test_no_food_fills_absurdly_little_or_much_of_a_cup() -> None:
    """The lightest is a salad leaf, the heaviest a syrup: 0.03 to 2 g for a millilitre."""
    for food in lunch_foods():
        volume = volume_of(food)
        assert volume is None or 0.5 < volume[0] < 33, food.id
