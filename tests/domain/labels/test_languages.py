"""The allergens of EU law in ten of its languages, the names of Japan's law, and statements that cannot be read.

Source of the allergens: Regulation (EU) No 1169/2011, Annex II; the names in each language are common practice.
"""

import pytest

from service.domain.allergens.screening import Avoidance, screen_food
from service.jobs.foods.from_label import food_of_label
from service.jobs.requests.foods import LabelFood
from service.reference.allergens.vocabulary import vocabulary
from tests.domain.labels.label_reading import hard, reading

FOURTEEN = [
    "gluten_cereal",
    "crustacean",
    "egg",
    "fish",
    "peanut",
    "soy",
    "milk",
    "tree_nut",
    "celery",
    "mustard",
    "sesame",
    "sulphite",
    "lupin",
    "mollusc",
]
ANNEX_II = {
    "English": "gluten, crustaceans, eggs, fish, peanuts, soya, milk, nuts, celery, mustard, sesame, sulphites, lupin, molluscs",
    "French": "gluten, crustacés, œufs, poissons, arachides, soja, lait, fruits à coque, céleri, moutarde, sésame, sulfites, lupin, mollusques",
    "German": "Gluten, Krebstiere, Eier, Fische, Erdnüsse, Soja, Milch, Schalenfrüchte, Sellerie, Senf, Sesam, Sulfite, Lupinen, Weichtiere",
    "Spanish": "gluten, crustáceos, huevos, pescado, cacahuetes, soja, leche, frutos de cáscara, apio, mostaza, sésamo, sulfitos, altramuces, moluscos",
    "Italian": "glutine, crostacei, uova, pesce, arachidi, soia, latte, frutta a guscio, sedano, senape, sesamo, solfiti, lupini, molluschi",
    "Dutch": "gluten, schaaldieren, eieren, vis, aardnoten, soja, melk, noten, selderij, mosterd, sesamzaad, sulfiet, lupine, weekdieren",
    "Portuguese": "glúten, crustáceos, ovos, peixe, amendoins, soja, leite, frutos de casca rija, aipo, mostarda, sésamo, sulfitos, tremoço, moluscos",
    "Polish": "gluten, skorupiaki, jaja, ryby, orzeszki ziemne, soja, mleko, orzechy, seler, gorczyca, sezam, siarczyny, łubin, mięczaki",
    "Swedish": "gluten, kräftdjur, ägg, fisk, jordnötter, soja, mjölk, nötter, selleri, senap, sesamfrön, sulfit, lupin, blötdjur",
    "Danish": "gluten, krebsdyr, æg, fisk, jordnødder, soja, mælk, nødder, selleri, sennep, sesamfrø, sulfitter, lupin, bløddyr",
}  # fmt: skip


@pytest.mark.parametrize("language", ANNEX_II)
def test_the_fourteen_are_found_in_each_language(language):
    for name, allergen in zip(ANNEX_II[language].split(", "), FOURTEEN, strict=True):
        assert allergen in hard(name), name
        assert allergen in hard(f"salt, {name.upper()}, salt"), name


@pytest.mark.parametrize(
    ("text", "allergens"),
    [
        ("Zucker, Weizenvollkornmehl, Buttermilchpulver, Haselnusskerne", {"wheat", "milk", "hazelnut"}),
        ("Cukier, mąka pszenna, masło, orzechy laskowe, jaja w proszku", {"wheat", "milk", "hazelnut", "egg"}),
        ("Socker, vetemjöl, palmolja, helmjölkspulver, mandlar", {"wheat", "milk", "almond"}),
        ("Suiker, tarwebloem, weipoeder, pindakaas", {"wheat", "milk", "peanut"}),
        ("Zucchero, farina di grano tenero, burro, nocciole", {"wheat", "milk", "hazelnut"}),
        ("小麦粉、砂糖、卵、乳成分、落花生", {"wheat", "egg", "milk", "peanut"}),
        ("えび、かに、くるみ、小麦、そば、卵、乳、落花生", {"shrimp", "crab", "walnut", "wheat", "buckwheat", "egg", "milk", "peanut"}),
    ],
)  # fmt: skip
def test_statements_of_the_languages_are_read(text, allergens):
    found = reading(text)
    assert found.readable
    assert allergens <= found.contains


