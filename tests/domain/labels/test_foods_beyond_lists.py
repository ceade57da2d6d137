"""Fruit, vegetables, pulses, seeds, meat and spices that no law makes every label name, and that some children must not have.

Names of foods in ten languages: common practice, no source. Other names where said: GS1 Web Vocabulary v1.16.
"""

from dataclasses import replace

import pytest

from service.domain.allergens.screening import Avoidance, screen_food
from service.domain.allergens.vocabulary import resolve
from service.domain.foods.food import AllergenProfile, Containment
from service.domain.labels.reader import read_label
from service.reference.allergens.vocabulary import vocabulary
from service.reference.files import data_path, read_toml
from service.reference.foods.catalogue import find_food
from service.reference.foods.generic_foods import generic_foods
from service.reference.foods.lunch_foods import lunch_foods
from service.reference.labels.models import LabelWordsFile
from service.reference.labels.words import label_words

FOODS = sorted(
    {
        allergen
        for row in read_toml(data_path("allergens/label_words_foods.toml"), LabelWordsFile).words
        for allergen in row.allergens
    }
)
BROAD = [one.id for one in vocabulary().allergens.values() if one.broad]


def tiers(text: str) -> dict[str, set[str]]:
    found: dict[str, set[str]] = {}
    for one in read_label(label_words(), text).evidence:
        found.setdefault(one.allergen, set()).add(one.tier)
    return found


def outcome(food: str, allergen: str) -> str:
    found = find_food(food)
    assert found is not None
    return screen_food(vocabulary(), found, Avoidance(allergen, "contains")).outcome


@pytest.mark.parametrize(
    ("allergen", "text"),
    [
        ("apple", "Zutaten: Wasser, Apfelsaft aus Apfelsaftkonzentrat, Zucker"),
        ("apple", "Ingredientes: manzana, azúcar"),
        ("apple", "Ingrediënten: appelmoes, suiker"),
        ("apple", "Ingredienser: æblejuice, vand"),
        ("strawberry", "Ingrédients : sucre, fraises 35 %, gélifiant"),
        ("strawberry", "Zutaten: Zucker, Erdbeerkonzentrat, Wasser"),
        ("pea", "Ingredients: water, pea protein, rapeseed oil"),
        ("pea", "Zutaten: Wasser, Erbsenprotein, Salz"),
        ("pea", "Składniki: woda, białko grochu, sól"),
        ("chickpea", "Ingredienti: farina di ceci, olio, sale"),
        ("lentil", "Ingredientes: lentejas, agua, sal"),
        ("tomato", "Składniki: koncentrat pomidorowy, cukier, sól"),
        ("tomato", "Ingredients: sugar, spirit vinegar, tomato paste, salt"),
        ("carrot", "Ingrediënten: wortel, water, zout"),
        ("garlic", "Zutaten: Salz, Knoblauchgranulat, Zucker"),
        ("onion", "Ingredienser: salt, lökpulver, socker"),
        ("banana", "Ingredientes: plátano, agua, azúcar"),
        ("peach", "Ingrédients : pêches, eau, sucre"),
        ("orange", "Zutaten: Orangensaft, Wasser"),
        ("orange", "Ingrediënten: sinaasappelsap, suiker"),
        ("pork", "Zutaten: Schweinefleisch, Salz, Zucker"),
        ("pork", "Ingrediënten: varkensvlees, zout"),
        ("beef", "Ingrédients : viande de boeuf, sel, eau"),
        ("chicken", "Składniki: mięso z kurczaka, sól, woda"),
        ("sunflower_seed", "Zutaten: Haferflocken, Sonnenblumenkerne, Zucker"),
        ("poppy_seed", "Zutaten: Zucker, Blaumohn, Salz"),
        ("cocoa", "Ingredienti: zucchero, burro di cacao, sale"),
        ("honey", "Ingredientes: miel, azúcar, agua"),
        ("cinnamon", "Ingrediënten: suiker, kaneel, zout"),
        ("mushroom", "Ingredienti: funghi porcini, olio, sale"),
        ("rice", "Ingrédients : farine de riz, sel, eau"),
        ("potato", "Zutaten: Kartoffelstärke, Salz, Wasser"),
    ],
)
def test_a_label_that_names_it_says_so(allergen: str, text: str) -> None:
    assert "contains" in tiers(text)[allergen]


