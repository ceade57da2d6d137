"""Phrases that must not be taken for an allergen, after the charities' and label lists named below."""

import pytest

from service.reference.files import data_path, read_toml
from service.reference.labels.models import FalseFriendsFile
from tests.domain.labels.label_reading import everything, hard, reading, to_check

# (phrase, not this, but this): blog lists of charities, FARE blog of December 2020, allergies-alimentaires.org,
# FDA 2025, Annex II; the rest common practice, no source.
FALSE_FRIENDS = [
    ("coconut milk", "milk", "coconut"),
    ("coconut cream", "milk", "coconut"),
    ("coconut butter", "milk", "coconut"),
    ("cream of coconut", "milk", "coconut"),
    ("cocoa butter", "milk", None),
    ("shea butter", "milk", "shea"),
    ("apple butter", "milk", "apple"),
    ("mango butter", "milk", None),
    ("peanut butter", "milk", "peanut"),
    ("almond butter", "milk", "almond"),
    ("cashew butter", "milk", "cashew"),
    ("nut butter", "milk", "tree_nut"),
    ("sunflower seed butter", "milk", None),
    ("oat milk", "milk", "oats"),
    ("soy milk", "milk", "soy"),
    ("almond milk", "milk", "almond"),
    ("rice milk", "milk", None),
    ("hemp milk", "milk", None),
    ("pea milk", "milk", None),
    ("almondmilk", "milk", "almond"),
    ("butter beans", "milk", None),
    ("butterhead lettuce", "milk", None),
    ("butter lettuce", "milk", None),
    ("butternut squash", "milk", None),
    ("butternut squash", "tree_nut", None),
    ("cream of tartar", "milk", None),
    ("cream soda", "milk", None),
    ("cream crackers", "milk", "wheat"),
    ("lactic acid", "milk", None),
    ("lactic acid (E270)", "milk", None),
    ("calcium lactate", "milk", None),
    ("sodium lactate (E325)", "milk", None),
    ("sodium stearoyl lactylate", "milk", None),
    ("Lactobacillus acidophilus", "milk", None),
    ("L. casei", "milk", None),
    ("milk thistle extract", "milk", None),
    ("milkfish", "milk", "fish"),
    ("milk of magnesia", "milk", None),
    ("bean curd", "milk", "soy"),
    ("eggplant", "egg", None),
    ("eggfruit", "egg", None),
    ("veggie sticks", "egg", None),
    ("egg replacer", "egg", None),
    ("buckwheat", "wheat", "buckwheat"),
    ("glucose syrup, dextrose, maltodextrin", "gluten_cereal", None),
    ("glutinous rice", "gluten_cereal", None),
    ("monosodium glutamate", "gluten_cereal", None),
    ("corn gluten", "gluten_cereal", None),
    ("corn gluten", "wheat", None),
    ("maltose", "barley", None),
    ("maltitol", "barley", None),
    ("maltol", "barley", None),
    ("isomalt", "barley", None),
    ("rice malt", "barley", None),
    ("quinoa, amaranth, millet, teff, sorghum, tapioca", "wheat", None),
    ("maize semolina", "wheat", None),
    ("corn couscous", "wheat", None),
    ("nutmeg", "tree_nut", None),
    ("doughnut", "tree_nut", None),
    ("coconut", "tree_nut", "coconut"),
    ("water chestnuts", "tree_nut", None),
    ("water chestnuts", "chestnut", None),
    ("chestnut mushrooms", "chestnut", None),
    ("lychee nuts", "tree_nut", None),
    ("tiger nut milk", "tree_nut", None),
    ("scallop potatoes", "mollusc", None),
    ("head cheese", "milk", None),
    ("cream of wheat", "milk", "wheat"),
    ("licorice root extract", "wheat", None),
    ("Lactobacillus bulgaricus", "wheat", None),
    ("pectin", "mollusc", None),
    ("tiger nuts", "tree_nut", None),
    ("nutritional yeast", "tree_nut", None),
    ("yeast nutrients", "tree_nut", None),
    ("chestnut", "tree_nut", "chestnut"),
    ("soy nuts", "tree_nut", "soy"),
    ("soy nuts", "peanut", "soy"),
    ("hickory smoke flavor", "tree_nut", None),
    ("pineapple, peach, pea, pear", "pine_nut", None),
    ("pineapple, peach, pea, pear", "peanut", None),
    ("pecorino", "pecan", "milk"),
    ("magnesium sulphate", "sulphite", None),
    ("calcium sulfate", "sulphite", None),
    ("crab apple", "crab", None),
    ("oyster mushrooms", "oyster", None),
    ("oyster plant", "oyster", None),
    ("goldfish, selfish, starfish, jellyfish", "fish", None),
    ("fryer", "rye", None),
    ("goat", "oats", None),
    ("until golden", "sesame", None),
    ("orange peel", "fish", None),
    ("shake", "fish", None),
    ("lingonberry", "fish", None),
    ("creamy", "milk", None),
    ("annatto", "soy", None),
    ("chickpea miso", "soy", None),
]


