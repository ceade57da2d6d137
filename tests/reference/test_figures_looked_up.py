"""Promise: the figures written down from memory only become fewer, and those looked up again are as they were found.

Where each was found is in the source of its row: copies read on 2026-11-26.
"""

import csv
import tomllib
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from service.domain.measures import MEASURE_INDEX
from service.reference.files import data_path
from service.reference.foods.catalogue import find_food
from service.reference.lunch.handling import storage_classes
from service.reference.weeks.lengths import day_references

ROOT = data_path("sources.toml").parent

MOST_FROM_MEMORY = {
    "crediting": 9,
    "foods/lunch_foods.csv": 25,
    "foods": 6,
    "intakes": 3,
    "labels": 1,
    "standards": 2,
    "stock": 8,
}
"""Words of labels and translations are words, not figures, and are left out. Lower a number when a figure has been looked up; never raise one."""


def _from_memory(node: Any) -> int:
    if isinstance(node, dict):
        return (node.get("status") == "memory") + sum(map(_from_memory, node.values()))
    return sum(map(_from_memory, node)) if isinstance(node, list) else 0


def test_no_folder_has_more_figures_from_memory_than_before() -> None:
    counts: dict[str, int] = {}
    for path in ROOT.rglob("*.toml"):
        folder = Path(path.relative_to(ROOT)).parts[0]
        if folder in ("allergens", "messages"):
            continue
        counts[folder] = counts.get(folder, 0) + _from_memory(tomllib.loads(path.read_text(encoding="utf-8")))
    with data_path("foods/lunch_foods.csv").open(encoding="utf-8", newline="") as rows:
        counts["foods/lunch_foods.csv"] = sum(row["credits_status"] == "memory" for row in csv.DictReader(rows))
    assert {name: n for name, n in counts.items() if n > MOST_FROM_MEMORY.get(name, 0)} == {}


@pytest.mark.parametrize(
    ("measure", "years", "sex", "amount"),
    [
        ("iron_mg", 5, None, 6.1),
        ("iron_mg", 8, None, 8.7),
        ("iron_mg", 12, "girl", 14.8),
        ("iron_mg", 12, "boy", 11.3),
        ("zinc_mg", 5, None, 6.5),
        ("zinc_mg", 12, None, 9.0),
        ("vitamin_a_rae_ug", 5, None, 400.0),
        ("vitamin_a_rae_ug", 12, None, 600.0),
        ("folate_ug", 5, None, 100.0),
        ("vitamin_c_mg", 12, None, 35.0),
        ("calcium_mg", 5, None, 450.0),
        ("calcium_mg", 12, "girl", 800.0),
        ("calcium_mg", 12, "boy", 1000.0),
        ("calcium_mg", 12, None, 1000.0),
    ],
)
def test_the_uk_references_of_1991_by_age_and_sex(measure: str, years: int, sex: str | None, amount: float) -> None:
    rows = {one.target.id: one for one in day_references("GB", 12 * years, sex)}
    assert rows["third-" + measure.replace("_", "-")].day_amount == amount


def test_nut_butter_and_sliced_ham_keep_as_the_agency_says() -> None:
    """FSIS storage data 488 and 489, and 85."""

    def days(class_id: str, place: str) -> set[tuple[float, float]]:
        return {(float(t.days_from), float(t.days_to)) for t in storage_classes()[class_id].time if t.place == place}

    assert days("nut-butter", "pantry") == {(60, 90)}
    assert days("nut-butter", "fridge") == {(90, 120)}
    assert days("ham-sliced", "fridge") == {(3, 4)}


@pytest.mark.parametrize(
    ("food_id", "component", "grams"),
    [
        ("soup-tomato", "vegetable_red_orange_cup", 992),
        ("soup-minestrone", "vegetable_other_cup", 960),
        ("soup-vegetable", "vegetable_other_cup", 964),
        ("coconut-raw", "fruit_cup", 80),
        ("coconut-desiccated", "fruit_cup", 40),
        ("cereal-wheat-puffed", "whole_grain_rich_oz_eq", 15),
    ],
)
def test_credits_as_printed(food_id: str, component: str, grams: int) -> None:
    """Soups: Food Buying Guide 2-73 and 2-74; coconut: FNS SP 34-2019; puffed cereal: Exhibit A, group I."""
    food = find_food(food_id)
    assert food is not None
    per_basis = {credit.measure: credit.per_basis for credit in food.credit_options[0].credits}
    whole = float(per_basis[MEASURE_INDEX[component]]) * grams * 1000 / food.basis_mg
    assert whole == pytest.approx(1.0, rel=0.001) or whole == pytest.approx(1000.0, rel=0.001)


def test_days_on_which_a_rule_began() -> None:
    """Whole-grain-rich: 87 FR 6984; macadamia in Japan: three copies of the notice."""
    grains = tomllib.loads(data_path("standards/us/us-school-lunch.toml").read_text(encoding="utf-8"))["target"]
    assert {row["from"] for row in grains if row["id"] == "whole-grain-share"} == {date(2022, 7, 1)}
    lists = tomllib.loads(data_path("allergens/legal_lists.toml").read_text(encoding="utf-8"))["row"]
    assert [row["from"] for row in lists if row.get("allergens") == "macadamia"] == [date(2024, 3, 28)]