@pytest.mark.parametrize(
    ("allergen", "said"),
    [
        ("kiwi", "chinese gooseberry"),
        ("coriander", "chinese parsley, dhania, cilantro"),
        ("cocoa", "cacao"),
        ("maize", "zea mays"),
        ("pea", "pisum sativum"),
        ("mango", "mangifera"),
        ("sunflower_seed", "helianthus"),
    ],
)
def test_other_names_of_the_published_code_list_are_known(allergen: str, said: str) -> None:
    """Source: GS1 Web Vocabulary v1.16, AllergenTypeCode: genus, species and "also known as"."""
    for name in said.split(", "):
        assert "contains" in tiers(f"water, {name}, salt")[allergen], name


@pytest.mark.parametrize(
    ("text", "open_"),
    [
        ("Ingredients: water, starch, sugar", {"maize", "potato", "rice"}),
        ("Ingredients: sugar, gelatine, water", {"beef", "pork"}),
        ("Ingredients: sausage, water, salt", {"beef", "pork", "chicken"}),
        ("Ingredients: oats, sunflower oil, salt", {"sunflower_seed"}),
    ],
)
def test_what_may_be_made_of_it_is_to_be_asked_about(text: str, open_: set[str]) -> None:
    found = tiers(text)
    assert all(found[one] == {"check_label"} for one in open_)


@pytest.mark.parametrize(
    ("text", "not_there"),
    [
        ("wheat starch, potato starch, water", {"maize", "rice"}),
        ("sweet potato, salt", {"potato"}),
        ("pommes de terre, sel", {"apple"}),
        ("cherry tomatoes, salt", {"cherry"}),
        ("coconut milk, vegetable oil, locust bean gum", {"vegetable", "bean"}),
        ("chicken stock, water", {"beef", "pork"}),
        ("fish gelatine, sugar", {"beef", "pork"}),
        ("sesame seeds, mustard seed, seedless raisins", {"seed", "sunflower_seed"}),
        ("butternut squash, lemon squash", {"peach"}),
        ("frutti di mare, frutos secos", {"fruit"}),
    ],
)
def test_words_that_only_look_like_it_raise_nothing(text: str, not_there: set[str]) -> None:
    assert not set(tiers(text)) & not_there


def test_every_word_means_what_its_row_says_in_a_list_of_ingredients() -> None:
    missed = [
        (allergen, word)
        for row in read_toml(data_path("allergens/label_words_foods.toml"), LabelWordsFile).words
        for word in row.words
        for allergen in row.allergens
        if not tiers(f"sugar, {word}, salt").get(allergen, set()) & {row.tier, "contains"}
    ]
    assert missed == []


class TestAWholeKind:
    """A label that says "fruit" leaves open which: common practice, no source."""

    @pytest.mark.parametrize("kind", BROAD)
    def test_its_members_are_to_be_asked_about_and_the_kind_is_there(self, kind: str) -> None:
        said = Containment("contains", "label_statement", "")
        free = Containment("free", "label_statement", "")
        water = find_food("water")
        assert water is not None
        food = replace(water, id="label", kind="label", allergens=AllergenProfile({kind: said}, free))
        found = {
            one: screen_food(vocabulary(), food, Avoidance(one, "contains")).outcome
            for one in vocabulary().members_of(kind)
        }
        assert set(found.values()) == {"check_label"}
        assert screen_food(vocabulary(), food, Avoidance(kind, "contains")).outcome == "avoid"

    def test_a_named_one_is_there_and_the_others_are_open(self) -> None:
        found = tiers("mixed fruit, strawberries, sugar")
        assert found["strawberry"] == {"contains"}
        assert found["fruit"] == {"contains"}


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("strawberries", {"strawberry"}),
        ("tomatoes", {"tomato"}),
        ("an allergy to peas", {"pea"}),
        ("legumes", {"pulse", "peanut", "soy", "lupin"}),
        ("citrus fruits", {"citrus"}),
        ("seeds", {"seed"}),
        ("meat", {"red_meat", "poultry"}),
        ("peaches", {"peach"}),
        ("chocolate", {"cocoa"}),
    ],
)
def test_what_parents_say(said: str, meant: set[str]) -> None:
    assert set(resolve(vocabulary(), said)) == meant


