"""The words that name an allergen, marked where they stand in the text as printed."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.labels.marked import Piece, marked
from service.domain.labels.reader import read_label
from service.reference.labels.words import label_words

WORDS = [
    "butter",
    "MILK",
    "Kaas",
    "wheat flour",
    "soy lecithin",
    "sesame",
    "crème",
    "lait",
    "sugar",
    "salt",
    "oat milk",
]
BETWEEN = [
    ", ",
    ". ",
    "; ",
    " (",
    ") ",
    " and ",
    "\n",
    " <b>",
    "</b> ",
    " &amp; ",
    "\u200b",
    " \u202e",
    ". May contain ",
]


def pieces_of(text: str) -> list[Piece]:
    return marked(text, read_label(label_words(), text).evidence, "ingredients")


def named_in(text: str) -> list[tuple[str, list[tuple[str, str]]]]:
    return [(one.text, sorted(tuple(each) for each in one.named)) for one in pieces_of(text) if one.named]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("Sugar (wheat), butter, salt.", ["wheat", "butter"]),
        ("Farine de blé, crème fraîche, sel", ["Farine de blé", "crème fraîche"]),
        ("<strong>Milk</strong>, sugar", ["Milk"]),
        ("Oats, ＳＥＳＡＭＥ seeds", ["Oats", "ＳＥＳＡＭＥ seeds"]),
        ("Water, salt.", []),
        ("", []),
    ],
)
def test_the_marked_words_are_those_printed(text: str, words: list[str]) -> None:
    marks = [one for one, _named in named_in(text)]
    assert [one.strip() for one in marks] == words


def test_a_warning_and_an_ingredient_are_told_apart() -> None:
    found = named_in("Rice, milk powder. May contain sesame.")
    assert ("sesame", [("sesame", "may_contain")]) in found
    assert any("milk" in words and ("milk", "contains") in named for words, named in found)


def test_only_the_evidence_of_the_field_is_marked() -> None:
    reading = read_label(label_words(), "Water, salt", contains="Contains: milk")
    assert marked("Water, salt", reading.evidence, "ingredients") == [Piece("Water, salt")]
    assert [one.text for one in marked("Contains: milk", reading.evidence, "contains") if one.named] == ["milk"]


@pytest.mark.property
@given(st.lists(st.one_of(st.sampled_from(WORDS), st.sampled_from(BETWEEN), st.text(max_size=4)), max_size=30))
def test_the_pieces_put_together_are_the_text(parts: list[str]) -> None:
    text = "".join(parts)
    pieces = pieces_of(text)
    assert "".join(one.text for one in pieces) == text
    assert all(one.text for one in pieces)
    found = {(row.allergen, row.tier) for row in read_label(label_words(), text).evidence}
    assert {tuple(each) for one in pieces for each in one.named} == found