def outcomes(text: str, allergens: list[str], **label: object) -> set[str]:
    sent = {"name": "food", "serving": {"grams": 30}, "facts": {}, "ingredients": text, **label}
    food = food_of_label(LabelFood.model_validate(sent))
    return {screen_food(vocabulary(), food, Avoidance(one, "may_contain")).outcome for one in allergens}


@pytest.mark.parametrize(
    "text",
    [
        "밀가루, 설탕, 우유, 땅콩, 계란",
        "Мука пшеничная, сахар, молоко сухое, яйцо",
        "Buğday unu, şeker, süt tozu, yumurta, fındık",
        "Vehnäjauho, sokeri, maitojauhe, kananmuna, pähkinä",
        "Cukr, mouka pšeničná, sušené mléko, vejce, lískové ořechy",
        "Făină de grâu, zahăr, lapte praf, ouă",
        "N/A",
        "-",
        "unknown",
        "...",
        "100%",
        "See packaging for ingredients.",
        "Does not contain nuts.",
        "Contains: none",
        "Please refer to the label",
        "qwrt zxcvb plmk",
    ],
)
def test_what_cannot_be_read_is_free_of_nothing(text):
    assert "not_declared" not in outcomes(text, FOURTEEN)


@pytest.mark.parametrize(
    "text",
    ["Rice, water, salt.", "RICE, SUGAR, SALT, NATURAL COLOUR (PAPRIKA), 2% VINEGAR", "Carrots", "Apples, vitamin C"],
)
def test_what_can_be_read_and_names_no_allergen_declares_none(text):
    assert outcomes(text, ["milk", "egg", "peanut", "fish"]) == {"not_declared"}


def test_a_statement_of_allergens_that_cannot_be_read_clears_nothing_either():
    assert "not_declared" not in outcomes("Rice, salt", FOURTEEN, contains="молоко, яйцо")


def test_it_is_said_how_much_could_not_be_read():
    found = reading("Rice, salt, мука, сахар, молоко")
    assert (found.unknown_words, found.words, found.readable) == (3, 5, False)


def test_a_warning_of_other_members_of_a_group_is_kept():
    text = "Rice, salt. Contains tree nuts (almonds). May contain other tree nuts."
    assert outcomes(text, ["almond", "tree_nut"]) == {"avoid"}
    assert outcomes(text, ["cashew"]) == {"may_contain"}


def test_a_name_is_read_where_the_ingredients_are_not_listed():
    assert outcomes("Rice", ["sesame", "tree_nut", "cashew"], name="Pesto hummus") == {"check_label"}


@pytest.mark.parametrize("text", ["Leche en polvo, azúcar", "Cebolla en polvo, sal", "Arroz, ajo en polvo"])
def test_powder_in_spanish_is_no_octopus(text):
    assert not {"mollusc", "squid"} & set(reading(text).contains)
    assert "mollusc" in reading("Polvo, azeite, alho").contains


@pytest.mark.parametrize(
    "text", ["harina de maíz, sal", "Mais, Salz", "amidon de maïs", "farina di mais", "amido de milho", "majsstivelse"]
)
def test_maize_is_maize_in_other_languages(text):
    assert "maize" in reading(text).contains
    assert "wheat" not in reading(text).contains


@pytest.mark.parametrize(
    ("names", "allergen"),
    [
        ("brochet, espadon, Hecht, Karpfen, Heilbutt, lenguado, rodaballo, branzino, sogliola, zeebaars, linguado", "fish"),
        ("robalo, sandacz, węgorz, gädda, havtaske, fiskpinnar", "fish"),
        ("écrevisses, homard, Krabben, Languste, bogavante, astice, garnalen, lavagante, krewetki, kräftstjärtar, rejer", "crustacean"),
        ("bulots, seiche, Miesmuscheln, Tintenfisch, berberecho, vongole, inktvis, lulas, ośmiornica, blåmusslor", "mollusc"),
    ],
)  # fmt: skip
def test_what_the_fishmonger_sells_is_found_by_its_name(names, allergen):
    for name in names.split(", "):
        found = set(reading(f"sugar, {name}, salt").contains)
        assert found & {allergen, *vocabulary().members_of(allergen)}, name


def test_a_short_list_with_a_word_that_is_not_known_is_not_read():
    assert not reading("rice, blorpwurzel, apple").readable
    assert reading("rice, blorpwurzel, apple, salt").readable