@pytest.mark.parametrize(("phrase", "not_this", "but_this"), FALSE_FRIENDS)
def test_a_false_friend_is_not_the_allergen(phrase, not_this, but_this):
    for text in (phrase, f"WATER, {phrase.upper()}, SALT."):
        assert not_this not in everything(text)
        if but_this is not None:
            assert but_this in hard(text)


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("coconut milk powder (contains sodium caseinate)", {"coconut", "milk"}),
        ("cocoa butter, milk", {"milk"}),
        ("coconut, milk", {"coconut", "milk"}),
        ("peanut butter (peanuts, butter)", {"peanut", "milk"}),
        ("eggplant, egg", {"egg"}),
        ("nutmeg, nuts", {"tree_nut"}),
        ("butternut squash, butter", {"milk"}),
        ("buckwheat flour, wheat flour", {"buckwheat", "wheat"}),
        ("rice malt, barley malt", {"barley"}),
        ("non-dairy creamer (contains sodium caseinate)", {"milk"}),
        ("lactic acid (from milk)", {"milk"}),
        ("almond milk chocolate", {"almond", "milk"}),
        ("oyster mushrooms, oyster sauce", {"oyster"}),
    ],
)
def test_only_the_words_of_the_false_friend_are_taken_out(text, found):
    assert hard(text) == found


@pytest.mark.parametrize(
    ("one", "other"),
    [("custard", "mustard"), ("parsley", "barley"), ("rice", "rye"), ("whey", "wheat"), ("salt", "malt")],
)
def test_words_close_to_each_other_stay_apart(one, other):
    assert not hard(one) & hard(other)


def test_butterscotch_wheatgrass_and_starter_culture_ask():
    assert "milk" in to_check("butterscotch")
    assert "wheat" in to_check("wheatgrass powder")
    assert "milk" in to_check("lactic acid starter culture")


def test_flavours_and_imitations_ask():
    for text in ("natural butter flavor", "cheddar cheese flavor", "artificial butter flavour", "milk replacer"):
        assert hard(text) == set()
        assert "milk" in to_check(text)
    assert hard("artificial almond flavor") == set()
    assert hard("cashew cheese") == {"cashew"}
    assert "milk" in to_check("cashew cheese")


def test_a_false_friend_in_a_statement_of_allergens_asks():
    assert "milk" in reading(None, contains="coconut milk soy").check_label
    assert "milk" not in reading("coconut milk, soy").check_label


@pytest.mark.parametrize(
    ("claim", "allergen"),
    [
        ("lactose-free milk", "milk"),
        ("hormone free milk", "milk"),
        ("gluten-free wheat starch", "wheat"),
        ("gluten free oats", "oats"),
        ("wheat free rye bread", "rye"),
    ],
)
def test_a_claim_clears_nothing(claim, allergen):
    assert allergen in hard(claim)


@pytest.mark.parametrize(
    ("claim", "allergen"),
    [
        ("vegan cheese", "milk"),
        ("plant-based butter", "milk"),
        ("dairy-free cream cheese", "milk"),
        ("vegan mayo", "egg"),
        ("egg-free mayonnaise", "egg"),
        ("eggless omelette", "egg"),
        ("plant based tuna", "fish"),
        ("gluten free bread", "wheat"),
        ("gluten-free flour", "wheat"),
    ],
)
def test_a_claim_about_a_food_named_after_an_allergen_asks(claim, allergen):
    assert allergen not in hard(claim)
    assert allergen in to_check(claim)
    assert allergen in hard(f"{claim}, milk, egg, wheat, fish")


# Usual recipes hold wheat flour; only parts of the plant named are none. Common practice, no source.
@pytest.mark.parametrize(
    "grain", ["rye", "corn", "potato", "oat", "barley", "rice", "banana", "lentil", "chickpea", "quinoa"]
)
@pytest.mark.parametrize(
    "food",
    [
        "bread",
        "cake",
        "breading",
        "crumb",
        "cracker",
        "tortilla",
        "cereal",
        "pasta",
        "spaghetti",
        "macaroni",
        "bun",
        "breadcrumbs",
        "panko",
        "bagel",
        "muffin",
    ],
)
def test_a_grain_word_before_a_baked_food_clears_no_wheat(grain, food):
    if (grain, food) != ("rice", "cake"):  # puffed rice
        assert "wheat" in to_check(f"{grain} {food}")
        assert "wheat" not in hard(f"{grain} {food}")


