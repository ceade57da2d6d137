"""The sizes of units against the library pint, which takes them from the definitions of NIST and UK law."""

from fractions import Fraction

import pytest
from pint import UnitRegistry

from service.reference.recipes.words import vocabulary

IN_PINT = [
    ("g", None, "gram"), ("kg", None, "kilogram"), ("mg", None, "milligram"), ("oz", None, "ounce"), ("lb", None, "pound"),
    ("ml", None, "milliliter"), ("cl", None, "centiliter"), ("dl", None, "deciliter"), ("l", None, "liter"),
    ("tsp", "US", "teaspoon"), ("tbsp", "US", "tablespoon"), ("cup", "US", "cup"), ("fl oz", "US", "fluid_ounce"),
    ("pint", "US", "pint"), ("quart", "US", "quart"), ("gallon", "US", "gallon"),
    ("fl oz", "GB", "imperial_fluid_ounce"), ("pint", "GB", "imperial_pint"), ("quart", "GB", "imperial_quart"),
    ("gallon", "GB", "imperial_gallon"),
]  # fmt: skip


@pytest.mark.parametrize(("unit", "country", "known_as"), IN_PINT)
def test_a_unit_is_as_large_as_pint_says(unit: str, country: str | None, known_as: str) -> None:
    size = vocabulary().by_id[unit].size(country)
    registry: UnitRegistry[float] = UnitRegistry()
    mass = vocabulary().by_id[unit].kind == "mass"
    expected = (1 * registry(known_as)).to("milligram" if mass else "microliter").magnitude
    assert size is not None
    assert float(size) == pytest.approx(expected, rel=1e-12 if country == "US" else 1e-5)


def test_us_volumes_are_exact_parts_of_a_cup() -> None:
    cup = vocabulary().by_id["cup"].size("US")
    parts = {"tbsp": 16, "tsp": 48, "fl oz": 8}  # NIST Special Publication 430, table 1
    assert {unit: cup / vocabulary().by_id[unit].size("US") for unit in parts} == parts  # type: ignore[operator]


@pytest.mark.parametrize("unit", ["cup", "pint", "quart", "gallon", "fl oz"])
def test_a_measure_that_differs_between_countries_has_no_size_without_one(unit: str) -> None:
    assert vocabulary().by_id[unit].size(None) is None
    assert vocabulary().by_id[unit].size("DE") is None


def test_a_british_cup_is_asked_about() -> None:
    assert vocabulary().by_id["cup"].size("GB") is None
    assert vocabulary().by_id["cup"].size("AU") == Fraction(250_000)
