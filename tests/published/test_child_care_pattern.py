"""The child-care lunch against the table of the regulation: 7 CFR 226.20(c)(2), lunch and supper, and (g)(3), milk substitutes."""

from datetime import date

import pytest

from service.reference.lunch.standards import standard
from tests.builders import table

CHILD_CARE = "us-child-care-lunch"
ON = date(2021, 10, 1)
"""Grains count in ounce equivalents from this day on (endnote 10)."""

FLUID_OUNCES_OF_A_CUP = 8
# Component, then ages 1 to 2, 3 to 5, 6 to 12 and 13 to 18: milk in fluid ounces, lean meat in ounces, cups, slices of bread.
LUNCH = [
    ("milk", (4, 6, 8, 8), FLUID_OUNCES_OF_A_CUP),
    ("meat-alternate", (1, 1.5, 2, 2), 1),
    ("vegetable", (0.125, 0.25, 0.5, 0.5), 1),
    ("fruit", (0.125, 0.25, 0.25, 0.25), 1),
    ("grain", (0.5, 0.5, 1, 1), 1),
]
GROUPS = (("age-1", "age-2"), ("ages-3-5",), ("ages-6-12",), ("ages-13-18",))

UG_OF_VITAMIN_A_IN_AN_IU = 0.3  # retinol, 21 CFR 101.9(c)(8)(iv)
UG_OF_VITAMIN_D_IN_AN_IU = 0.025
SUBSTITUTE_OF_A_CUP = {
    "calcium_mg": 276,
    "protein_g": 8,
    "vitamin_a_rae_ug": 500 * UG_OF_VITAMIN_A_IN_AN_IU,
    "vitamin_d_ug": 100 * UG_OF_VITAMIN_D_IN_AN_IU,
    "magnesium_mg": 24,
    "phosphorus_mg": 222,
    "potassium_mg": 349,
    "riboflavin_mg": 0.44,
    "vitamin_b12_ug": 1.1,
}


@pytest.mark.parametrize(("component", "amounts", "of_a_unit"), LUNCH)
def test_every_component_is_as_the_regulation_prints_it(
    component: str, amounts: tuple[float, ...], of_a_unit: int
) -> None:
    for groups, printed in zip(GROUPS, amounts, strict=True):
        for group in groups:
            (target,) = [one for one in table(CHILD_CARE, group, ON).targets if one.id == component]
            assert target.at_least == printed / of_a_unit, group


def test_a_milk_substitute_holds_what_the_regulation_prints() -> None:
    (rule,) = standard(CHILD_CARE).substitute_rules
    assert {measure: float(amount) for measure, amount in rule.holds_per_cup.items()} == pytest.approx(
        SUBSTITUTE_OF_A_CUP
    )
