"""What a parent may say: allergies, coeliac disease and lactose intolerance, in people's own words."""

import pytest

from service.domain.allergens.screening import Avoidance, screen_food
from service.domain.allergens.vocabulary import resolve
from service.domain.errors import UnknownName
from service.reference.allergens.vocabulary import vocabulary
from service.reference.foods.catalogue import find_food
from service.reference.messages import words_of
from tests.refused import refused


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("wheat allergy", {"wheat"}),
        ("nut allergy", {"tree_nut", "peanut"}),
        ("allergic to eggs", {"egg"}),
        ("milk protein", {"milk"}),
        ("cow's milk protein allergy", {"milk"}),
        ("dairy-free", {"milk"}),
        ("lactose intolerance", {"lactose"}),
        ("lactose-free", {"lactose"}),
        ("gluten free", {"gluten_cereal"}),
        ("coeliac disease", {"gluten_cereal"}),
        ("Celiac disease", {"gluten_cereal"}),
        ("coeliac disease with gluten-free oats", {"gluten_content"}),
        ("peanut-free", {"peanut"}),
        ("an allergy to peanuts", {"peanut"}),
        ("an egg allergy", {"egg"}),
    ],
)
def test_words_that_people_use(said: str, meant: set[str]) -> None:
    assert set(resolve(vocabulary(), said)) == meant


@pytest.mark.parametrize(
    ("said", "near"), [("penut allergy", "peanut"), ("seseme", "sesame"), ("coeliak disease", "gluten_cereal")]
)
def test_an_unknown_word_gets_near_names(said: str, near: str) -> None:
    with refused(UnknownName, match=near):
        resolve(vocabulary(), said)


@pytest.mark.parametrize(
    ("food", "allergen", "outcome"),
    [
        ("milk-lactose-free", "lactose", "not_declared"),
        ("milk-lactose-free", "milk", "avoid"),
        ("milk-1-percent", "lactose", "avoid"),
        ("bread-white", "lactose", "check_label"),
        ("apple", "lactose", "not_declared"),
        ("oats-rolled-dry", "gluten_cereal", "avoid"),
        ("oats-rolled-dry", "wheat", "check_label"),
    ],
)
def test_lactose_and_oats_are_things_of_their_own(food: str, allergen: str, outcome: str) -> None:
    found = find_food(food)
    assert found is not None
    assert screen_food(vocabulary(), found, Avoidance(allergen, "contains")).outcome == outcome


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("alergia al cacahuete", {"peanut"}),
        ("maní", {"peanut"}),
        ("Fresas", {"strawberry"}),
        ("alergia a los frutos secos", {"tree_nut", "peanut"}),
        ("intolerancia a la lactosa", {"lactose"}),
        ("celiaquía", {"gluten_cereal"}),
        ("celiaquía con avena sin gluten", {"gluten_content"}),
        ("mariscos", {"crustacean", "mollusc"}),
        ("sin gluten", {"gluten_cereal"}),
        ("soya", {"soy"}),
        ("ajonjolí", {"sesame"}),
        ("chocolate", {"cocoa"}),
        ("frijoles", {"bean"}),
        ("proteína de leche de vaca", {"milk"}),
    ],
)
def test_words_that_people_use_in_spanish(said: str, meant: set[str]) -> None:
    """Common practice, no source."""
    assert set(resolve(vocabulary(), said)) == meant


def test_every_spanish_name_of_an_allergen_is_understood() -> None:
    """What a Spanish page calls an allergen can be typed there as well."""
    missed = []
    for one in vocabulary().allergens.values():
        shown = words_of("es").get(one.name, one.name)
        for name in shown.replace(")", "").replace("(", ",").replace(" o ", ",").split(","):
            try:
                ids = set(resolve(vocabulary(), name.strip()))
            except UnknownName:
                ids = set()
            if one.id not in ids and not ids & (vocabulary().groups_of(one.id) | vocabulary().members_of(one.id)):
                missed.append((one.id, name.strip()))
    assert missed == []
