"""What warns and what denies: in doubt nothing is denied, and nobody is told less than the label says."""

import pytest

from tests.domain.labels.label_reading import everything, hard, reading, to_check, warned


@pytest.mark.parametrize(
    ("text", "allergen"),
    [
        ("We cannot guarantee that this product is nut free.", "tree_nut"),
        ("Cannot be guaranteed peanut-free.", "peanut"),
        ("This product is not nut free.", "tree_nut"),
        ("Not suitable for a nut-free diet.", "tree_nut"),
        ("This is not a dairy-free product.", "milk"),
        ("Unsuitable for people with peanut allergy.", "peanut"),
        ("Possible traces: milk.", "milk"),
        ("Peanuts and tree nuts are handled in the same facility.", "peanut"),
        ("Milk may be present.", "milk"),
        ("May be present: milk.", "milk"),
        ("Milk may be present:", "milk"),
        ("No milk is used, traces may occur:", "milk"),
        ("Packed in an environment where peanuts are used.", "peanut"),
        ("Kann Spuren von Milch enthalten.", "milk"),
        ("Peut contenir des traces de lait.", "milk"),
        ("May contain: cereals containing gluten.", "gluten_cereal"),
        ("Nut-free status cannot be guaranteed.", "tree_nut"),
        ("The absence of peanut traces cannot be guaranteed.", "peanut"),
        ("We make no claim that this is egg-free.", "egg"),
        ("Contains no milk, but we cannot guarantee the absence of milk.", "milk"),
        ("Trace: nuts, milk.", "milk"),
        ("Warning: peanuts processed in this plant.", "peanut"),
        ("Packed on the same line as milk.", "milk"),
        ("This line was previously used to make products containing nuts.", "tree_nut"),
        ("It may occasionally contain nuts.", "tree_nut"),
        ("Handled alongside nuts.", "tree_nut"),
        ("Prepared near sesame.", "sesame"),
        ("Packed where milk is used.", "milk"),
        ("No nuts, but made where nuts are handled.", "tree_nut"),
        ("We handle nuts in our bakery.", "tree_nut"),
        ("We also bake with walnuts on this site.", "walnut"),
        ("Présence possible de soja.", "soy"),
        ("Fabriqué sur une ligne utilisant du lait.", "milk"),
    ],
)
def test_a_warning_is_a_warning(text, allergen):
    assert allergen in warned(f"Rice, salt. {text}")
    assert allergen not in hard(f"Rice, salt. {text}")


@pytest.mark.parametrize(
    ("text", "allergens"),
    [
        ("No artificial flavors or colors, milk, eggs, wheat.", {"milk", "egg", "wheat"}),
        ("Free from preservatives and artificial colours, milk, egg", {"milk", "egg"}),
        ("Made in our kitchen with milk, eggs and flour", {"milk", "egg", "wheat"}),
        ("Cod may contain small bones, milk, flour", {"cod", "milk", "wheat"}),
        ("Rice, may contain nuts, milk, wheat flour, sugar", {"milk", "wheat"}),
        ("Rice. Contains: cereals containing gluten, milk.", {"gluten_cereal", "milk"}),
        ("Free from nuts\nmilk\nsugar", {"milk"}),
        ("Milk, gluten free.", {"milk"}),
        ("Contains: milk, egg and nut free.", {"milk"}),
        ("Not roasted, wheat.", {"wheat"}),
        ("No high fructose corn syrup, milk.", {"milk"}),
    ],
)
def test_ingredients_stay_ingredients(text, allergens):
    assert allergens <= hard(text)


@pytest.mark.parametrize(
    "text",
    [
        "Allergy advice: for allergens, including cereals containing gluten, see ingredients in bold.",
        "Ne contient pas de lait.",
        "Suitable for people with nut allergy.",
        "Suitable for coeliacs.",
        "Free from milk, egg and nuts.",
        "No added sugar or milk.",
        "Made in a nut-free facility.",
        "Milk, egg and nut free.",
        "Free from milk egg nuts.",
    ],
)
def test_what_is_denied_or_only_mentioned_raises_nothing(text):
    assert everything(f"Rice, salt. {text}") == set()


def test_not_suitable_for_coeliacs_is_a_warning():
    assert "gluten_cereal" in reading("Rice. Not suitable for coeliacs.").may_contain
    assert "gluten_cereal" in reading("Rice. Advice for coeliacs on the lid.").check_label


def test_what_a_statement_says_is_not_there_is_not_there():
    assert hard("Contains milk not wheat") == hard("Contains milk, not wheat.") == {"milk"}


def test_a_list_that_may_be_denied_or_be_ingredients_is_to_be_checked():
    assert {"milk", "egg"} <= to_check("Milk, egg and nut free rice cakes.")
    assert not hard("Milk, egg and nut free rice cakes.")
    assert "egg" in to_check("Contains: milk, egg and nut free.")


