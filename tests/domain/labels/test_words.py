"""Words that mean an allergen, typed from the published lists named at each row; each is tried alone."""

import pytest

from service.domain.labels.phrases import phrase_tokens
from service.reference.allergens.vocabulary import vocabulary
from service.reference.files import data_path, read_toml
from service.reference.labels.models import FalseFriendsFile, LabelWordsFile
from tests.domain.labels.label_reading import hard, reading, said, to_check

# Food Allergy Canada's pages and the CFIA list quoted at allergicliving.com, unless named otherwise.
NAMES_OF = {
    "milk": """milk; milk solids; milk powder; milk protein; milk fat; milk derivative; modified milk ingredients;
        butter; butterfat; butter oil; ghee; buttermilk; cream; sour cream; cheese; curds; custard; yogurt; yoghurt;
        kefir; koumiss; quark; paneer; fromage frais; half-and-half; casein; ammonium caseinate; calcium caseinate;
        magnesium caseinate; potassium caseinate; sodium caseinate; rennet casein; hydrolysed casein; whey;
        delactosed whey; demineralized whey; whey protein concentrate; lactalbumin; lactalbumin phosphate; lactoferrin;
        lactoglobulin; lactose; milk protein hydrolysate""",
    # also redsneakers.org
    "egg": """egg; eggs; egg white; egg yolk; albumen; conalbumin; globulin; livetin; lysozyme; ovalbumin; ovoglobulin;
        ovomacroglobulin; ovomucin; ovomucoid; ovotransferrin; ovovitellin; apovitellin; vitellin; silico-albuminate;
        meringue; eggnog; mayonnaise; E1105""",
    # also docslib 4858582; flour by the US standard of identity, 21 CFR 137.105
    "wheat": """wheat bran; wheat germ; wheat starch; wheat gluten; wheat flour; atta; bulgur; bulghur; couscous; durum;
        einkorn; emmer; farro; farina; graham flour; semolina; dinkel; seitan; triticum; matzo; maida; vital gluten;
        cracker meal; enriched flour; plain flour; self-raising flour; white flour; breadcrumbs; rusk; freekeh; flour""",
    # PMC11387680 table II
    "soy": """soy; soya; soybean; edamame; tofu; bean curd; yuba; okara; kinako; miso; natto; tempeh; tamari; shoyu;
        soy lecithin; textured soy protein; soy isolate; soy concentrate""",
    "sesame": """sesame; benne; benniseed; gingelly; sesamol; sesamolina; sesamum; sim sim; tahini; tahina; til;
        gomasio""",
    "peanut": "peanut; groundnut; goober; monkey nuts; pindar; arachis; peanut butter; peanut flour; mandelona",
    "almond": "almond; almonds; marzipan; calisson",
    "hazelnut": "hazelnut; filberts; cobnut; gianduja",
    "walnut": "walnut; black walnuts; English walnut; Persian walnut; heartnut; Japanese walnut",
    "pecan": "pecan; pecans",
    "cashew": "cashew; anacardium",
    "pistachio": "pistachio",
    "brazil_nut": "Brazil nut; Brazil nuts",
    "macadamia": "macadamia; Queensland nut; bush nut",
    "pine_nut": "pine nut; pignoli; pignolia; pinon; piñon; pinyon",
    "tree_nut": "tree nuts; nut butter; nut meal; nut paste; nut meats",
    # FSA's wording of the fourteen, islandfoodsafety.co.uk; species after GS1
    "fish": "fish; fish sauce; surimi; nam pla; isinglass; fish gelatine; hake; haddock; sardines",
    "salmon": "salmon",
    "tuna": "tuna",
    "cod": "cod",
    "anchovy": "anchovy; anchovies",
    "mackerel": "mackerel",
    "fish_roe": "roe; caviar; salmon roe",
    "crustacean": "crayfish; scampi; krill; barnacle",
    "shrimp": "shrimp; prawns; shrimp paste; belacan",
    "crab": "crab",
    "lobster": "lobster",
    "mollusc": "octopus; clam; cockles; scallop; whelk; winkle; snail; escargot",
    "mussel": "mussels",
    "oyster": "oysters; oyster sauce",
    "squid": "squid; calamari",
    "abalone": "abalone",
    "celery": "celery; celery seed; celery salt; celeriac",
    "mustard": "mustard; mustard powder; mustard seeds; mustard flour; mustard oil; Dijon mustard",
    "lupin": "lupin; lupine; lupini; lupin flour; lupin seed",
    # Food Allergy Canada's sulphites page
    "sulphite": """sulphur dioxide; sulfur dioxide; sulphites; sodium bisulfite; potassium metabisulphite; hydrosulphite;
        sodium dithionite; sulphurous acid; sulphiting agents; E220; e 221; E-222; E223; E224; E225; E226; E227; E228;
        INS 220""",
    # Annex II item 1
    "rye": "rye; rye flour",
    "barley": "barley; malt; malt extract; malt flavouring; malt vinegar; pearl barley; malted barley flour; beer",
    "oats": "oats; oatmeal",
    "spelt": "spelt",
    "khorasan": "khorasan wheat",
    "triticale": "triticale",
    "gluten_cereal": "gluten",
    "coconut": "coconut; coconut milk; cream of coconut",
    "chestnut": "chestnuts",
    "shea": "shea butter",
    "buckwheat": "buckwheat",
}

