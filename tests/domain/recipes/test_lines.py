"""Ingredient lines against two lists of right readings, which were written by hand, the first before there was a reader."""

from fractions import Fraction
from typing import Any

import pytest

from service.domain.recipes.lines import read_line
from service.reference.recipes.words import vocabulary
from tests.domain.recipes.reading import doubts_of, lines_of, reading_of, right_reading

WHOLLY_RIGHT_OF_A_HUNDRED = 75
HOW_MUCH = ("amount", "to", "unit", "pack", "beside", "plus")
LISTS = ("ingredient_lines.csv", "development_lines.csv")


def test_three_quarters_of_a_hundred_lines_are_wholly_right() -> None:
    rows = lines_of("ingredient_lines.csv")
    assert len(rows) == 100
    right = [row["text"] for row in rows if reading_of(row) == right_reading(row)]
    assert len(right) >= WHOLLY_RIGHT_OF_A_HUNDRED


@pytest.mark.parametrize("name", LISTS)
def test_no_amount_or_unit_is_wrong_without_a_doubt(name: str) -> None:
    def how_much(reading: dict[str, Any]) -> dict[str, Any]:
        found = {part: reading[part] for part in HOW_MUCH}
        if found["amount"] == 1 and found["to"] is None:  # what one packet holds is all of it
            found["pack"], found["beside"] = "", found["pack"] or found["beside"]
        return found

    silently_wrong = [
        row["text"]
        for row in lines_of(name)
        if how_much(reading_of(row)) != how_much(right_reading(row)) and not reading_of(row)["doubts"]
    ]
    assert silently_wrong == []


@pytest.mark.parametrize("name", LISTS)
def test_what_must_be_asked_is_asked(name: str) -> None:
    """A doubt that the list names is never left out; one more is no fault."""
    left_out = [row["text"] for row in lines_of(name) if right_reading(row)["doubts"] - reading_of(row)["doubts"]]
    assert left_out == []


@pytest.mark.parametrize("row", lines_of("development_lines.csv"), ids=lambda row: row["text"])
def test_the_reader_reads_the_lines_that_it_was_written_with(row: dict[str, str]) -> None:
    assert reading_of(row) == right_reading(row)


@pytest.mark.parametrize(
    ("line", "amount", "unit", "food"),
    [
        ("flour 200 g", 200, "g", "flour"),
        ("Eggs - 3", 3, "", "Eggs"),
        ("milk, 1 cup", 1, "cup", "milk"),
        ("three quarters of a cup of milk", Fraction(3, 4), "cup", "milk"),
        (".5 cup sugar", Fraction(1, 2), "cup", "sugar"),
        ("1 & 1/2 cups oats", Fraction(3, 2), "cup", "oats"),
        ("2 x large eggs", 2, "", "eggs"),
        ("1,500 g potatoes", 1500, "g", "potatoes"),
        ("1 pound cake", 1, "", "pound cake"),
        ("2 rib eye steaks", 2, "", "rib eye steaks"),
    ],
)
def test_other_ways_to_write_an_amount(line: str, amount: Fraction, unit: str, food: str) -> None:
    read = read_line(line, vocabulary(), "US")
    assert (read.amount, read.unit.id if read.unit else "", read.food) == (amount, unit, food)


@pytest.mark.parametrize(
    ("line", "doubt"),
    [
        ("5 cm cucumber", "loose-measure"),
        ("1 cup minus 1 tbsp flour", "more-numbers"),
        ("1.500 kg beef", "number-which"),
        ("1 - 14 oz can tomatoes", "number-which"),
        ("4-pack burger buns", "number-which"),
        ("a few sprigs of thyme", "no-amount"),
        ("100 g", "no-food"),
        ("0 eggs", "number-which"),
        ("12 oz can evaporated milk", "weight-or-volume"),
    ],
)
def test_lines_that_are_asked_about(line: str, doubt: str) -> None:
    assert doubt in doubts_of(read_line(line, vocabulary(), "US"))


@pytest.mark.parametrize("row", lines_of("development_lines.csv"), ids=lambda row: row["text"])
def test_each_part_is_found_at_the_place_that_is_given_for_it(row: dict[str, str]) -> None:
    read = read_line(row["text"], vocabulary(), row["region"] or None)
    for part, (start, end) in read.spans.items():
        assert row["text"][start:end].strip()
        if part == "food":
            assert row["text"][start:end].split()[0] == read.food.split()[0]
