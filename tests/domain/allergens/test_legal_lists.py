"""What each law makes a label declare, and from when; typed from the laws named at each table."""

from datetime import date

import pytest

from service.domain.allergens.vocabulary import legal_list
from service.domain.errors import OutsideDates, UnknownName
from service.reference.allergens.vocabulary import vocabulary
from tests.refused import refused

NINE_NUTS = {
    "almond", "cashew", "hazelnut", "pecan", "pistachio", "walnut", "brazil_nut", "macadamia", "pine_nut",
}  # fmt: skip
GLUTEN = {"wheat", "spelt", "khorasan", "rye", "barley", "oats", "triticale"}

# FD&C Act 201(qq) as FDA lists it (FAQ of 2025-01-06): eight foods, with sesame nine.
US_EIGHT = {"milk", "egg", "fish", "crustacean", "tree_nut", "peanut", "wheat", "soy"}
# Regulation (EU) 1169/2011 Annex II, items 1 to 14.
ANNEX_II = {
    "gluten_cereal", "crustacean", "egg", "fish", "peanut", "soy", "milk", "tree_nut", "celery", "mustard", "sesame",
    "sulphite", "lupin", "mollusc",
}  # fmt: skip
# Health Canada, record 9.841052 (2017): priority allergens, gluten sources and added sulphites.
CANADA = {
    "peanut", "tree_nut", "sesame", "milk", "egg", "fish", "crustacean", "mollusc", "soy", "wheat", "mustard",
    "sulphite", "gluten_cereal",
}  # fmt: skip
# Food Standards Code Schedule 9.
AUSTRALIA_NEW_ZEALAND = {
    "crustacean", "mollusc", "egg", "fish", "milk", "peanut", "sesame", "soy", "lupin", "wheat", "tree_nut",
    "gluten_cereal", "sulphite",
}  # fmt: skip
# Notice of 2023-03-09, label-bank.com.
JAPAN_EIGHT = {"shrimp", "crab", "walnut", "wheat", "buckwheat", "egg", "milk", "peanut"}
# label-bank.com, February 2024: twenty recommended items, matsutake gone, macadamia new.
JAPAN_TWENTY = {
    "almond", "abalone", "squid", "fish_roe", "orange", "cashew", "kiwi", "beef", "sesame", "salmon", "mackerel", "soy",
    "chicken", "banana", "pork", "macadamia", "peach", "yam", "apple", "gelatin",
}  # fmt: skip


def named(jurisdiction, on, status="mandatory"):
    return [entry.allergen for entry in legal_list(vocabulary(), jurisdiction, on) if entry.status == status]


@pytest.mark.parametrize(
    ("jurisdiction", "on", "expected"),
    [
        ("US", date(2006, 1, 1), US_EIGHT),
        ("US", date(2022, 12, 31), US_EIGHT),
        ("US", date(2023, 1, 1), US_EIGHT | {"sesame"}),
        ("US", date(2025, 1, 5), US_EIGHT | {"sesame"}),
        ("US", date(2025, 1, 6), US_EIGHT | {"sesame"}),
        ("EU", date(2014, 12, 13), ANNEX_II),
        ("EU", date(2026, 9, 1), ANNEX_II),
        ("GB", date(2026, 9, 1), ANNEX_II),
        ("CA", date(2026, 9, 1), CANADA),
        ("AU", date(2026, 9, 1), AUSTRALIA_NEW_ZEALAND),
        ("NZ", date(2026, 9, 1), AUSTRALIA_NEW_ZEALAND),
        ("JP", date(2026, 9, 1), JAPAN_EIGHT),
    ],
)
def test_mandatory_headings(jurisdiction, on, expected):
    found = named(jurisdiction, on)
    assert set(found) == expected
    assert len(found) == len(expected)


def test_molluscs_are_not_a_us_heading():
    assert "mollusc" not in named("US", date(2026, 1, 1))


def species(jurisdiction, on, heading):
    return {
        name
        for entry in legal_list(vocabulary(), jurisdiction, on)
        if entry.allergen == heading
        for name in entry.species
    }


@pytest.mark.parametrize(
    ("jurisdiction", "on", "heading", "expected"),
    [
        # FDA guidance of January 2025 drops coconut, chestnut and shea (and others that have no id here).
        ("US", date(2025, 1, 5), "tree_nut", NINE_NUTS | {"coconut", "chestnut", "shea"}),
        ("US", date(2025, 1, 6), "tree_nut", NINE_NUTS),
        # Annex II item 8: eight nuts, no pine nut.
        ("EU", date(2026, 1, 1), "tree_nut", NINE_NUTS - {"pine_nut"}),
        ("GB", date(2026, 1, 1), "tree_nut", NINE_NUTS - {"pine_nut"}),
        ("CA", date(2026, 1, 1), "tree_nut", NINE_NUTS),
        ("AU", date(2026, 1, 1), "tree_nut", NINE_NUTS),
        ("EU", date(2026, 1, 1), "gluten_cereal", GLUTEN),
        ("CA", date(2026, 1, 1), "gluten_cereal", GLUTEN),
    ],
)
def test_species_under_a_heading(jurisdiction, on, heading, expected):
    assert species(jurisdiction, on, heading) == expected


def test_japan_recommends_twenty_and_cashew_is_pending():
    entries = legal_list(vocabulary(), "JP", date(2026, 9, 1))
    recommended = [entry for entry in entries if entry.status == "recommended"]
    assert {entry.allergen for entry in recommended} == JAPAN_TWENTY
    assert len(recommended) == 20
    assert [entry.allergen for entry in recommended if entry.pending == "mandatory"] == ["cashew"]


def test_mandatory_entries_come_first_and_each_names_its_law():
    entries = legal_list(vocabulary(), "JP", date(2026, 9, 1))
    assert [entry.status for entry in entries] == ["mandatory"] * 8 + ["recommended"] * 20
    assert all(entry.law and entry.source and entry.source_status for entry in entries)


def test_a_day_before_the_first_list_is_refused_with_the_first_day():
    with refused(OutsideDates, match="2006-01-01"):
        legal_list(vocabulary(), "US", date(2005, 12, 31))


def test_an_unknown_jurisdiction_is_refused_with_the_known_ones():
    with refused(UnknownName, match="AU, CA, EU, GB, JP, NZ, US"):
        legal_list(vocabulary(), "XX", date(2026, 1, 1))


def test_a_jurisdiction_may_be_written_small_or_as_people_say_it():
    assert legal_list(vocabulary(), "us", date(2026, 1, 1)) == legal_list(vocabulary(), "US", date(2026, 1, 1))
    assert named("uk", date(2026, 1, 1)) == named("GB", date(2026, 1, 1))
