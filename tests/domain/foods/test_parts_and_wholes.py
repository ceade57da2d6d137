"""A missing part of a food is at most all of the whole it is a part of; each pair with the definition that says so."""

import pytest

from service.domain.measures import MEASURE_INDEX
from tests.builders import food, parts, vector

OTHERS = 77
"""What every other measure holds, so that taking the wrong whole shows."""

PAIRS = [
    # "Sugars means all monosaccharides and disaccharides present in food", "carbohydrate ... includes polyols", sugars
    # "of which" under it: Regulation (EU) No 1169/2011, annex I points 7 and 8, annex XV.
    ("sugars_g", "carbohydrate_g"),
    # Saturates stand "of which" under fat: the same regulation, annex XV.
    ("saturated_fat_g", "fat_g"),
    # Added sugars are declared as "Includes x g Added Sugars" under total sugars: 21 CFR 101.9(c)(6)(iii).
    ("added_sugars_g", "sugars_g"),
    # Free sugars are monosaccharides and disaccharides added to foods, and those in honey, syrups and juices: WHO
    # guideline "Sugars intake for adults and children", 2015. So they are sugars, not all of the carbohydrate.
    ("free_sugars_g", "sugars_g"),
    # Non-milk extrinsic sugars are sugars outside of cells, milk sugars left out (COMA, 1989).
    ("nmes_g", "sugars_g"),
]


@pytest.mark.parametrize(("part", "whole"), PAIRS, ids=[part for part, _whole in PAIRS])
def test_a_missing_part_is_at_most_its_whole(part: str, whole: str) -> None:
    figures = dict.fromkeys(("carbohydrate_g", "sugars_g", "fat_g", "saturated_fat_g"), OTHERS)
    bar = food("bar", {**figures, whole: 12}, unknown=[part])
    entries = {measure: (low, high) for measure, low, high in vector(bar, 100).interval_entries}
    assert entries[MEASURE_INDEX[part]] == (0, parts(12))


def test_a_whole_of_a_whole_bounds_a_part() -> None:
    """With sugars missing too, free sugars are at most all of the carbohydrate."""
    bar = food("bar", {"carbohydrate_g": 12}, unknown=["sugars_g", "free_sugars_g"])
    entries = {measure: (low, high) for measure, low, high in vector(bar, 100).interval_entries}
    assert entries[MEASURE_INDEX["free_sugars_g"]] == (0, parts(12))


def test_a_part_of_an_unknown_whole_has_no_end() -> None:
    bar = food("bar", unknown=["carbohydrate_g", "sugars_g", "free_sugars_g"])
    entries = {measure: (low, high) for measure, low, high in vector(bar, 100).interval_entries}
    assert entries[MEASURE_INDEX["free_sugars_g"]] == (0, None)
