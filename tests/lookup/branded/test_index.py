"""Promises of the index: found by words in any order, by beginnings and in spite of misspellings; nothing typed is read as an
operator; and what is not an index is refused with what to do."""

import sqlite3
from collections.abc import Sequence
from datetime import date
from pathlib import Path

import pytest

from service.domain.errors import StoreFault
from service.lookup.branded.build import build_index
from service.lookup.branded.index import BrandedIndex
from tests.lookup.branded.conftest import Indexed
from tests.lookup.branded.make_archive import OATS, Entry, write_archive
from tests.refused import refused

CODE = "4006381333931"
FOODS = (
    Entry(1, "10000000000001", description="OAT BISCUITS WITH RAISINS", brand="NORTHMILL"),
    Entry(2, "10000000000002", description="OAT BISCUITS", brand="SOUTHMILL"),
    Entry(3, "10000000000003", description="RAISIN BREAD", brand="OAT COMPANY"),
    Entry(4, "10000000000004", description="CRÈME DESSERT", brand="NORTHMILL", owner="INVENTED DAIRY"),
    Entry(5, "10000000000005", description="NOT A CRUMB OR TWO CRACKERS", brand="SOUTHMILL"),
)


def names(index: BrandedIndex, text: str, limit: int = 20) -> Sequence[str]:
    return [one.description for one in index.by_words(text, limit)]


@pytest.fixture
def index(indexed: Indexed) -> BrandedIndex:
    return indexed(*FOODS)


def test_all_words_are_found_in_any_order_short_names_first(index: BrandedIndex) -> None:
    assert names(index, "biscuits oat") == ["OAT BISCUITS", "OAT BISCUITS WITH RAISINS"]
    assert names(index, "oat northmill") == ["OAT BISCUITS WITH RAISINS"]


def test_a_name_that_has_the_words_comes_before_a_brand_that_does(index: BrandedIndex) -> None:
    assert names(index, "oat") == ["OAT BISCUITS", "OAT BISCUITS WITH RAISINS", "RAISIN BREAD"]
    assert names(index, "oat", 2) == ["OAT BISCUITS", "OAT BISCUITS WITH RAISINS"]


def test_the_last_word_may_be_a_beginning_from_three_letters_on(index: BrandedIndex) -> None:
    assert names(index, "oat bis") == ["OAT BISCUITS", "OAT BISCUITS WITH RAISINS"]
    assert names(index, "oat bi") == []
    assert names(index, "bis oat") == []  # only the last


def test_accents_do_not_count(index: BrandedIndex) -> None:
    assert names(index, "creme") == names(index, "Crème") == ["CRÈME DESSERT"]


@pytest.mark.parametrize(
    "text", ['"', "*", "NEAR(", "description:", "-", "'; DROP TABLE foods", "  ", "\x00", "(" * 50, "^oat"]
)
def test_signs_are_no_operators(index: BrandedIndex, text: str) -> None:
    assert names(index, f"{text} oat {text} biscuits") in ([], ["OAT BISCUITS", "OAT BISCUITS WITH RAISINS"])
    index.by_words(text)


def test_words_that_are_operators_elsewhere_are_words(index: BrandedIndex) -> None:
    assert names(index, "NOT crumb OR crackers") == ["NOT A CRUMB OR TWO CRACKERS"]


@pytest.mark.parametrize(
    "text", ["biscits", "biscuitss", "bsicuits", "biskuits", "oat bisciuts", "biscits northmill oat"]
)
def test_misspelt_words_find_those_that_are_spelt_alike(index: BrandedIndex, text: str) -> None:
    assert names(index, text)[0].startswith("OAT BISCUITS")


def test_a_text_without_words_finds_nothing(index: BrandedIndex) -> None:
    assert names(index, "") == names(index, " . ") == names(index, "oat", 0) == []