def test_what_may_contain_reaches_in_a_bracket_never_closed_is_to_be_checked():
    found = reading("Ham (pork, salt, may contain: sugar, dextrose, parmesan (milk), soy lecithin, malt")
    assert {"milk", "soy", "barley"} <= found.check_label
    assert not {"milk", "soy", "barley"} & found.contains


@pytest.mark.parametrize(
    "text",
    [
        "Store in a cool dry place. Best before: see lid.",
        "All natural ingredients. No artificial flavours.",
        "Made with love in Yorkshire.",
        "Vegan. Gluten free. Kosher.",
        "Product of USA. Keep refrigerated.",
        "Contains no allergens",
    ],
)
def test_what_names_no_food_is_no_list_of_ingredients(text):
    assert not reading(text).readable


def test_a_warning_alone_is_no_list_of_ingredients():
    assert not reading("May contain nuts.").readable
    assert reading("Nuts").readable


@pytest.mark.parametrize(
    "text",
    [
        "Not made in a nut-free facility.",
        "This product is neither nut free nor dairy free.",
        "No product from our bakery can be guaranteed nut free.",
        "None of our products are nut free.",
        "It is impossible to guarantee that this product is free from nuts.",
        "While our recipes are nut free, our kitchen is not.",
        "We aren't a nut-free bakery.",
        "This may not be suitable for nut allergy sufferers.",
        "Nut free: no.",
        "Our kitchen handles nuts.",
        "People with nut allergies should avoid this product.",
    ],
)
def test_a_sentence_that_says_not_turns_free_from_round(text):
    assert "tree_nut" in warned(f"Rice, salt. {text}")
    assert "tree_nut" not in hard(f"Rice, salt. {text}")


@pytest.mark.parametrize(
    "text", ["Does not contain milk, nut free.", "Not fried. Nut free.", "Contains no milk and is nut free."]
)
def test_a_sentence_that_only_denies_stays_a_denial(text):
    assert "tree_nut" not in everything(f"Rice, salt. {text}")


@pytest.mark.parametrize(
    "text",
    [
        "Contains: milk",
        "Contains: milk, egg. May contain nuts.",
        "Energy 1500 kJ, fat 10 g, protein 5 g, salt 0.5 g",
        "Suitable for vegans and coeliacs",
        "Woda, сахар, sól",
    ],
)
def test_these_are_no_list_of_ingredients_either(text):
    assert not reading(text).readable


def test_a_declaration_beside_a_list_is_read_with_it():
    assert reading("Contains milk. Sugar, cream.").readable
    assert reading("Contains: wheat flour, sugar, butter").readable


@pytest.mark.parametrize(
    ("text", "allergens"),
    [
        ("Reis, Salz. Hergestellt in einem Betrieb, der auch Milch und Soja verarbeitet.", "milk soy"),
        ("Riz, sel. Fabriqué sur une ligne qui utilise aussi du lait et des œufs.", "milk egg"),
        ("Arroz, sal. Producido en una planta donde también se utilizan leche y soja.", "milk soy"),
        ("Riso, sale. Prodotto in un laboratorio che utilizza anche latte e uova.", "milk egg"),
        ("Rijst, zout. Gemaakt in een bakkerij waar ook melk en soja worden gebruikt.", "milk soy"),
        ("Arroz, sal. Embalado numa unidade que também utiliza leite e soja.", "milk soy"),
        ("Ryż, sól. Pakowano na linii, gdzie przetwarza się mleko i soję.", "milk soy"),
        ("Ris, salt. Packad i en fabrik som även använder mjölk och soja.", "milk soy"),
        ("Ris, salt. Pakket på en fabrik, der også bruger mælk og soja.", "milk soy"),
        ("米、食塩。本製品の製造工場では、卵、えびを含む製品を生産しています。", "egg shrimp"),
        ("Seaweed. Harvested from waters where crustaceans live.", "crustacean"),
    ],
)
def test_a_warning_of_where_it_was_made_is_one_in_any_language(text, allergens):
    assert set(allergens.split()) <= warned(text)
    assert not set(allergens.split()) & hard(text)


def test_a_japanese_sentence_ends_its_warning():
    assert "egg" in hard("工場では、えびを使用。卵、米、食塩")


@pytest.mark.parametrize(
    "text",
    [
        "Sans lait ni œuf. Riz, sucre",
        "Ohne Milch oder Ei. Reis, Zucker",
        "Sin leche ni huevo. Arroz, azúcar",
        "Senza latte né uova. Riso, zucchero",
        "Bez mleka lub jaj. Ryż, cukier",
    ],
)
def test_a_denial_goes_on_after_or_and_nor(text):
    assert not {"milk", "egg"} & everything(text)


def test_and_after_a_denial_in_another_language_may_begin_the_ingredients():
    assert "milk" in hard("Pasta sin gluten y queso")
    assert "milk" in hard("Pommes sans peau ni pépins, beurre")
    assert "milk" in hard("Kartoffeln ohne Schale oder mit Schale, Butter")


