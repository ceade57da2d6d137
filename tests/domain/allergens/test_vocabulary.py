"""Ids, groups and other names of allergens. Group members after GS1 and Annex II, see each check."""

import pytest

from service.domain.allergens.vocabulary import Allergen, build_vocabulary, folded_name, resolve
from service.domain.errors import UnknownName
from service.reference.allergens.vocabulary import vocabulary
from tests.builders import related_to
from tests.refused import refused

# GS1 Web Vocabulary v1.16, AllergenTypeCode (originalCodeValue), read at commit f8f407b.
GS1 = {
    "maize": "NM",  # GS1 Web Vocabulary v1.16: NM is corn
    "milk": "AM", "egg": "AE", "fish": "AF", "crustacean": "AC", "mollusc": "UM", "tree_nut": "AN", "peanut": "AP",
    "wheat": "UW", "soy": "AY", "sesame": "AS", "celery": "BC", "mustard": "BM", "lupin": "NL", "sulphite": "AU",
    "gluten_cereal": "AW", "spelt": "GS", "khorasan": "GK", "triticale": "TR", "rye": "NR", "barley": "GB",
    "oats": "GO", "almond": "SA", "cashew": "SC", "hazelnut": "SH", "pecan": "SP", "pistachio": "ST", "walnut": "SW",
    "brazil_nut": "SR", "macadamia": "SM", "pine_nut": "PN", "coconut": "SO", "chestnut": "SN", "shea": "SJ",
    "salmon": "ADR", "tuna": "ABD", "cod": "ADF", "anchovy": "ADC", "mackerel": "MAC", "fish_roe": "SMR",
    "shrimp": "ABL", "crab": "ABG", "lobster": "ABJ", "squid": "SQU", "abalone": "ABN", "oyster": "OYS",
    "mussel": "MSS", "buckwheat": "BWD", "orange": "OGD", "kiwi": "KWD", "apple": "APL", "peach": "PHD",
    "banana": "BND", "yam": "YMD", "beef": "BF", "chicken": "CM", "pork": "PO", "gelatin": "GTD",
    "tomato": "TTD", "carrot": "NW", "pulse": "SX", "pea": "NE", "seed": "SB", "sunflower_seed": "SS",
    "poppy_seed": "PS", "mango": "MOD", "lychee": "SL", "coriander": "NK", "cocoa": "NC",
}  # fmt: skip


def test_gs1_codes_are_those_of_the_vocabulary_release():
    assert {one.id: one.gs1_code for one in vocabulary().allergens.values() if one.gs1_code} == GS1


def test_the_mixed_gs1_code_for_shellfish_is_not_used():
    assert "UN" not in {one.gs1_code for one in vocabulary().allergens.values()}


@pytest.mark.parametrize(
    ("given", "ids"),
    [
        ("soybean", ("soy",)),
        ("Soya", ("soy",)),
        ("tree_nuts", ("tree_nut",)),
        ("tree nuts", ("tree_nut",)),
        ("crustacean_shellfish", ("crustacean",)),
        ("shellfish", ("crustacean", "mollusc")),
        ("groundnut", ("peanut",)),
        ("gluten", ("gluten_cereal",)),
        ("dairy", ("milk",)),
        ("Eggs", ("egg",)),
        ("nuts", ("tree_nut", "peanut")),
        ("brazil nuts", ("brazil_nut",)),
        ("Sulfites", ("sulphite",)),
        ("sulphur dioxide", ("sulphite",)),
        ("molluscs", ("mollusc",)),
        ("corn", ("maize",)),
        ("oat", ("oats",)),
        ("seafood", ("fish", "crustacean", "mollusc")),
    ],
)
def test_everyday_names_are_understood(given, ids):
    assert resolve(vocabulary(), given) == ids


def test_every_id_means_itself():
    for id_ in vocabulary().allergens:
        assert resolve(vocabulary(), id_) == (id_,)


@pytest.mark.parametrize(("given", "near"), [("peanutt", "peanut"), ("sesami", "sesame"), ("hazlenut", "hazelnut")])
def test_an_unknown_name_is_refused_with_a_near_one(given, near):
    with pytest.raises(UnknownName) as caught:
        resolve(vocabulary(), given)
    assert near in caught.value.near
    assert caught.value.value == given


@pytest.mark.parametrize("food", ["asparagus", "rhubarb", "beetroot", "kosher"])
def test_a_food_that_is_no_allergen_here_is_told_what_else_to_do(food):
    with refused(
        UnknownName, match=r"Known: .* Put another food under what the child does not like \(dislikes\)"
    ) as caught:
        resolve(vocabulary(), food)
    assert caught.value.near == ()


def test_a_name_near_to_nothing_lists_the_known_ones():
    with refused(UnknownName, match=r"Known: abalone, .*yam\."):
        resolve(vocabulary(), "qqqq")


def test_every_species_flags_a_tree_nut_allergy_and_no_species_clears_another():
    # Facts: Annex II names eight, US and Canada add the pine nut; coconut, chestnut and shea stand apart.
    found = related_to("tree_nut")
    assert found == {
        "tree_nut", "almond", "cashew", "hazelnut", "pecan", "pistachio", "walnut", "brazil_nut", "macadamia", "pine_nut",
    }  # fmt: skip
    assert related_to("almond") == {"almond", "tree_nut"}
    assert related_to("coconut") == {"coconut"}
    assert related_to("chestnut") == {"chestnut"}
    assert related_to("shea") == {"shea"}


def test_cereals_containing_gluten():
    # Annex II item 1: wheat such as spelt and khorasan, rye, barley, oats or their hybrids.
    assert related_to("gluten_cereal") == {
        "gluten_cereal", "wheat", "spelt", "khorasan", "rye", "barley", "oats", "triticale",
    }  # fmt: skip
    assert related_to("wheat") == {"wheat", "spelt", "khorasan", "triticale", "gluten_cereal"}
    assert related_to("spelt") == {"spelt", "wheat", "gluten_cereal"}
    assert related_to("rye") == {"rye", "gluten_cereal"}


def test_fish_and_shellfish_groups():
    assert related_to("fish") == {"fish", "salmon", "tuna", "cod", "anchovy", "mackerel", "fish_roe"}
    assert related_to("salmon") == {"salmon", "fish"}
    assert related_to("crustacean") == {"crustacean", "shrimp", "crab", "lobster"}
    assert related_to("mollusc") == {"mollusc", "squid", "abalone", "oyster", "mussel"}
    assert related_to("shrimp") == {"shrimp", "crustacean"}


def test_groups_and_members_at_any_remove():
    assert vocabulary().groups_of("spelt") == {"wheat", "gluten_cereal"}
    assert vocabulary().members_of("wheat") == {"spelt", "khorasan", "triticale"}
    assert vocabulary().groups_of("milk") == frozenset()
    assert vocabulary().groups_of("no such") == frozenset()


def test_the_vocabulary_can_be_a_cache_key():
    assert {vocabulary(): 1}[vocabulary()] == 1


def test_a_member_that_does_not_exist_is_refused():
    group = Allergen("group", "group", None, ("nothere",), (), "s", "read")
    with refused(UnknownName, match="nothere"):
        build_vocabulary([group])


def test_a_name_is_folded_the_same_way_wherever_it_comes_from():
    assert folded_name(" Tree-Nuts ") == folded_name("tree_nut") == "tree nut"
    assert folded_name("Céleri") == "celeri"
    assert folded_name("CEREALS (gluten)") == "cereal gluten"
