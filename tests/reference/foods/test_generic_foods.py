"""The shipped generic food table against the figures that its sources print.

Sources of the expected values:
- USDA SR28: the agency's own file NUT_DATA.txt of release 28, read by eye at the NDB number named.
- USDA FNDDS 2021-2023: the survey row of the description named, read by eye.
"""

import re
from collections.abc import Callable
from fractions import Fraction
from statistics import median

import pytest

from service.domain.errors import ReferenceFault
from service.domain.foods.generic import (
    HouseholdMeasure,
)
from service.domain.measures import MEASURE_INDEX, NUTRIENT_COUNT, TABLE_MEASURES
from service.reference.files import data_path
from service.reference.foods.generic_foods import HEADER, TEXT, VALUES, GenericFoodTable, generic_foods, read_table

FOLDER = data_path("foods")
EDITION_SR28 = "USDA SR28"
EDITION_FNDDS = "USDA FNDDS 2021-2023"

SHOWN = (
    "energy_kcal",
    "protein_g",
    "fat_g",
    "saturated_fat_g",
    "carbohydrate_g",
    "sugars_g",
    "fibre_g",
    "sodium_mg",
    "calcium_mg",
    "iron_mg",
    "potassium_mg",
    "vitamin_a_rae_ug",
    "vitamin_c_mg",
    "vitamin_d_ug",
    "folate_ug",
    "vitamin_b12_ug",
)

# USDA SR28, NUT_DATA.txt: nutrients 208 203 204 606 205 269 291 307 301 303 306 320 401 328 417 418.
PRINTED_SR28 = {
    "18069": "266 8.85 3.33 0.698 49.42 5.67 2.7 490 144 3.61 126 0 0.0 0.0 111 0.00",  # white bread
    "18075": "252 12.45 3.50 0.722 42.71 4.34 6.0 455 161 2.47 254 0 0.0 0.0 42 0.00",  # whole-wheat bread
    "01077": "61 3.15 3.25 1.865 4.80 5.05 0.0 43 113 0.03 132 46 0.0 1.3 5 0.45",  # whole milk
    "01079": "50 3.30 1.98 1.257 4.80 5.06 0.0 47 120 0.02 140 55 0.2 1.2 5 0.53",  # milk, 2 % fat
    "01009": "404 22.87 33.31 18.867 3.09 0.48 0.0 653 710 0.14 76 330 0.0 0.6 27 1.10",  # cheddar
    "01123": "143 12.56 9.51 3.126 0.72 0.37 0.0 142 56 1.75 138 160 0.0 2.0 47 0.89",  # egg
    "09003": "52 0.26 0.17 0.028 13.81 10.39 2.4 1 6 0.12 107 3 4.6 0.0 3 0.00",  # apple with skin
    "09040": "89 1.09 0.33 0.112 22.84 12.23 2.6 1 5 0.26 358 3 8.7 0.0 20 0.00",  # banana
    "11124": "41 0.93 0.24 0.037 9.58 4.74 2.8 69 33 0.30 320 835 5.9 0.0 19 0.00",  # carrots
    "16098": "598 22.21 51.36 10.325 22.31 10.49 5.0 426 49 1.74 558 0 0.0 0.0 87 0.00",  # peanut butter
    "19335": "387 0.00 0.00 0.000 99.98 99.80 0.0 1 1 0.05 2 0 0.0 0.0 0 0.00",  # granulated sugar
    "19296": "304 0.30 0.00 0.000 82.40 82.12 0.2 4 6 0.42 52 0 0.5 0.0 2 0.00",  # honey
    "15121": "86 19.44 0.96 0.211 0.00 0.00 0.0 247 17 1.63 179 17 0.0 1.2 4 2.55",  # light tuna in water
    "20045": "130 2.69 0.28 0.077 28.17 0.05 0.4 1 10 1.20 35 0 0.0 0.0 58 0.00",  # cooked white rice
    "05064": "165 31.02 3.57 1.010 0.00 0.00 0.0 74 15 1.04 256 6 0.0 0.1 4 0.34",  # roast chicken breast
    "12061": "579 21.15 49.93 3.802 21.55 4.35 12.5 1 269 3.71 733 0 0.0 0.0 44 0.00",  # almonds
}