# The same lists' "source unknown" words: never silent, never hard.
OPEN_WORDS = {
    "milk": "margarine; nougat; caramel; chocolate; pudding; non-dairy creamer; natural butter flavour; lactulose",
    "egg": "lecithin; pasta; noodles; quiche; batter; glaze; surimi; nougat; albumin",
    "wheat": """starch; modified starch; modified food starch; hydrolysed vegetable protein; soy sauce; teriyaki sauce;
        dextrin; caramel colour""",
    "barley": "brewer's yeast",
    "soy": """lecithin; E322; textured vegetable protein; vegetable oil; hydrolysed plant protein; vegetable broth;
        vegetable gum; vegetable starch; soybean oil; highly refined soybean oil""",
    "sesame": "halva; hummus",
    "tree_nut": "nougat; pesto; praline",
    "fish": "Worcestershire sauce",
    "celery": "stock cube; soup; seasoning",
    "mustard": "curry; dressing; marinade; spices",
    "sulphite": "dried fruit; wine vinegar; bottled lemon juice; bottled lime juice",
    "crustacean": "crabstick",
}


def listed(table):
    return [(allergen, word.strip()) for allergen, words in table.items() for word in words.split(";")]


@pytest.mark.parametrize(("allergen", "word"), listed(NAMES_OF))
def test_a_name_of_the_allergen_is_found(allergen, word):
    assert allergen in hard(word)
    assert allergen in hard(f"Water, {word.upper()}, salt.")
    assert allergen in hard(f"mix (sugar, {word}), salt")


@pytest.mark.parametrize(("allergen", "word"), listed(OPEN_WORDS))
def test_an_open_word_asks_for_the_label(allergen, word):
    assert allergen in to_check(f"water, {word}, salt")
    assert allergen not in hard(f"water, {word}, salt")


def test_every_check_says_why():
    for _, word in listed(OPEN_WORDS):
        assert all(said(row.reason).endswith(".") for row in reading(word).evidence)


@pytest.mark.parametrize(
    ("text", "allergen"),
    [
        ("cheddar", "milk"), ("mozzarella", "milk"), ("parmesan", "milk"), ("romano", "milk"), ("asiago", "milk"),
        ("gouda", "milk"), ("feta", "milk"), ("ricotta", "milk"), ("provolone", "milk"), ("pecorino", "milk"),
        ("pollock", "fish"), ("tilapia", "fish"), ("hoki", "fish"), ("whiting", "fish"), ("basa", "fish"),
        ("milk chocolate", "milk"), ("white chocolate", "milk"), ("ice cream", "milk"), ("half & half", "milk"),
        ("trigo", "wheat"), ("leche", "milk"), ("œuf", "egg"), ("noisettes", "hazelnut"), ("moutarde", "mustard"),
    ],
)  # fmt: skip
def test_names_of_common_practice(text, allergen):
    # Cheeses, fishes and the French and Spanish of bilingual labels: common practice, no source.
    assert allergen in hard(text)


def test_nuts_with_no_kind_named_flag_the_group_and_leave_peanut_open():
    assert hard("sugar, nuts") == {"tree_nut"}
    assert to_check("sugar, nuts") == {"peanut"}


def test_shellfish_with_no_kind_named_flags_both_groups():
    assert hard("shellfish") == {"crustacean", "mollusc"}


def test_crabstick_is_fish_and_leaves_crustaceans_open():
    assert hard("crabstick") == {"fish"}
    assert "crustacean" in to_check("crabstick")


def test_an_additive_number_counts_only_after_its_class():
    assert hard("dried apricots, preservative (220)") == {"sulphite"}
    assert hard("preservatives (202, 223)") == {"sulphite"}
    assert "sulphite" not in everything_of("sodium 220 mg a serving")
    assert {"soy", "egg"} <= to_check("emulsifier (322)")


def everything_of(text):
    return {row.allergen for row in reading(text).evidence}


def test_lecithin_with_its_source_in_brackets_is_answered():
    assert hard("lecithin (soy)") == {"soy"}
    assert to_check("lecithin (soy)") == set()
    assert everything_of("lecithin (sunflower)") == set()
    assert everything_of("sunflower lecithin") == set()


def test_starch_with_its_source_named_is_answered():
    assert "wheat" not in everything_of("modified food starch (corn)")
    assert "wheat" not in everything_of("modified corn starch, potato starch, tapioca starch")
    assert hard("modified food starch (wheat)") == {"wheat"}
    assert "wheat" in to_check("modified food starch (to thicken)")


def test_chocolate_whose_ingredients_are_listed_is_answered_by_them():
    assert "milk" not in everything_of("dark chocolate (sugar, cocoa mass, cocoa butter)")
    assert hard("dark chocolate (sugar, cocoa mass, milk fat)") == {"milk"}
    assert "milk" in to_check("chocolate (processed with alkali)")


