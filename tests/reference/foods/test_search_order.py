"""Promise: a search finds foods by the beginnings of their words, forgives a slip, and lists lunch foods first."""

import pytest

from service.reference.foods.search import FoodIndex, fold, food_index


@pytest.fixture(scope="module")
def index() -> FoodIndex:
    """The index of all foods."""
    return food_index()


def test_every_word_must_be_there(index: FoodIndex) -> None:
    """In any order, as a whole word or a beginning."""
    found = [one.id for one in index.search("turk sand")]
    assert "sandwich-turkey-cheese" in found
    assert set(found) == {one.id for one in index.search("sand turk")}
    assert index.search("turkey xylophone") == []


def test_lunch_foods_and_dishes_come_before_the_tables(index: FoodIndex) -> None:
    """Where a lunch food or a dish has that name."""
    ranks = {"lunch_food": 0, "recipe": 0, "generic_food": 1}
    for word in ("apple", "cheese", "sandwich", "rice"):
        kinds = [ranks[one.kind] for one in index.search(word)]
        assert kinds == sorted(kinds)
        assert kinds


def test_a_slip_of_the_keyboard_is_forgiven_but_nothing_is_made_up(index: FoodIndex) -> None:
    """One letter wrong, or two exchanged; a word that is like none finds nothing."""
    for slip, meant in (("brocoli", "broccoli"), ("yoghrt", "yogurt")):
        assert any(meant in fold(one.name) for one in index.search(slip))
    assert index.search("qqqqqq") == []


def test_accents_and_capitals_play_no_part() -> None:
    """Unicode's decomposed form without its marks (UAX 15)."""
    assert fold("Crème FRAÎCHE") == "creme fraiche"
    assert fold("Plain ASCII") == "plain ascii"


def test_an_empty_query_lists_all_and_one_of_marks_nothing(index: FoodIndex) -> None:
    """Page by page through everything; a question mark names no food."""
    assert len(index.search("")) == len(index.foods)
    assert index.search("???") == []