# USDA FNDDS 2021-2023, the same nutrients of the survey row.
PRINTED_FNDDS = {
    "Milk, whole": "61 3.27 3.2 1.86 4.63 4.81 0 38 123 0 150 32 0 1.1 0 0.54",
    "Bread, white": "267 9.43 3.59 0.821 49.2 5.34 2.3 450 211 3.36 117 0 0 0 111 0",
    "Apple, raw": "61 0.17 0.15 0.028 14.8 12.08 2.1 0 5 0.03 104 3 4.6 0 0 0",
    "Cheese, Cheddar": "409 23.3 34.0 19.2 2.44 0.33 0 654 707 0.16 77 316 0 0.6 21 1.06",
    "Hummus, plain": "243 7.35 17.1 2.22 14.9 0.34 5.4 438 41 2.41 289 1 0 0 36 0",
    "Peanut butter and jelly sandwich, NFS": "361 11.42 16.6 3.391 45.22 15.0 2.8 368 128 2.33 232 0 0.2 0 85 0",
}

# Ids once given must stay: stored lunches and recipes hold them. Descriptions: USDA FNDDS 2021-2023.
STABLE_IDS = {
    "fndds-002a7eac": "Cereal, O's, NFS",
    "fndds-0320357f": "French dressing",
    "fndds-0076b14d": "Bologna, reduced sodium",
    "fndds-0117e7f9": "Fruit flavored drink",
    "fndds-18f634c7": "Turnover or breakfast pocket, egg",
    "fndds-6e7c9098": "Turnover, pizza pocket, meat",
    "fndds-eafb5951": "Cheese, paneer",
    "fndds-1dc1bc0d": "Buttermilk",
    "fndds-ec7451d8": "Yogurt, nonfat milk, plain",
    "fndds-b66e3e62": "Pita chips",
    "sr28-18069": "Bread, white, commercially prepared (includes soft bread crumbs)",
    "sr28-01009": "Cheese, cheddar",
    "sr28-20138": "Wheat, khorasan, uncooked",
}


def exact_thousandths(text: str) -> int:
    """A printed decimal in thousandths, worked out without the code under test."""
    scaled = Fraction(text) * 1000
    assert scaled.denominator == 1
    return scaled.numerator


@pytest.fixture(scope="module")
def table() -> GenericFoodTable:
    return generic_foods()


@pytest.fixture(scope="module")
def by_name(table: GenericFoodTable) -> dict[tuple[str, str], str]:
    """(id prefix, name) -> id."""
    return {(key.split("-")[0], name): key for key, name in zip(table.ids(), table.names(), strict=True)}


@pytest.mark.parametrize("ndb", PRINTED_SR28)
def test_values_are_those_printed_in_sr28(table: GenericFoodTable, ndb: str) -> None:
    food = table.get(f"sr28-{ndb}")
    assert food is not None
    printed = [exact_thousandths(text) for text in PRINTED_SR28[ndb].split()]
    assert [food.value(measure) for measure in SHOWN] == printed
    assert food.edition == EDITION_SR28


@pytest.mark.parametrize("description", PRINTED_FNDDS)
def test_values_are_those_of_the_survey_row(
    table: GenericFoodTable, by_name: dict[tuple[str, str], str], description: str
) -> None:
    food = table.get(by_name["fndds", description])
    assert food is not None
    printed = [exact_thousandths(text) for text in PRINTED_FNDDS[description].split()]
    assert [food.value(measure) for measure in SHOWN] == printed
    assert food.edition == EDITION_FNDDS


def test_number_of_foods(table: GenericFoodTable) -> None:
    # SR28 documentation: 8,789 foods; the wheel holds 3,985 survey rows. A part of each is generic.
    standard = [key for key in table.ids() if key.startswith("sr28-")]
    survey = [key for key in table.ids() if key.startswith("fndds-")]
    assert len(standard) + len(survey) == len(table)
    assert 6_300 <= len(standard) < 8_789
    assert 3_700 <= len(survey) < 3_985
    assert all(re.fullmatch(r"sr28-\d{5}", key) for key in standard)
    assert all(re.fullmatch(r"fndds-[0-9a-f]{8}", key) for key in survey)