class TestSoybeanOil:
    """Highly refined oil is exempt in the US and EU (Annex II item 6), so oil alone asks, all else is soy."""

    @pytest.mark.parametrize(
        "text",
        [
            "soybean oil",
            "hydrogenated soybean oil",
            "soybean and palm oil",
            "soybean and/or canola oil",
            "soybean, corn and cottonseed oil",
            "vegetable oil (corn, canola and/or soybean)",
            "vegetable oils [palm, soybean]",
            "vegetable oil (contains one or more of the following: corn, soybean, sunflower)",
            "shortening (partially hydrogenated soybean and cottonseed oils)",
            "vegetable oil blend (soybean, palm)",
            "palm oil, soy oil",
        ],
    )
    def test_oil_asks(self, text):
        assert "soy" in to_check(text)
        assert "soy" not in hard(text)

    @pytest.mark.parametrize(
        "text",
        [
            "soy",
            "soybeans",
            "soybeans, palm oil",
            "wheat, soy, palm oil",
            "soy protein, sunflower oil",
            "vegetable oil (palm), soy",
            "vegetable broth (contains soy)",
            "vegetable oil (soybean), soy lecithin",
            "cold pressed soybean oil",
            "hydrolyzed soy and corn protein",
            "Contains: soybean",
        ],
    )
    def test_everything_else_is_soy(self, text):
        assert "soy" in hard(text)


class TestFlour:
    """Flour with no grain named is wheat flour by the US standard of identity, 21 CFR 137.105."""

    @pytest.mark.parametrize(
        "text",
        ["flour", "sugar, flour, eggs", "organic flour", "enriched bleached flour", "flour (flour, niacin, iron)"],
    )
    def test_flour_is_wheat(self, text):
        assert "wheat" in hard(text)

    @pytest.mark.parametrize(
        "text",
        [
            "rice flour",
            "brown and white rice flour",
            "rice, tapioca and potato flour",
            "chickpea flour",
            "almond flour",
            "corn flour",
            "buckwheat flour",
            "oat flour",
        ],
    )
    def test_another_grain_is_not(self, text):
        assert "wheat" not in everything_of(text)

    def test_an_unknown_word_before_flour_asks(self):
        assert "wheat" in to_check("amber flour")
        assert "wheat" not in hard("amber flour")
        assert "wheat" in to_check("bean (garbanzo) flour")
        assert "wheat" not in hard("bean (garbanzo) flour")

    def test_brackets_that_name_other_grains_ask(self):
        assert "wheat" not in hard("flour blend (rice flour, potato starch)")
        assert "wheat" not in hard("breadcrumbs (rice flour, sugar)")
        assert "wheat" in hard("breadcrumbs (wheat flour, salt)")


class TestStandardsOfIdentity:
    """21 CFR 136.110: bread and buns are baked from (wheat) flour; 139.110: macaroni and spaghetti are made
    from semolina, durum flour, farina or flour; 139.150: noodles from these with egg."""

    @pytest.mark.parametrize(
        "text",
        [
            "bread",
            "sugar, bread, salt",
            "white bread",
            "buns",
            "macaroni",
            "spaghetti",
            "enriched macaroni product",
            "egg noodles",
        ],
    )
    def test_the_bare_name_is_wheat(self, text):
        assert "wheat" in hard(text)

    def test_egg_noodles_are_egg_too(self):
        assert hard("enriched egg noodles") == {"wheat", "egg"}

    @pytest.mark.parametrize(
        "text", ["rye bread", "macaroni (rice flour, water)", "bread (water, tapioca starch, rice flour)"]
    )
    def test_another_grain_named_asks(self, text):
        assert "wheat" not in hard(text)
        assert "wheat" in to_check(text)


def test_triticale_is_a_cross_of_wheat_and_rye():
    assert hard("triticale") == {"triticale", "rye"}


def test_the_ingredients_after_a_heading_answer_it():
    assert to_check("icing: sugar, water, palm oil") == set()
    assert to_check("chocolate (55%) (sugar, cocoa mass, cocoa butter)") == set()
    assert "milk" in to_check("icing: contains sugar")


def test_a_longer_phrase_of_the_word_table_hides_nothing_its_words_mean():
    """What must be hidden is written as a false friend; everything else is told, at one tier or another."""
    names = vocabulary()
    hiding = {
        phrase_tokens(f"{before} {words}")
        for row in read_toml(data_path("allergens/false_friends.toml"), FalseFriendsFile).false_friend
        for before in (row.before or ("",))
        for words in row.words
    }
    tried = 0
    for row in read_toml(data_path("allergens/label_words.toml"), LabelWordsFile).words:
        for phrase in row.words:
            words = phrase.split()
            cuts = [words[one:other] for one in range(len(words)) for other in range(one + 2, len(words) + 1)]
            if len(words) < 2 or any(phrase_tokens(" ".join(cut)) in hiding for cut in cuts):
                continue
            told = everything_of(phrase)
            told |= {other for one in told for other in names.members_of(one) | names.groups_of(one)}
            assert all(everything_of(word) <= told for word in words), phrase
            tried += 1
    assert tried > 1000
