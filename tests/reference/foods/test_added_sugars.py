"""Promise: the added sugars of a lunch food go with its composition: never more than all its sugars, and the twin taken off.

The figures of the tables are those of USDA SR28 and FNDDS 2021-2023; how added sugars are told from them is ours: no source.
"""

import re

import pytest

from service.domain.measures import MEASURE_INDEX, THOUSANDTHS
from service.reference.foods.generic_foods import generic_foods
from service.reference.foods.lunch_foods import lunch_foods

SUGARS = MEASURE_INDEX["sugars_g"]
ROWS = lunch_foods().rows()
TWIN = re.compile(r"twin (\S+) .*: ([0-9.]+) g")
ROUNDED = 0.006
"""The column has two places."""


def sugars_of(composition: str) -> float | None:
    """All sugars in 100 g of a food made of foods of the tables; None where a part has no figure."""
    parts = [part.strip().partition("=") for part in composition.split(";")]
    grams = [float(weight or 100) for _id, _sign, weight in parts]
    total = 0.0
    for (food_id, _sign, _weight), weight in zip(parts, grams, strict=True):
        food = generic_foods().get(food_id)
        assert food is not None
        figure = food.values[SUGARS]
        if figure is None:
            return None
        total += figure / THOUSANDTHS * weight
    return total / sum(grams)


WITH_FIGURE = [
    one for one, row in ROWS.items() if row["added_sugars_g_per_100g"] and sugars_of(row["composition"]) is not None
]
WITH_TWIN = [one for one in WITH_FIGURE if ROWS[one]["added_sugars_method"] == "difference_to_unsweetened"]


@pytest.mark.parametrize("food_id", WITH_FIGURE)
def test_added_sugars_are_part_of_all_sugars(food_id: str) -> None:
    """A row whose composition was exchanged needs its added sugars worked out again."""
    row = ROWS[food_id]
    sugars = sugars_of(row["composition"])
    assert sugars is not None
    assert float(row["added_sugars_g_per_100g"]) <= sugars + ROUNDED


@pytest.mark.parametrize("food_id", WITH_TWIN)
def test_what_the_unsweetened_twin_has_is_not_added(food_id: str) -> None:
    """The difference, and the figure of the twin is the one of the table."""
    row = ROWS[food_id]
    told = TWIN.match(row["added_sugars_note"])
    assert told is not None
    twin, sugars = sugars_of(told[1]), sugars_of(row["composition"])
    assert twin is not None
    assert sugars is not None
    assert float(told[2]) == pytest.approx(twin, abs=ROUNDED)
    assert float(row["added_sugars_g_per_100g"]) == pytest.approx(max(0.0, sugars - twin), abs=2 * ROUNDED)