def test_missing_is_apart_from_zero(table: GenericFoodTable) -> None:
    # SR28 NUT_DATA: spearmint (02065) has no row for sugars (269) and a printed 0.0 for vitamin D (328);
    # caraway cheese (01008) has neither; granulated sugar (19335) has printed zeros.
    spearmint, caraway, sugar = (table.get(f"sr28-{ndb}") for ndb in ("02065", "01008", "19335"))
    assert spearmint is not None
    assert caraway is not None
    assert sugar is not None
    assert (spearmint.value("sugars_g"), spearmint.value("vitamin_d_ug")) == (None, 0)
    assert (caraway.value("sugars_g"), caraway.value("vitamin_d_ug")) == (None, None)
    assert (sugar.value("fibre_g"), sugar.value("saturated_fat_g")) == (0, 0)


def test_survey_rows_lack_water_and_nothing_else(table: GenericFoodTable) -> None:
    # Water is not among the 31 nutrients of the survey rows; FNDDS documentation: no missing values.
    for key in table.ids():
        food = table.get(key)
        assert food is not None
        if food.edition == EDITION_FNDDS:
            assert [measure for measure in table.header.measures if food.value(measure) is None] == ["water_g"]


def test_no_value_is_negative(table: GenericFoodTable) -> None:
    for key in table.ids():
        food = table.get(key)
        assert food is not None
        assert all(value is None or value >= 0 for value in food.values), key


def test_editions_agree_in_units(table: GenericFoodTable, by_name: dict[tuple[str, str], str]) -> None:
    # One food in two USDA editions: a wrong unit would be off by 4.184 or by a thousand.
    pairs = [
        ("Milk, whole", "01077"),
        ("Bread, white", "18069"),
        ("Cheese, Cheddar", "01009"),
        ("Egg, whole, raw", "01123"),
        ("Carrots, raw", "11124"),
        ("Orange, raw", "09200"),
        ("Peanut butter", "16098"),
        ("Fish, tuna, canned", "15121"),
        ("Liver, beef", "13326"),
    ]
    for measure in table.header.measures[:-1]:
        ratios = []
        for name, ndb in pairs:
            survey, standard = table.get(by_name["fndds", name]), table.get(f"sr28-{ndb}")
            assert survey is not None
            assert standard is not None
            above, below = survey.value(measure), standard.value(measure)
            if above and below:
                ratios.append(above / below)
        assert ratios, measure
        assert 0.6 < median(ratios) < 1.7, measure


def test_household_measures_keep_words_and_weight(table: GenericFoodTable) -> None:
    # USDA SR28, WEIGHT.txt.
    bread, tuna, chicken, peanut_butter = (table.get(f"sr28-{ndb}") for ndb in ("18069", "15121", "05064", "16098"))
    assert bread is not None
    assert tuna is not None
    assert chicken is not None
    assert peanut_butter is not None
    assert HouseholdMeasure(Fraction(1), "cup, cubes", 35_000) in bread.household_measures
    assert HouseholdMeasure(Fraction(1), "oz", 28_350) in bread.household_measures
    assert HouseholdMeasure(Fraction(3), "oz", 85_000) in tuna.household_measures
    assert HouseholdMeasure(Fraction(1, 2), "breast, bone and skin removed", 86_000) in chicken.household_measures
    assert peanut_butter.household_measures[0] == HouseholdMeasure(Fraction(2), "tbsp", 32_000)
    assert [measure.text() for measure in chicken.household_measures[2:3]] == ["0.5 breast, bone and skin removed"]


@pytest.mark.parametrize(
    ("printed", "shown"),
    [("1", "1"), (".5", "0.5"), (".333", "0.333"), ("1.25", "1.25"), ("20", "20"), (".083", "0.083")],
)
def test_amounts_are_shown_as_printed(printed: str, shown: str) -> None:
    # Amounts as SR28's WEIGHT.txt prints them.
    assert HouseholdMeasure(Fraction(printed), "cup", 1).amount_text() == shown


