"""Texts that are no list of ingredients, or one that is not read: they clear nothing. Made up for the tests."""

import pytest

from tests.domain.labels.label_reading import hard, reading


@pytest.mark.parametrize(
    "text",
    [
        "The best crackers in town",
        "You will love these noodles",
        "Simply delicious potato snacks",
        "Try our new apple snacks today!",
        "Enthält Milch",
        "Enthält Milch und Spuren von",
        "Contains milk and may contain nuts",
        "Contient lait et blé",
    ],
)
def test_praise_and_declarations_alone_list_nothing(text):
    assert not reading(text).readable


@pytest.mark.parametrize(
    "text",
    ["só, cukor, paprika", "só, paprika, víz", "Hagyma, só, paprika", "suola, paprika, curry", "Tuz, paprika, curry"],
)
def test_one_common_word_of_a_language_that_is_not_read_is_enough(text):
    assert not reading(text).readable


@pytest.mark.parametrize(
    "text",
    [
        "Our best crackers: wheat flour, oil, salt",
        "Rice. Made in our kitchen.",
        "Enthält Milch. Reis, Salz",
        "Contains milk, sugar, salt",
        "new potatoes",
    ],
)
def test_a_list_beside_them_is_read(text):
    assert reading(text).readable


@pytest.mark.parametrize(("printed", "allergen"), [("m-i-l-k", "milk"), ("m.i.l.k", "milk"), ("E.G.G", "egg")])
def test_letters_printed_apart_are_one_word(printed, allergen):
    assert allergen in hard(f"Rice, salt, {printed}")


def test_initials_are_no_word():
    assert hard("rice, product of U.S.A., vitamin B-1, e-f-g") == set()