@pytest.mark.parametrize("grain", ["corn", "potato", "rice", "oat", "barley", "rye", "tapioca", "lentil"])
@pytest.mark.parametrize("part", ["starch", "bran", "grits", "dextrin", "flour"])
def test_a_part_of_another_plant_is_no_wheat(grain, part):
    assert "wheat" not in everything(f"{grain} {part}")


@pytest.mark.parametrize("food", ["rice noodles", "rice vermicelli", "rice paper", "rice cakes", "glass noodles"])
def test_foods_of_rice_and_starch_are_no_wheat(food):
    assert everything(food) == set()


@pytest.mark.parametrize(
    ("phrase", "found"),
    [
        ("mustard bran", {"mustard"}),
        ("oat bran", {"oats"}),
        ("soy glaze", {"soy"}),
        ("fish gelatin", {"fish", "gelatin"}),
        ("frozen custard", {"milk"}),
        ("ice cream sandwich", {"milk"}),
        ("soba noodles", {"buckwheat"}),
        ("crab cakes", {"crab"}),
        ("malted wheat flour", {"wheat"}),
        ("beurre de karité", {"shea"}),
    ],
)
def test_a_phrase_hides_only_what_it_looks_like(phrase, found):
    assert hard(phrase) == found


@pytest.mark.parametrize("sap", ["coconut sugar", "coconut palm sugar", "coconut nectar", "coconut vinegar"])
def test_the_sap_of_the_coconut_palm_asks(sap):
    assert hard(sap) == set()
    assert to_check(sap) == {"coconut"}


def test_cream_in_brackets_of_sugar_and_fat_is_a_filling():
    assert "milk" not in hard("cream (78%) [vegetable oil, sugar, corn starch]")
    assert "milk" in to_check("cream (sugar, palm oil, cocoa)")
    assert "milk" in hard("cream (cream, carrageenan)")
    assert "milk" in hard("cream, sugar")


class TestMarkUp:
    @pytest.mark.parametrize(
        ("text", "found"),
        [
            ("_COCOA_ _BUTTER_", set()),
            ("_PEANUT_ BUTTER", {"peanut"}),
            ("**peanut** **butter**", {"peanut"}),
            ("<strong>almond</strong> milk", {"almond"}),
            ("<em class='a'>oat</em> <b>milk</b>", {"oats"}),
            ("almond* milk", {"almond"}),
            ("almond\u2020 milk", {"almond"}),
            ("almond² milk", {"almond"}),
            ("half &amp; half", {"milk"}),
            ("cr&egrave;me fra&icirc;che", {"milk"}),
        ],
    )
    def test_marks_part_no_phrase(self, text, found):
        assert hard(text) == found

    @pytest.mark.parametrize(
        ("text", "found"),
        [
            ("**milk**", {"milk"}),
            ("_wheat_ flour, <b>egg</b>", {"wheat", "egg"}),
            ("*coconut *milk *sugar", {"coconut", "milk"}),
            ("<li>coconut</li><li>milk</li>", {"coconut", "milk"}),
            ("coconut<br>milk", {"coconut", "milk"}),
            ("almonds <2% milk", {"almond", "milk"}),
            ("E220²", {"sulphite"}),
        ],
    )
    def test_marks_hide_nothing(self, text, found):
        assert hard(text) == found

    def test_places_are_those_of_the_text_with_its_marks(self):
        text = "<p>Cr&egrave;me fra&icirc;che, <b>egg</b> whites</p>"
        found = [(row.words, text[row.start : row.end]) for row in reading(text).evidence]
        assert found == [("Cr&egrave;me fra&icirc;che",) * 2, ("egg</b> whites",) * 2]


@pytest.mark.parametrize(
    ("text", "hidden"),
    [
        ("Arroz, noz moscada, sal", {"walnut", "tree_nut"}),
        ("Riso, noce moscata, sale", {"walnut", "tree_nut"}),
        ("Leite de coco, arroz, sal", {"milk"}),
        ("Latte di cocco, riso, sale", {"milk"}),
        ("Mleko kokosowe, ryż, sól", {"milk"}),
        ("Manteiga de cacau, arroz, sal", {"milk"}),
        ("Burro di cacao, riso, sale", {"milk"}),
        ("Trigo sarraceno, arroz, sal", {"wheat"}),
        ("Grano saraceno, riso, sale", {"wheat"}),
        ("Arroz, goma xantana, sal", {"sesame"}),
        ("Rice, chana, salt", {"milk"}),
        ("Beef for stew, salt, pepper", {"wheat", "milk", "celery"}),
    ],
)
def test_a_food_that_looks_like_an_allergen_in_another_language_is_none(text, hidden):
    assert not hidden & everything(text)