def test_seeds_and_legumes_hold_those_of_the_law_too() -> None:
    assert "sesame" in vocabulary().members_of("seed")


class TestFoodsOfTheTables:
    @pytest.mark.parametrize(
        ("food", "allergen", "expected"),
        [
            ("strawberries", "strawberry", "avoid"),
            ("strawberries", "fruit", "avoid"),
            ("strawberries", "kiwi", "not_declared"),
            ("jam", "strawberry", "check_label"),
            ("jam", "fruit", "avoid"),
            ("hummus", "chickpea", "avoid"),
            ("pizza-cheese", "tomato", "avoid"),
            ("cheese-cheddar", "strawberry", "label_not_seen"),
            ("bread-white", "tomato", "label_not_seen"),
            ("bread-white", "potato", "check_label"),
            ("yogurt-fruit-low-fat", "mango", "check_label"),
            ("soup-split-pea", "pea", "avoid"),
            ("sunflower-seed-butter", "sunflower_seed", "avoid"),
            ("sandwich-ham", "pork", "avoid"),
        ],
    )
    def test_by_what_is_usual_in_them(self, food: str, allergen: str, expected: str) -> None:
        """Usual recipes: common practice, no source."""
        assert outcome(food, allergen) == expected

    def test_a_food_named_after_another_is_never_without_it(self) -> None:
        """Common practice: a food holds what it is named after, unless its name says that it is made without."""
        only_named = {
            ("bacon-meatless", "pork"),
            ("chicken-meatless-breaded", "chicken"),
            ("turkey-pastrami", "beef"),
            ("chicken-drumstick-roasted", "red_meat"),
        }
        cleared = [
            (food.id, allergen)
            for food in lunch_foods()
            for allergen, found in tiers(food.name).items()
            if "contains" in found
            and (food.id, allergen) not in only_named
            and outcome(food.id, allergen) == "not_declared"
        ]
        assert cleared == []

    def test_nor_is_a_raw_food_of_the_generic_tables(self) -> None:
        table = generic_foods()
        raw = [one for one, name in zip(table.ids(), table.names(), strict=True) if ", raw" in name]
        cleared = [
            (one, allergen)
            for one in raw[::7]
            for allergen, found in tiers(table.get(one).name).items()
            if "contains" in found and outcome(one, allergen) == "not_declared"
        ]
        assert cleared == []

    def test_no_food_is_asked_about_everywhere(self) -> None:
        """A warning for everything is none: for each at most half of the lunch foods are to be read first or kept away.

        Maize and its starch, and whole kinds, are in more.
        """
        foods = list(lunch_foods())
        most = {
            allergen: sum(outcome(food.id, allergen) in ("avoid", "check_label") for food in foods)
            for allergen in FOODS
            if allergen not in ("maize", *BROAD)
        }
        assert {one: count for one, count in most.items() if count > len(foods) / 2} == {}


def test_short_names_of_honey_and_onion_are_to_be_looked_at():
    """Common practice, no source."""
    assert "check_label" in tiers("Linhaça, coentro, mel")["honey"]
    assert "check_label" in tiers("Tomatpuré, hvidløg, løg")["onion"]
