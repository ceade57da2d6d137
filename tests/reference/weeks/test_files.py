"""The files about a week are strict: what does not hang together is a fault that names the place."""

import tomllib
from pathlib import Path
from typing import Any

import pytest

from service.domain.errors import LunchError
from service.reference.files import data_path
from service.reference.lunch.standards import standard
from service.reference.weeks import frequencies, school_food_groups
from service.reference.weeks import lengths as week_lengths
from service.reference.weeks.frequencies import frequency_paths, frequency_standard
from service.reference.weeks.models import FrequencyFileRow, PrintedRow
from service.reference.weeks.school_food_groups import foods_in_groups, group_file, portion_of

ENGLAND = "gb-eng-school-food-2014"
ROW: dict[str, Any] = {
    "id": "fruit-daily",
    "label": "fruit",
    "counts": "fruit",
    "unit": "portions",
    "period": "day",
    "at_least": 1,
    "whole_day": False,
    "age_groups": ["primary"],
    "from": "2015-01-01",
    "source": "a source",
    "status": "read",
}


@pytest.mark.parametrize("change", [
    {"unit": "kitchen"},
    {"kitchen_only": "no reason for one"},
    {"counts": ""},
    {"at_most": 3},
    {"at_least": None},
    {"with": ["fruit"]},
    {"unit": "accompanied"},
    {"unit": "grams_each"},
    {"unit": "spoons"},
    {"period": "month"},
    {"colour": "red"},
    {"until": "2014-01-01"},
])  # fmt: skip
def test_a_rule_that_does_not_hang_together_is_refused(change: dict[str, Any]) -> None:
    assert FrequencyFileRow.model_validate(ROW).at_least == 1
    with pytest.raises(ValueError, match=r".+"):
        FrequencyFileRow.model_validate({**ROW, **change})


def test_a_printed_row_needs_a_bound() -> None:
    row = {"targets": ["x"], "age_groups": ["y"], "days": 7, "source": "s", "status": "read"}
    with pytest.raises(ValueError, match="bound"):
        PrintedRow.model_validate(row)


@pytest.mark.parametrize(("old", "new", "place"), [
    ('id = "gb-eng-school-food-2014"', 'id = "another"', "#/id"),
    ('counts = "pastry"', 'counts = "pies"', "frequency/"),
    ('age_groups = ["primary"]', 'age_groups = ["nursery"]', "age_groups"),
    ('id = "pastry"', 'id = "fried"', "frequency/"),
])  # fmt: skip
def test_a_name_that_is_not_there_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, old: str, new: str, place: str
) -> None:
    text = data_path(frequency_paths()[ENGLAND]).read_text("utf-8")
    assert old in text
    file = tmp_path / "gb-eng-school-food-2014.toml"
    file.write_text(text.replace(old, new, 1), "utf-8")
    monkeypatch.setattr(frequencies, "data_path", lambda _relative: file)
    with pytest.raises(LunchError) as fault:
        frequency_standard.__wrapped__(ENGLAND)
    assert place in fault.value.faults()[0].pointer


def test_a_food_that_is_not_there_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    text = data_path("foods/school_food_groups.toml").read_text("utf-8")
    file = tmp_path / "school_food_groups.toml"
    file.write_text(text.replace('foods = ["croissant"', 'foods = ["croisant"'), "utf-8")
    monkeypatch.setattr(school_food_groups, "data_path", lambda _relative: file)
    with pytest.raises(LunchError) as fault:
        group_file.__wrapped__()
    assert "croisant" in str(fault.value.faults()[0].value)


def test_the_lengths_of_weeks_speak_of_targets_that_are_there() -> None:
    """Every target named in weeks/ is a week's total of its standard."""
    for path in sorted(data_path("weeks").glob("*.toml")):
        content = tomllib.loads(path.read_text("utf-8"))
        known = {row.id for row in standard(content["standard"]).rows if row.basis == "week_total"}
        named = {target for row in content["printed"] for target in row["targets"]}
        assert named | set(content["unscaled"]["targets"]) <= known
        assert week_lengths.week_lengths(path.stem).usual_days == content["usual_days"]


def test_portions_go_by_food_category_and_age() -> None:
    """Grams of the guidance: bread 50 and 80, cheese 20 and 30; where none is known one item is one portion."""
    assert portion_of("bread-white", "breads", "starchy", "primary").amount_mg == 50_000
    assert portion_of("bread-white", "breads", "starchy", "secondary").amount_mg == 80_000
    assert portion_of("cheese-cheddar", "cheese", "dairy", "secondary").amount_mg == 30_000
    assert portion_of("fish-sticks", "fish", "fried", "primary").amount_mg is None


def test_oily_fish_and_meat_products_are_among_what_they_are_part_of() -> None:
    """Oily fish is protein; a meat product is meat or poultry; a wholegrain starchy food is starchy."""
    for groups, _kind in foods_in_groups().values():
        assert "oily_fish" not in groups or "protein_non_dairy" in groups
        assert "meat_product" not in groups or "meat_or_poultry" in groups
        assert "wholegrain_starchy" not in groups or "starchy" in groups
        assert "fruit_dessert" not in groups or "fruit" in groups
        assert "vegetarian_protein" not in groups or not groups & {"meat_or_poultry", "oily_fish"}


def test_every_item_of_the_file_of_frequencies_reads_its_year() -> None:
    known = frequency_standard(ENGLAND)
    assert known.first_day.year == 2015
    assert known.last_day is None