@pytest.mark.parametrize(
    ("text", "of_the_place", "of_the_food"),
    [
        ("Rice, salt. We also make nut bars, butter, salt", "tree_nut", "milk"),
        ("Packed where nuts are handled, almonds, milk, wheat", "tree_nut", "milk wheat"),
        ("Sugar, packed where nuts are handled, milk powder, salt", "tree_nut", "milk"),
        ("Packed in a plant that handles sesame, oats, honey, butter", "sesame", "oats milk"),
        ("May contain nuts: sugar, butter, wheat flour, eggs", "tree_nut", "milk wheat egg"),
        ("May contain sesame - rice, soya beans, salt", "sesame", "soy"),
        ("May contain nuts\nSugar\nMilk\nSalt", "tree_nut", "milk"),
        ("May contain traces of peanut\nIngredients\nSugar\nMilk\nEgg", "peanut", "milk egg"),
        ("Kann Spuren von Nüssen enthalten, Zucker, Milchpulver, Salz", "tree_nut", "milk"),
        ("Peut contenir des traces de lait : sucre, œufs, farine de blé", "milk", "egg wheat"),
        ("Made by hand in a dairy: cream, sugar, egg yolk", "", "milk egg"),
    ],
)
def test_a_list_that_runs_on_from_a_warning_is_of_the_food(text, of_the_place, of_the_food):
    assert set(of_the_food.split()) <= hard(text)
    assert set(of_the_place.split()) <= warned(text)


@pytest.mark.parametrize(
    ("text", "allergens"),
    [
        ("Produced in a factory that handles milk, egg, soya, nuts, seeds and fruit.", "milk egg soy tree_nut"),
        ("We also make nut bars, butter biscuits, egg wraps.", "tree_nut milk egg"),
        ("May contain one or more of the following: sugar, milk, soya.", "milk soy"),
        ("May contain:\nnuts\nmilk\nsesame", "tree_nut milk sesame"),
        ("Although no nuts are used, traces may occur", "tree_nut"),
        ("Egg: may contain. Milk: may contain.", "egg milk"),
        ("Also handles: lupin, molluscs", "lupin mollusc"),
        ("If you have a fish allergy ask us first", "fish"),
    ],
)
def test_a_sentence_about_the_place_alone_warns(text, allergens):
    assert set(allergens.split()) <= warned(f"Rice, salt. {text}")
    assert set(allergens.split()).isdisjoint(hard(f"Rice, salt. {text}"))


def test_a_warning_of_all_allergens_clears_none():
    assert {"milk", "peanut", "lupin", "sulphite"} <= to_check("Our kitchen handles all 14 allergens. Rice, salt")


def test_each_row_of_a_table_speaks_of_its_own_name():
    assert warned("Sesame: may contain; nuts: contains") == {"sesame"}
    assert "tree_nut" in hard("Sesame: may contain; nuts: contains")


@pytest.mark.parametrize(
    ("text", "allergen"),
    [
        ("Reis. In unserem Betrieb werden auch Nüsse verarbeitet.", "tree_nut"),
        ("Reis. In der Produktion werden auch Erdnüsse, Milch und Soja verarbeitet.", "soy"),
        ("Reis. Es werden auch Eier verarbeitet.", "egg"),
        ("Arroz. Elaborado en equipos que procesan maní.", "peanut"),
        ("Arroz. Fabricado en línea que procesa soya.", "soy"),
        ("Riso. Lavorato in uno stabilimento che utilizza arachidi", "peanut"),
        ("Rijst. In het bedrijf worden ook noten verwerkt.", "tree_nut"),
        ("Arroz. Produzido em equipamento que processa amendoim.", "peanut"),
        ("Ris. Produceras i en anläggning där jordnötter hanteras.", "peanut"),
        ("Ris. Produceret på samme anlæg som jordnødder.", "peanut"),
    ],
)
def test_what_else_is_made_at_a_place_is_a_warning_in_each_language(text, allergen):
    """Each was read as an ingredient. Wordings of packets: common practice, no source."""
    assert allergen in warned(text)
    assert allergen not in hard(text)


@pytest.mark.parametrize(
    "text",
    [
        "Frei von Milch, Ei und Soja. Reis",
        "Ris. Fri från mjölk, ägg och soja.",
        "Libre de leche, huevo y soja. Arroz",
        "Reis, Salz. Ohne Zusatz von Milch und Ei.",
        "Riz. Ne contient pas d'œuf. Exempt de lait.",
    ],
)
def test_a_list_of_what_is_not_there_is_read_to_its_end_in_each_language(text):
    """Each declared what it says is not in it. Common practice, no source."""
    assert not {"milk", "egg", "soy"} & everything(text)


def test_a_list_of_what_is_not_there_ends_where_more_follows():
    assert "wheat" in hard("Frei von Milch, Ei und Soja, Weizen")
    assert "wheat" in hard("Frei von Milch, Weizen")
    assert "milk" in hard("Sin gluten, leche y huevo")


def test_for_whom_a_food_is_not_is_read_in_german():
    assert "tree_nut" in everything("Reis. Für Nussallergiker nicht geeignet.")
