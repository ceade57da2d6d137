"""Dishes by name: what they are usually made with is to be checked. Usual recipes; common practice, no source."""

import pytest

from tests.domain.labels.label_reading import everything, to_check


@pytest.mark.parametrize(
    ("dish", "allergens"),
    [
        ("Bread and butter pudding", "egg"),
        ("Egg fried rice", "soy wheat"),
        ("Sushi", "soy wheat"),
        ("Ramen", "soy wheat"),
        ("Chicken chow mein", "soy wheat"),
        ("Sweet and sour pork", "soy wheat"),
        ("Orange chicken", "soy wheat"),
        ("Hot and sour soup", "egg soy"),
        ("Eton mess", "egg milk"),
        ("Eggs benedict", "milk wheat"),
        ("Tuna melt", "milk"),
        ("Stollen", "milk wheat"),
        ("Greek salad", "milk"),
        ("Sausage and mash", "milk wheat"),
        ("Grilled cheese", "wheat"),
        ("Fried chicken", "wheat"),
        ("Tuna casserole", "milk wheat"),
        ("Carrot cake", "egg walnut wheat"),
        ("California roll", "crustacean egg"),
        ("Prawn cocktail", "egg"),
        ("Butter tart", "egg wheat"),
        ("Rocky road", "milk wheat"),
    ],
)
def test_a_dish_asks_for_what_it_is_usually_made_with(dish, allergens):
    assert set(allergens.split()) <= everything(dish)


def test_its_ingredients_answer():
    assert to_check("fried rice (rice, peas, salt, sunflower oil)") == set()
    assert "milk" not in everything("biryani (rice, lentils, salt)")
