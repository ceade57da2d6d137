"""A food that holds an allergen is never clear, however the languages of the EU name it on a packet.

The names are common practice, no source (``names_among_others.toml``). Each stands alone among everyday ingredients, so that
the rest of the statement can be read and nothing but the name itself tells of the allergen.
"""

import tomllib
from datetime import date
from pathlib import Path

import pytest

from service.domain.allergens.vocabulary import legal_list
from service.reference.allergens.vocabulary import vocabulary
from tests.domain.labels.label_reading import everything, hard, reading, warned

LANGUAGES = tomllib.loads(Path(__file__).with_name("names_among_others.toml").read_text("utf-8"))
MOST_TO_CHECK = 0.15
"""At most so many of a language's names are only raised for checking: what a word may be is softer than what it is."""
MOST_CLEARED = 0.07
"""Of names of seven letters and more with a letter missing, doubled or swapped, at most so many are read as something else."""


def names(language: str) -> list[tuple[str, str]]:
    """The allergen and the printed name of each."""
    rows = {key: words for key, words in LANGUAGES[language].items() if key not in ("among", "everyday")}
    return [(allergen, " ".join(name.split())) for allergen, words in rows.items() for name in words.split(",")]


def damaged(name: str) -> list[str]:
    """A name with one letter missing, doubled or swapped with the next; the first letter stays."""
    found = []
    for at in range(1, len(name)):
        found += [name[:at] + name[at + 1 :], name[: at + 1] + name[at:]]
        if at + 1 < len(name) and name[at] != name[at + 1]:
            found.append(name[:at] + name[at + 1] + name[at] + name[at + 2 :])
    return found


def means(allergen: str, found: set[str]) -> bool:
    """Whether an allergen, a member or a group of it is among those found."""
    return bool(found & ({allergen} | vocabulary().members_of(allergen) | vocabulary().groups_of(allergen)))


def on_the_list() -> set[str]:
    """The allergens that EU law makes labels name, with their members: Regulation (EU) 1169/2011, Annex II."""
    listed = {one.allergen for one in legal_list(vocabulary(), "EU", date(2026, 1, 1))}
    return listed | {member for one in listed for member in vocabulary().members_of(one)}


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_name_among_everyday_ingredients_is_never_clear(language: str) -> None:
    among = LANGUAGES[language]["among"]
    missed = [
        (name, allergen)
        for allergen, name in names(language)
        if reading(among.format(name)).readable and not means(allergen, everything(among.format(name)))
    ]
    assert missed == []


@pytest.mark.parametrize("language", LANGUAGES)
def test_most_names_are_named_and_not_only_raised_for_checking(language: str) -> None:
    among = LANGUAGES[language]["among"]
    listed = names(language)
    softer = [name for allergen, name in listed if not means(allergen, hard(among.format(name)))]
    assert len(softer) <= MOST_TO_CHECK * len(listed), softer


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_damaged_name_is_hardly_ever_clear(language: str) -> None:
    among = LANGUAGES[language]["among"]
    long_names = [(allergen, name) for allergen, name in names(language) if len(name) >= 7 and name.isalpha()]
    tried = [(allergen, text) for allergen, name in long_names for text in damaged(name)]
    cleared = [
        text
        for allergen, text in tried
        if reading(among.format(text)).readable and not means(allergen, everything(among.format(text)))
    ]
    assert len(cleared) <= MOST_CLEARED * len(tried), cleared


@pytest.mark.parametrize("language", [one for one in LANGUAGES if "everyday" in LANGUAGES[one]])
def test_an_everyday_ingredient_raises_nothing_and_is_known(language: str) -> None:
    among = LANGUAGES[language]["among"]
    for word in (" ".join(one.split()) for one in LANGUAGES[language]["everyday"].split(",")):
        found = reading(among.format(word))
        assert found.unknown_words == 0, word
        assert everything(among.format(word)) & on_the_list() == set(), word


@pytest.mark.parametrize("language", LANGUAGES)
def test_everyday_ingredients_alone_raise_nothing(language: str) -> None:
    text = LANGUAGES[language]["among"].replace(", {}", "")
    assert reading(text).readable
    assert everything(text) & on_the_list() == set()


@pytest.mark.parametrize(
    "text",
    [
        "ris, vatten, socker, salt, kokosnötsolja, nötkött, muskot, mjölksyra",
        "Reis, Wasser, Zucker, Salz, Lachsschinken, Muskatnuss, Milchsäurebakterien, Kakaobutter",
        "rijst, water, suiker, zout, nootmuskaat, melkzuur, cacaoboter, krabbelen",
        "ris, vand, sukker, salt, muskatnød, mælkesyre, kakaosmør, oksekød",
    ],
)
def test_words_that_only_look_like_an_allergen_name_none(text: str) -> None:
    assert not hard(text) & {"milk", "tree_nut", "fish", "mollusc", "crustacean"}


@pytest.mark.parametrize(
    ("text", "allergens"),
    [
        ("Rice, salt. Nut traces cannot be excluded.", {"tree_nut"}),
        ("Rice, salt. Milk traces are possible.", {"milk"}),
        ("Rice, salt. Presence of milk cannot be ruled out.", {"milk"}),
        ("Rice, salt. Packed in the same hall as sesame products.", {"sesame"}),
        ("Rice, salt. Our kitchens also cook with fish and crab.", {"fish", "crab"}),
        ("Rice, salt. Allergens handled on site: mustard, soya.", {"mustard", "soy"}),
        ("Rice, salt. Other allergens in this factory: egg, fish.", {"egg", "fish"}),
        ("Rice, salt. Cross contact: sesame, soya.", {"sesame", "soy"}),
        ("Rice, salt. Milk may be present due to shared lines.", {"milk"}),
        ("Reis, Salz. Enthält möglicherweise Erdnüsse.", {"peanut"}),
        ("Riz, sel. La présence fortuite de lait ne peut être exclue.", {"milk"}),
        ("Arroz, sal. Posible presencia de frutos secos y leche.", {"tree_nut", "milk"}),
        ("Rijst, zout. Geproduceerd in een omgeving waar noten worden verwerkt.", {"tree_nut"}),
        ("Ris, salt. Tillverkas i en anläggning som hanterar jordnötter.", {"peanut"}),
    ],
)
def test_a_warning_in_other_words_is_a_warning(text: str, allergens: set[str]) -> None:
    assert warned(text) >= allergens
    assert not hard(text) & allergens