@pytest.mark.parametrize(
    ("text", "allergen"),
    [
        ("Latte di mandorla, riso, sale", "almond"),
        ("Manteiga de amendoim, arroz, sal", "peanut"),
        ("Leite de coco, leite, sal", "milk"),
        ("Trigo sarraceno, trigo, sal", "wheat"),
    ],
)
def test_and_what_it_is_made_of_still_counts(text, allergen):
    assert allergen in hard(text)


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("nuez de macadamia, sal", {"macadamia"}),
        ("nueces pecanas", {"pecan"}),
        ("nuez de Brasil", {"brazil_nut"}),
        ("noci pecan, sale", {"pecan"}),
        ("mantequilla de cacahuete, sal", {"peanut"}),
        ("mantequilla de almendra", {"almond"}),
        ("beurre de cacahuètes, sel", {"peanut"}),
        ("beurre d'amandes", {"almond"}),
        ("farina di ceci, acqua", set()),
        ("harina de garbanzo, agua", set()),
        # What is beside it still counts.
        ("mantequilla de maní (cacahuete, mantequilla)", {"milk", "peanut"}),
        ("nuez, nuez pecana", {"walnut", "tree_nut", "pecan"}),
        ("farina di ceci, farina di grano", {"wheat"}),
    ],
)
def test_a_nut_a_nut_butter_and_a_flour_of_another_language_are_what_they_say(text, found):
    """Each was walnut, milk or wheat as well. Names of foods: common practice, no source."""
    assert hard(text) == found
    assert not to_check(text)


NUTS = {"almond", "cashew", "hazelnut", "pecan", "pistachio", "brazil_nut", "macadamia", "pine_nut"}
"""The tree nuts of Regulation (EU) No 1169/2011, Annex II, item 8, but for the walnut, and the pine nut."""
A_NUT = {"noci", "noce", "nuez", "nueces", "noix", "noz", "nozes"}


def test_no_phrase_that_is_not_walnut_hides_the_nut_that_it_is():
    """ "Noci di macadamia" and "nuez de pecán" named no nut at all."""
    phrases = {
        phrase
        for row in read_toml(data_path("allergens/false_friends.toml"), FalseFriendsFile).false_friend
        for phrase in row.words
        if phrase.split()[0] in A_NUT
    }
    named = {phrase: set().union(*(hard(word) & NUTS for word in phrase.split())) for phrase in phrases}
    assert any(named.values())
    for phrase, nuts in named.items():
        assert nuts <= hard(phrase), phrase


@pytest.mark.parametrize(
    ("text", "hidden"),
    [
        ("Noce di cocco, sale", {"walnut", "tree_nut"}),
        ("Noix de Saint-Jacques, sel", {"walnut", "tree_nut"}),
        ("Lait d'amande, sel", {"milk"}),
        ("Leche de almendras, sal", {"milk"}),
        ("Mleczko kokosowe, sól", {"milk"}),
        ("Farine de seigle, sel", {"wheat"}),
        ("Mąka żytnia, sól", {"wheat"}),
        ("Lecitina di soia, sale", {"egg"}),
        ("Kartoffeln, Salz. Nährwerte je 100 g: Fett 33 g, Eiweiß 6 g, Salz 1 g", {"egg"}),
        ("Ziemniaki, sól. Wartość odżywcza: tłuszcz 33 g, białko 6,5 g", {"egg"}),
        ("Carbohydrate 36g Protein 8g Salt 0.9g Ingredients: Rice, salt", {"egg"}),
        ("Emulgator: Lecithine (Sonnenblumen), Reis", {"soy", "egg"}),
        ("Stärke (Mais), Salz", {"wheat"}),
        ("Glutenfrei, laktosefrei. Reis, Salz", {"wheat", "gluten_cereal", "milk"}),
        ("Ris, salt. Glutenfri", {"wheat", "gluten_cereal"}),
        ("Cacahuètes grillées, sel", {"squid"}),
    ],
)
def test_words_of_other_languages_raise_nothing_that_they_do_not_mean(text, hidden):
    """Each was declared or asked for. Common practice, no source."""
    assert not hidden & everything(text)


def test_the_white_of_an_egg_is_still_egg_in_german():
    """Common practice, no source."""
    assert "egg" in hard("Zucker, Eiweiß, Salz")
    assert "egg" in hard("Eiweiß 6 %, Zucker")
    assert {"egg", "milk", "soy"} <= everything("Eiweißpulver, Kakao")


def test_a_claim_that_is_denied_is_read():
    assert "gluten_cereal" in to_check("Reis, Salz. Nicht glutenfrei.")


@pytest.mark.parametrize("text", ["Tomatoes, PINE KER-\nNELS, oil", "Tomatoes, pine ker-\nnels, oil"])
def test_a_word_that_a_line_cuts_is_read_within_a_phrase(text):
    assert "pine_nut" in hard(text)