def test_everything_of_an_entry_comes_with_its_source(indexed: Indexed) -> None:
    food = indexed(Entry(5, CODE, unit="MLT", serving="240", discontinued="2025-01-31")).by_code(CODE)
    assert food is not None
    assert (food.gtin, food.source, food.read) == ("04006381333931", "index", date(2024, 6, 13))
    assert (food.serving_amount, food.serving_unit, food.household_serving) == (240.0, "ml", "2 biscuits")
    assert (food.modified, food.available, food.published) == (date(2024, 5, 1), date(2024, 4, 1), date(2024, 6, 13))
    assert food.discontinued == date(2025, 1, 31)
    assert {(one.basis, one.fdc_id, one.date) for one in food.values} == {("100 ml", 5, date(2024, 5, 1))}


def test_units_that_can_be_turned_are_and_others_are_unknown(indexed: Indexed) -> None:
    """40 IU of vitamin D are 1 µg (21 CFR 101.9(c)(8)(iv)); how many µg an IU of vitamin A is depends on its kind."""
    food = indexed(Entry(1, CODE, amounts={1110: 120, 1104: 500, 1062: 1500, 1008: 0})).by_code(CODE)
    assert food is not None
    vitamin_d, vitamin_a, energy = (food.value(one) for one in ("vitamin_d_ug", "vitamin_a_rae_ug", "energy_kcal"))
    assert vitamin_d is not None
    assert (vitamin_d.amount, vitamin_d.unit) == (3.0, "µg")
    assert vitamin_a is not None
    assert vitamin_a.amount is None
    assert energy is not None
    assert energy.amount == 0  # given as 0; kJ are not read


def test_an_amount_that_is_not_given_is_unknown(indexed: Indexed) -> None:
    food = indexed(Entry(1, CODE, amounts={**OATS, 1093: "", 1087: "nan"})).by_code(CODE)
    assert food is not None
    assert [food.value(one).amount for one in ("sodium_mg", "calcium_mg", "iron_mg")] == [None] * 3  # type: ignore[union-attr]


def test_without_a_unit_it_is_not_known_what_values_are_for(indexed: Indexed) -> None:
    food = indexed(Entry(1, CODE, unit="IU")).by_code(CODE)
    assert food is not None
    assert {one.amount for one in food.values} == {None}
    assert [note.code for note in food.notes] == ["branded-note.no-basis", "branded-note.compare"]


def test_a_short_code_finds_the_whole_one(indexed: Indexed) -> None:
    food = indexed(Entry(1, "042100005264")).by_code("04252614")
    assert food is not None
    assert food.gtin == "00042100005264"


def test_a_wrong_check_digit_is_said_and_found_all_the_same(indexed: Indexed) -> None:
    food = indexed(Entry(1, "4006381333932")).by_code("4006381333932")
    assert food is not None
    assert "branded-note.check-digit" in [note.code for note in food.notes]


def test_a_code_that_is_not_there(index: BrandedIndex) -> None:
    assert index.by_code(CODE) is None


def test_a_new_build_is_seen_at_once(indexed: Indexed, tmp_path: Path) -> None:
    index = indexed(Entry(1, CODE, description="OLD RECIPE"))
    assert names(index, "recpe") == ["OLD RECIPE"]
    build_index(write_archive(tmp_path / "b.zip", [Entry(2, CODE, description="NEW RECIPES")]), index.path)
    assert names(index, "recpes") == ["NEW RECIPES"]


def test_what_is_not_an_index_is_refused(tmp_path: Path, indexed: Indexed) -> None:
    with refused(StoreFault, match="no index of branded foods was built"):
        BrandedIndex(tmp_path / "nothing")
    (tmp_path / "text").write_text("no database at all, but long enough to be looked at" * 50)
    with refused(StoreFault, match="damaged"):
        BrandedIndex(tmp_path / "text")
    index = indexed(Entry(1, CODE))
    with sqlite3.connect(index.path) as changed:
        changed.execute("UPDATE about SET value = '0' WHERE name = 'version'")
    changed.close()
    with refused(StoreFault, match="another version"):
        BrandedIndex(index.path)
