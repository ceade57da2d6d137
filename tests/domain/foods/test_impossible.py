"""Figures that cannot be right are refused; those of USDA SR28 and FNDDS, which were measured or published, are not."""

import pytest

from service.domain.foods.impossible import impossible_figures
from service.domain.measures import LABEL_MEASURES, MEASURE_INDEX
from service.reference.foods.catalogue import find_food
from service.reference.foods.generic_foods import generic_foods
from service.reference.foods.label_units import label_limits

WINE = ("Bloody Mary", "Glug", "Alcoholic beverage, wine, table, white, Muscat")
"""Alcohol gives energy that is in none of the three: about four times theirs in these, as kilojoules would be."""


def found(figures: dict[str, float], size: float = 100.0, by_weight: bool = True) -> dict[str, str]:
    problems = impossible_figures(figures, size, by_weight, label_limits())
    return {measure: problem.code.removeprefix("fault.") for measure, problem in problems}


@pytest.mark.parametrize(
    ("figures", "size", "refused"),
    [
        ({"fat_g": 2, "saturated_fat_g": 5}, 30, {"saturated_fat_g": "part-over-whole"}),
        ({"carbohydrate_g": 2, "sugars_g": 5}, 30, {"sugars_g": "part-over-whole"}),
        ({"sugars_g": 2, "added_sugars_g": 5}, 30, {"added_sugars_g": "part-over-whole"}),
        # Figures for 100 g of biscuits, said to be of a biscuit of 30 g.
        ({"fat_g": 20, "carbohydrate_g": 65}, 30, {"carbohydrate_g": "macros-over-weight"}),
        ({"sodium_mg": 60_000}, 100, {"sodium_mg": "more-than-salt"}),
        # Kilojoules in the place of kilocalories: biscuits with 2,100 kJ (502 kcal), apple juice with 192 kJ (46 kcal).
        ({"energy_kcal": 2100, "fat_g": 22, "carbohydrate_g": 65, "protein_g": 7}, 100, {"energy_kcal": "more-than-fat"}),
        ({"energy_kcal": 192, "fat_g": 0.1, "carbohydrate_g": 11.3, "protein_g": 0.1}, 100, {"energy_kcal": "perhaps-kilojoules"}),
    ],
)  # fmt: skip
def test_a_slip_is_found_at_its_figure(figures: dict[str, float], size: float, refused: dict[str, str]) -> None:
    assert found(figures, size) == refused


@pytest.mark.parametrize(
    ("figures", "size", "by_weight"),
    [
        ({"fat_g": 0, "saturated_fat_g": 0.5, "sugars_g": 1}, 30, True),  # rounded to 0 (21 CFR 101.9(c))
        ({"carbohydrate_g": 110, "energy_kcal": 440}, 100, False),  # 100 ml of honey weigh about 140 g
        ({"energy_kcal": 900, "fat_g": 100, "saturated_fat_g": 14, "carbohydrate_g": 0, "protein_g": 0}, 100, True),
        ({"sodium_mg": 39_340}, 100, True),  # salt
    ],
)
def test_what_a_label_can_print_is_taken(figures: dict[str, float], size: float, by_weight: bool) -> None:
    assert found(figures, size, by_weight) == {}


def test_of_ten_thousand_published_foods_none_but_wines_is_refused() -> None:
    refused = []
    for food_id in generic_foods().ids():
        food = find_food(food_id)
        assert food is not None
        known = {
            one.id: float(value) * 100 / food.basis_mg
            for one in LABEL_MEASURES
            if (value := food.nutrients[MEASURE_INDEX[one.id]]) is not None
        }
        if found(known):
            refused.append(food.name)
    assert sorted(refused) == sorted(WINE)
