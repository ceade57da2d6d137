"""Promise: what is doubtful of a branded food is flagged and said, and nothing of it is dropped or made up."""

from collections.abc import Iterable
from dataclasses import replace
from datetime import date

import pytest

from service.domain.foods.branded import BrandedFood, BrandedValue, Limits, judged, readable_ingredients

LIMITS = Limits(
    most_macros=105,
    most_kcal=910,
    energy_off_percent=25,
    energy_off_kcal=10,
    shortest_ingredients=12,
    part_over_whole=5,
    most_sodium_mg=40_000,
)
RIGHT = {"energy_kcal": 380.0, "protein_g": 12.0, "fat_g": 7.0, "carbohydrate_g": 66.0}


def food(**amounts: float | None) -> BrandedFood:
    values = tuple(
        BrandedValue(nutrient, amount, "", "100 g", 3, date(2024, 5, 1))
        for nutrient, amount in {**RIGHT, **amounts}.items()
    )
    return BrandedFood(
        "04006381333931",
        3,
        "OATS",
        ingredients="OATS, HONEY, SALT.",
        modified=date(2024, 5, 1),
        values=values,
        values_fdc_id=3,
    )


def flagged(of: BrandedFood) -> set[str]:
    return {one.nutrient for one in judged(of, LIMITS).values if one.implausible}


def codes(of: BrandedFood) -> list[str]:
    return [note.code.removeprefix("branded-note.") for note in judged(of, LIMITS).notes]


def test_what_is_right_is_only_to_be_compared() -> None:
    assert (flagged(food()), codes(food())) == (set(), ["compare"])


@pytest.mark.parametrize(
    ("amounts", "wrong", "why"),
    [
        ({"carbohydrate_g": 86.0, "energy_kcal": 455.0}, set(), []),  # 105 g together
        ({"carbohydrate_g": 86.1, "energy_kcal": 455.0}, {"protein_g", "fat_g", "carbohydrate_g"}, ["macros"]),
        ({"energy_kcal": 910.0, "fat_g": 100.0, "protein_g": 0.0, "carbohydrate_g": 0.0}, set(), []),
        ({"energy_kcal": 911.0, "fat_g": 100.0, "protein_g": 0.0, "carbohydrate_g": 0.0}, {"energy_kcal"}, ["energy"]),
        ({"energy_kcal": 468.0}, set(), []),  # 375 kcal by its macros, and 25 % more is 468.75
        ({"energy_kcal": 469.0}, {"energy_kcal"}, ["energy-off"]),
        ({"energy_kcal": 281.0}, {"energy_kcal"}, ["energy-off"]),
        ({"energy_kcal": 282.0}, set(), []),
        (
            {"energy_kcal": 0.0, "protein_g": 0.5, "fat_g": 0.0, "carbohydrate_g": 1.0},
            set(),
            [],
        ),  # 6 kcal: rounded to 0
        ({"saturated_fat_g": 12.0}, set(), []),  # rounded for a serving of 10 g each
        ({"saturated_fat_g": 12.1}, {"saturated_fat_g", "fat_g"}, ["part-over-whole"]),
        ({"sugars_g": 80.0}, {"sugars_g", "carbohydrate_g"}, ["part-over-whole"]),
        ({"sodium_mg": 39_340.0}, set(), []),  # salt
        ({"sodium_mg": 64_000.0}, {"sodium_mg"}, ["more-than-salt"]),
        ({"energy_kcal": 2000.0, "fat_g": None}, {"energy_kcal"}, ["energy"]),  # nothing to compare with
        ({"fat_g": -1.0, "energy_kcal": None}, {"fat_g"}, ["below-nil"]),
        ({"fat_g": None, "carbohydrate_g": 106.0, "energy_kcal": None}, {"carbohydrate_g", "protein_g"}, ["macros"]),
    ],
)
def test_values_that_cannot_well_be_right(amounts: dict[str, float | None], wrong: set[str], why: list[str]) -> None:
    assert (flagged(food(**amounts)), codes(food(**amounts))) == (wrong, [*why, "compare"])


def test_flagged_values_are_kept() -> None:
    of = judged(food(energy_kcal=2000.0), LIMITS)
    value = of.value("energy_kcal")
    assert value is not None
    assert value.amount == 2000


@pytest.mark.parametrize("text", [None, "", "  ", "N/A", "n/a", "SALT", "NONE", "OATS, SALT.", "Not available"])
def test_ingredients_that_are_none(text: str | None) -> None:
    assert readable_ingredients(text, 12) is None
    assert codes(replace(food(), ingredients=text))[0] == "no-ingredients"


def test_twelve_letters_are_a_list() -> None:
    assert readable_ingredients(" OATS, SUGAR. ", 12) == "OATS, SUGAR."


def without_values(of: BrandedFood) -> Iterable[BrandedValue]:
    return tuple(replace(one, amount=None) for one in of.values)


def test_versions_and_dates_are_said() -> None:
    older = replace(food(), values_fdc_id=2, fdc_id=4)
    assert codes(older) == ["values-of-other-version", "compare"]
    undated = replace(older, values=tuple(replace(one, date=None) for one in older.values), modified=None)
    assert codes(undated) == ["values-of-undated-version", "compare-undated"]
    gone = replace(food(), discontinued=date(2025, 1, 1), values=tuple(without_values(food())))
    assert codes(gone) == ["discontinued", "no-values", "compare"]
    assert codes(replace(food(), values=(), values_fdc_id=None)) == ["no-values", "compare"]
