"""Dishes by name: what they are usually made with is to be checked. Usual recipes; common practice, no source."""

import pytest

from tests.domain.labels.label_reading import everything, hard, reading, to_check


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


@pytest.mark.parametrize(
    "name",
    [
        "Pork udon",
        "Udon",
        "Gulab jamun",
        "Vegetable pakora.",
        "Kalbsschnitzel mit Kartoffelsalat",
        "Croquetas de pollo",
        "Onion soup",
        "Dark chocolate",
        "Stew with dumplings and carrots",
    ],
)
def test_the_name_of_a_dish_alone_lists_nothing(name):
    assert not reading(name).readable


@pytest.mark.parametrize(
    "text",
    [
        "Rice",
        "Peanuts and cashews",
        "Whole milk",
        "Cider vinegar and water",
        "Pork udon: wheat noodles, pork, water",
        "Stew (beef, carrots, water)",
        "Frittata. Eggs, potatoes, oil",
    ],
)
def test_one_food_or_a_list_is_read(text):
    assert reading(text).readable


@pytest.mark.parametrize(
    ("item", "allergens"),
    [
        ("chicken satay", "peanut soy"),
        ("onigiri", "fish soy wheat"),
        ("crab rangoon", "crustacean egg wheat"),
        ("bulgogi", "sesame soy wheat"),
        ("chicken pho", "fish"),
        ("peshwari naan", "milk tree_nut wheat"),
        ("moutabal", "sesame"),
        ("vitello tonnato", "fish"),
        ("osso buco", "celery"),
        ("poireaux vinaigrette", "mustard"),
        ("blanquette de dinde", "milk"),
        ("Palatschinken", "egg milk wheat"),
        ("empanadillas", "wheat"),
        ("poffertjes", "egg milk wheat"),
        ("rissóis", "egg milk wheat"),
        ("naleśniki", "egg milk wheat"),
        ("kroppkakor", "egg wheat"),
        ("æbleskiver", "egg milk wheat"),
        ("餃子", "soy wheat"),
        ("horseradish sauce", "milk mustard sulphite"),
        ("pork sausages", "sulphite wheat"),
    ],
)
def test_a_dish_within_a_list_is_to_be_checked(item, allergens):
    assert set(allergens.split()) <= everything(f"rice, {item}, carrots, salt")


@pytest.mark.parametrize(
    ("word", "allergens"),
    [
        ("Pilzknödel", "egg milk wheat"),
        ("Kartoffelauflauf", "egg milk wheat"),
        ("Putenwurst", "celery mustard"),
        ("appeltaart", "egg milk wheat"),
        ("varmkorv", "celery mustard"),
        ("æblekage", "egg milk wheat"),
    ],
)
def test_a_longer_word_that_ends_with_a_dish_is_to_be_checked(word, allergens):
    assert set(allergens.split()) <= to_check(f"sugar, {word}, salt, water")


def test_what_a_dish_says_in_its_name_is_in_it():
    assert "shrimp" in hard("rice, prawn toast, peas, salt")
    assert "milk" in hard("bread and butter pudding, raisins, sugar, spice")


def test_its_ingredients_answer_in_other_languages():
    assert to_check("Kartoffelauflauf (Kartoffeln, Salz, Wasser)") == set()
    assert to_check("croquetas (patata, sal, agua)") == set()


@pytest.mark.parametrize(
    "menu",
    [
        "Quenelles, sauce tomate",
        "Bigos, ziemniaki",
        "Chiles rellenos, rice",
        "Egg tart, tea",
        "Sloppy joe, fries",
        "Mango sticky rice, mint",
        "Murtabak, cucumber",
        "Chicken, gravy, peas, carrots",
    ],
)
def test_a_menu_of_few_items_lists_nothing(menu):
    assert not reading(menu).readable


@pytest.mark.parametrize(
    "text",
    [
        "Stew (beef, carrots), rice",
        "Sugar, dark chocolate, raisins",
        "Wheat flour, cheese sauce, water, salt, sugar",
        "Rice, milk, salt, vanilla",
    ],
)
def test_a_list_of_ingredients_stays_one(text):
    assert reading(text).readable


@pytest.mark.parametrize(
    ("item", "allergens"),
    [
        ("Bombay mix", "peanut"),
        ("fritto misto", "mollusc wheat"),
        ("mango sticky rice", "sesame"),
        ("chiles rellenos", "egg milk"),
        ("beef jerky", "soy"),
        ("wonton soup", "crustacean"),
        ("yeast extract spread", "barley celery"),
        ("Pav bhaji", "milk wheat"),
        ("chicken stock", "celery"),
        ("vermouth", "sulphite"),
    ],
)
def test_more_dishes_within_a_list_are_to_be_checked(item, allergens):
    assert set(allergens.split()) <= everything(f"rice, {item}, carrots, salt")


def test_cream_in_dutch_and_a_room_in_english():
    assert "milk" in hard("Soep: water, selderij, room, garnalen")
    assert "milk" not in everything("Rice, water. Store at room temperature. Packed in a cool room.")
