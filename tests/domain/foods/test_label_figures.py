"""What a printed figure may stand for, worked out by hand from 21 CFR 101.9(c)."""

from decimal import Decimal

import pytest

from service.domain.foods.label_figures import stands_for
from service.reference.foods.label_rounding import rounding_rules


@pytest.mark.parametrize(
    ("measure", "figure", "least", "most"),
    [
        ("energy_kcal", "0", 0, 5),  # under 5 may be printed 0
        ("energy_kcal", "5", "2.5", "7.5"),
        ("energy_kcal", "45", "42.5", "47.5"),
        ("energy_kcal", "100", 95, 105),
        ("fat_g", "0", 0, "0.5"),
        ("fat_g", "0.5", "0.25", "0.75"),
        ("fat_g", "3", "2.75", "3.25"),
        ("fat_g", "8", "7.5", "8.5"),
        ("sodium_mg", "0", 0, 5),
        ("sodium_mg", "135", "132.5", "137.5"),
        ("sodium_mg", "150", 145, 155),
        ("carbohydrate_g", "12", "11.5", "12.5"),
        ("cholesterol_mg", "5", 2, "7.5"),  # with "less than 5 mg" entered as 5
        ("cholesterol_mg", "30", "27.5", "32.5"),
    ],
)
def test_the_interval_of_a_figure(measure: str, figure: str, least: str | int, most: str | int) -> None:
    low, high = stands_for(rounding_rules()[measure], Decimal(figure))
    assert Decimal(low) / 1000 == Decimal(least)
    assert Decimal(high) / 1000 == Decimal(most)


@pytest.mark.parametrize(
    ("measure", "figure", "covers"),
    [
        ("energy_kcal", "50", ["47.5", "54.99"]),
        ("fat_g", "5", ["4.75", "5.49"]),
        ("sodium_mg", "140", ["137.5", "144.99"]),
    ],
)
def test_a_figure_at_the_edge_of_two_bands_may_come_from_either(measure: str, figure: str, covers: list[str]) -> None:
    low, high = stands_for(rounding_rules()[measure], Decimal(figure))
    assert all(low <= Decimal(amount) * 1000 <= high for amount in covers)


@pytest.mark.parametrize(
    ("measure", "figure", "low", "high"),
    [
        # 21 CFR 101.9(c)(1): up to 50 kcal to the nearest 5, above to the nearest 10.
        ("energy_kcal", "50", "47.5", "55"),
        ("energy_kcal", "60", "55", "65"),
        # (c)(2): under 5 g to the nearest half gram, from 5 g on to the nearest gram.
        ("fat_g", "5", "4.75", "5.5"),
        ("fat_g", "4.5", "4.25", "4.75"),
        # (c)(4): up to 140 mg to the nearest 5, above to the nearest 10.
        ("sodium_mg", "140", "137.5", "145"),
        ("sodium_mg", "135", "132.5", "137.5"),
    ],
)
def test_a_figure_at_the_edge_of_a_band_stands_for_no_more_than_it_may(
    measure: str, figure: str, low: str, high: str
) -> None:
    assert stands_for(rounding_rules()[measure], Decimal(figure)) == (
        int(Decimal(low) * 1000),
        int(Decimal(high) * 1000),
    )
