"""Which nutrient of FoodData Central stands for which measure of ours, and from when on a value is doubted.

Source: reference_data/foods/fdc_nutrients.toml.
"""

import tomllib
from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any, Final, NamedTuple

from service.domain.foods.branded import Limits
from service.domain.measures import MEASURE_INDEX, MEASURES

FILE: Final = Path(__file__).resolve().parents[3] / "reference_data" / "foods" / "fdc_nutrients.toml"


class FdcNutrient(NamedTuple):
    """One nutrient of FoodData Central: its id and number there, and its unit in capital letters.

    ``measure``: the measure it stands for, None where its unit cannot be turned into ours. ``factor``: what an amount is multiplied by.
    """

    id: int
    number: str
    name: str
    unit: str
    measure: str | None = None
    factor: float = 1.0


@lru_cache(maxsize=1)
def _file() -> dict[str, Any]:
    return tomllib.loads(FILE.read_text(encoding="utf-8"))


@lru_cache(maxsize=1)
def fdc_nutrients() -> tuple[FdcNutrient, ...]:
    """All that are read, in the order in which they are preferred for a measure."""
    return tuple(FdcNutrient(**row) for row in _file()["nutrient"])


@lru_cache(maxsize=1)
def limits() -> Limits:
    """From when on a value or a list of ingredients is doubted."""
    row = _file()["doubt"]
    return Limits(**{name: row[name] for name in Limits._fields})


@lru_cache(maxsize=1)
def measures_read() -> tuple[str, ...]:
    """The measures that some nutrient stands for, each once, in their order."""
    return tuple(dict.fromkeys(one.measure for one in fdc_nutrients() if one.measure is not None))


def amounts_by_measure(amounts: Mapping[int, float]) -> dict[str, float | None]:
    """The amount of every measure that is read, in its own unit; None is unknown.

    ``amounts``: by the id of a nutrient of FoodData Central, in its unit there.

    >>> read = amounts_by_measure({1008: 480.0, 1110: 40.0, 1104: 500.0})
    >>> read["energy_kcal"], read["vitamin_d_ug"], read["vitamin_a_rae_ug"], read["protein_g"]
    (480.0, 1.0, None, None)
    """
    found: dict[str, float | None] = dict.fromkeys(measures_read())
    for one in fdc_nutrients():
        if one.measure is not None and found[one.measure] is None and one.id in amounts:
            found[one.measure] = amounts[one.id] * one.factor
    return found


def unit_of(measure: str) -> str:
    """The unit in which the amounts of a measure are given."""
    return MEASURES[MEASURE_INDEX[measure]].unit