def test_names_and_allow_list_are_one(table: GenericFoodTable) -> None:
    lines = (FOLDER / "generic_allow_list.txt").read_text(encoding="utf-8").splitlines()
    assert [line.split("\t") for line in lines] == [list(pair) for pair in zip(table.ids(), table.names(), strict=True)]


def test_names_carry_no_makers_chains_or_baby_food(table: GenericFoodTable) -> None:
    # SR28 prints trade names in capitals, FNDDS in brackets with a capital; both print baby food as such.
    allowed = {"USDA", "BBQ", "NFS", "NFSMI", "VPP"}
    for name in table.names():
        capitals = {word for word in re.findall(r"[A-Z][A-Z&'-]{2,}", name) if not word.startswith("'")}
        assert capitals <= allowed, name
        assert not re.search(r"baby ?food|infant|toddler|^formula\b|^restaurant,|^fast foods", name, re.IGNORECASE), (
            name
        )
    survey = [name for key, name in zip(table.ids(), table.names(), strict=True) if key.startswith("fndds-")]
    assert not [name for name in survey if re.search(r"\([A-Z]", name)]


@pytest.mark.parametrize("key", STABLE_IDS)
def test_ids_stay(table: GenericFoodTable, key: str) -> None:
    food = table.get(key)
    assert food is not None
    assert food.name == STABLE_IDS[key]


def test_looking_up(table: GenericFoodTable) -> None:
    assert list(table.ids()) == sorted(set(table.ids()))
    assert all(table.get(key) is not None and key in table for key in table.ids()[::500])
    for unknown in ("", "sr28-", "sr28-1806", "sr28-99999", "SR28-18069", "sr28-18069\tBread", "18069", "\udcff"):
        assert table.get(unknown) is None
        assert unknown not in table
    assert 18069 not in table
    assert table.editions() == (EDITION_FNDDS, EDITION_SR28)


def test_the_files_hold_every_measure_that_the_tables_give(table: GenericFoodTable) -> None:
    missing = {measure.id for measure in TABLE_MEASURES} - set(table.header.measures)
    assert not missing, (
        f"{sorted(missing)}: service/domain/measures.py gives a number or column of the composition tables, but the "
        "files lack it, so it is unknown of every food. Build the table again "
        "(reference_data/foods/build/build_generic_foods.py), or leave sr28 and fndds out of the entry."
    )


def test_the_values_are_in_the_engines_order(table: GenericFoodTable) -> None:
    bread = table.get("sr28-18069")
    assert bread is not None
    row = bread.values
    assert len(row) == NUTRIENT_COUNT
    assert row[MEASURE_INDEX["sodium_mg"]] == 490_000
    assert row[MEASURE_INDEX["added_sugars_g"]] is None


def shipped(name: str) -> bytes:
    return (FOLDER / name).read_bytes()


def with_part(name: str, content: bytes) -> Callable[[str], bytes]:
    return lambda wanted: content if wanted == name else shipped(wanted)


@pytest.mark.parametrize(
    ("part", "old", "new", "words"),
    [
        (TEXT, b"Bread, white", b"Bread, WHITE", "sha256"),
        (VALUES, b"\x00\x00", b"\x01\x00", "sha256"),
        (HEADER, b"format = 1", b"format = 2", "format"),
        (HEADER, b"format = 1", b"format = 1\nnew_key = 1", "new_key"),
        (HEADER, b'"sugars_g"', b'"sugar_g"', "measures"),
        (HEADER, b"scale = 1000", b"scale = 100", "scale"),
        (HEADER, b"format = 1", b"format = ", "header"),
        (HEADER, b'status = "read"', b'status = "guessed"', "status"),
    ],
)
def test_a_spoilt_part_is_refused(part: str, old: bytes, new: bytes, words: str) -> None:
    content = shipped(part)
    assert old in content
    with pytest.raises(ReferenceFault, match=words):
        read_table(with_part(part, content.replace(old, new, 1)))


def test_a_wrong_number_of_foods_is_refused() -> None:
    content = shipped(HEADER)
    spoilt = re.sub(rb"(?m)^foods = \d+", b"foods = 3", content)
    with pytest.raises(ReferenceFault, match="foods are announced"):
        read_table(with_part(HEADER, spoilt))
