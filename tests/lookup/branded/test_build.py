"""Promises of a build: of each code the newest version, with the newest values, from any archive in the real format; twice the same
bytes; and after a fault or a stop the old index as it was, with nothing left behind.

Outside check: the truth of the large archive is found version by version in plain Python (``enlarge.py``).
"""

import os
import re
import signal
import sqlite3
import subprocess
import sys
import time
import zipfile
from datetime import date
from pathlib import Path

import pytest

from service.domain.errors import BadInput, StoreFault
from service.lookup.branded import new_index
from service.lookup.branded.build import build_index
from service.lookup.branded.index import BrandedIndex
from tests.lookup.branded.conftest import Indexed
from tests.lookup.branded.enlarge import write_enlarged
from tests.lookup.branded.make_archive import OATS, Entry, files, write_archive
from tests.refused import refused
from tests.served import GENEROUS

CODE = "4006381333931"


def newest(indexed: Indexed, *entries: Entry) -> int:
    food = indexed(*entries).by_code(CODE)
    assert food is not None
    return food.fdc_id


def test_the_last_modified_version_counts(indexed: Indexed) -> None:
    assert newest(indexed, Entry(1, CODE, modified="2024-02-01"), Entry(2, "0" + CODE, modified="2023-12-31")) == 1


def test_where_it_is_not_said_the_day_it_was_made_available_counts(indexed: Indexed) -> None:
    later = Entry(1, CODE, modified="", available="2024-02-02")
    assert newest(indexed, later, Entry(2, CODE, modified="2024-02-01", available="2024-12-01")) == 1


def test_of_those_as_new_the_highest_id_counts(indexed: Indexed) -> None:
    assert newest(indexed, Entry(7, CODE), Entry(9, CODE), Entry(8, CODE)) == 9


def test_any_day_is_newer_than_none(indexed: Indexed) -> None:
    assert newest(indexed, Entry(1, CODE, modified="2014-01-01"), Entry(2, CODE, modified="", available="")) == 1


def test_days_as_older_releases_write_them(indexed: Indexed) -> None:
    assert newest(indexed, Entry(1, CODE, modified="8/18/2018"), Entry(2, CODE, modified="2018-08-17")) == 1


def test_values_come_from_the_newest_version_that_has_any(indexed: Indexed) -> None:
    food = indexed(
        Entry(1, CODE, modified="2022-01-01", amounts={1008: 1}),
        Entry(2, CODE, modified="2023-01-01", unit="ml", amounts={1008: 55}),
        Entry(3, CODE, modified="2024-01-01", unit="g", amounts={}),
    ).by_code(CODE)
    assert food is not None
    energy = food.value("energy_kcal")
    assert energy is not None
    assert (food.fdc_id, food.values_fdc_id, food.serving_unit) == (3, 2, "g")
    assert (energy.amount, energy.basis, energy.fdc_id, energy.date) == (55, "100 ml", 2, date(2023, 1, 1))
    assert "branded-note.values-of-other-version" in [note.code for note in food.notes]


def test_a_large_archive_agrees_with_its_truth(tmp_path: Path) -> None:
    truth = write_enlarged(tmp_path / "archive.zip", 3_000)
    built = build_index(tmp_path / "archive.zip", tmp_path / "foods.sqlite3")
    index = BrandedIndex(tmp_path / "foods.sqlite3")
    assert built.foods == len(truth.newest) == 3_000
    wrong = []
    for code, fdc_id in truth.newest.items():
        food = index.by_code(str(code))
        assert food is not None
        if (food.fdc_id, food.values_fdc_id) != (fdc_id, truth.values.get(code)):
            wrong.append(code)
        assert code not in truth.descriptions or food.description == truth.descriptions[code]
    assert wrong == []


def test_two_builds_give_the_same_bytes(tmp_path: Path) -> None:
    write_enlarged(tmp_path / "archive.zip", 2_000)
    for name in ("one", "other"):
        build_index(tmp_path / "archive.zip", tmp_path / name)
    assert (tmp_path / "one").read_bytes() == (tmp_path / "other").read_bytes()


@pytest.mark.parametrize("folder", ["", "FoodData_Central_branded_food_csv_2026-04-30/", "a/b/"])
def test_files_may_lie_in_a_folder_and_have_more_columns(tmp_path: Path, folder: str) -> None:
    lines = files([Entry(1, CODE)])["branded_food.csv"].splitlines()
    wider = "\n".join(["\ufeffnew_column," + lines[0], *("x," + line for line in lines[1:])])
    archive = write_archive(tmp_path / "a.zip", [Entry(1, CODE)], folder=folder, changed={"branded_food.csv": wider})
    assert build_index(archive, tmp_path / "foods").foods == 1


def test_line_ends_within_a_text(indexed: Indexed) -> None:
    food = indexed(Entry(1, CODE, ingredients='OATS,\n"FINE" SUGAR,\nSALT.'), Entry(2, "12345678905")).by_code(CODE)
    assert food is not None
    assert food.ingredients == 'OATS,\n"FINE" SUGAR,\nSALT.'


def test_entries_without_a_code_are_counted_and_left_out(tmp_path: Path) -> None:
    entries = [Entry(1, CODE), Entry(2, ""), Entry(3, "0000"), Entry(4, "123456789012345")]
    built = build_index(write_archive(tmp_path / "a.zip", entries), tmp_path / "foods")
    assert (built.foods, built.versions, built.refused) == (1, 1, 3)
    assert built.release == date(2024, 6, 13)  # the day on which a branded food was published, not another food


def test_rows_without_an_id_are_left_out(tmp_path: Path) -> None:
    """In each of the files; the rows beside them are read."""
    changed: dict[str, str | None] = {}
    for name, text in files([Entry(1, CODE), Entry(99, CODE, modified="2025-01-01")]).items():
        changed[name] = text.replace('"99",', '"",')
    build_index(write_archive(tmp_path / "a.zip", [], changed=changed), tmp_path / "foods")
    food = BrandedIndex(tmp_path / "foods").by_code(CODE)
    assert food is not None
    assert (food.fdc_id, len([one for one in food.values if one.amount is not None])) == (1, len(OATS))


def cut(archive: Path, to: float) -> None:
    archive.write_bytes(archive.read_bytes()[: int(archive.stat().st_size * to)])


def damaged(archive: Path) -> None:
    """Bytes of branded_food.csv are changed where they are packed."""
    with zipfile.ZipFile(archive) as packed:
        first = packed.infolist()[0]
    start = first.header_offset + 30 + len(first.filename) + first.compress_size // 2
    bytes_ = bytearray(archive.read_bytes())
    bytes_[start : start + 8] = b"\xff" * 8
    archive.write_bytes(bytes_)


ONE = [Entry(1, CODE)]
BAD_ROW = files(ONE)["food_nutrient.csv"] + '"99","x","1008","5"\n'
OTHER_UNIT = files(ONE)["nutrient.csv"].replace('"1093","Sodium, Na","MG"', '"1093","Sodium, Na","G"')


@pytest.mark.parametrize(
    ("changed", "why"),
    [
        ({"food.csv": None}, "has no food.csv"),
        ({"nutrient.csv": None}, "has no nutrient.csv"),
        ({"branded_food.csv": "fdc_id,gtin_upc\n1,2\n"}, "a branded_food.csv without .*modified_date"),
        ({"food_nutrient.csv": ""}, "a food_nutrient.csv without fdc_id, nutrient_id and amount"),
        ({"food_nutrient.csv": BAD_ROW}, "a food_nutrient.csv of which a row cannot be read"),
        ({"nutrient.csv": OTHER_UNIT}, r"nutrient 1093 \(Sodium, Na\) in G instead of MG"),
        ({"branded_food.csv": files([])["branded_food.csv"]}, "no entry with a code"),
        ({"food.csv": files([])["food.csv"]}, "when its branded foods were published"),
    ],
)
def test_a_wrong_archive_is_refused_and_the_old_index_stays(
    tmp_path: Path, changed: dict[str, str | None], why: str
) -> None:
    assert_refused(tmp_path, write_archive(tmp_path / "a.zip", ONE, changed=changed), why)


def test_a_cut_or_damaged_archive_is_refused_and_the_old_index_stays(tmp_path: Path) -> None:
    write_enlarged(tmp_path / "a.zip", 200)
    whole = (tmp_path / "a.zip").read_bytes()
    damaged(tmp_path / "a.zip")
    assert_refused(
        tmp_path, tmp_path / "a.zip", "a damaged branded_food.csv|branded_food.csv of which a row cannot be read"
    )
    (tmp_path / "a.zip").write_bytes(whole)
    cut(tmp_path / "a.zip", 0.6)
    assert_refused(tmp_path, tmp_path / "a.zip", "not a whole zip archive")
    (tmp_path / "a.zip").write_text("<html>Please sign in</html>")
    assert_refused(tmp_path, tmp_path / "a.zip", "not a whole zip archive")
    assert_refused(tmp_path, tmp_path / "nothing.zip", "is not a file")


@pytest.mark.parametrize(("place", "value"), [(8, 1), (10, 9)], ids=["with a password", "packed as Deflate64"])
def test_an_archive_that_cannot_be_unpacked_is_refused(tmp_path: Path, place: int, value: int) -> None:
    """Flags and way of packing are in each file's header in the directory at the end (APPNOTE 4.3.12)."""
    archive = write_archive(tmp_path / "a.zip", ONE)
    changed = bytearray(archive.read_bytes())
    for header in re.finditer(rb"PK\x01\x02", changed):
        changed[header.start() + place] = value
    archive.write_bytes(changed)
    assert_refused(tmp_path, archive, "a nutrient.csv that cannot be unpacked")


def assert_refused(tmp_path: Path, archive: Path, why: str) -> None:
    """The build is refused for that reason, and the folder of the index is as it was."""
    to = tmp_path / "index" / "foods.sqlite3"
    to.parent.mkdir(exist_ok=True)
    to.write_bytes(b"the old index")
    with refused(BadInput, match=why):
        build_index(archive, to)
    assert [(one.name, one.read_bytes()) for one in to.parent.iterdir()] == [("foods.sqlite3", b"the old index")]


def test_without_room_on_the_disk_the_old_index_stays(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """SQLite says of a file at its largest what it says of a full disk."""
    write_enlarged(tmp_path / "a.zip", 2_000)
    to = tmp_path / "index" / "foods.sqlite3"
    to.parent.mkdir()
    to.write_bytes(b"the old index")
    monkeypatch.setattr(new_index, "PRAGMAS", new_index.PRAGMAS + "PRAGMA max_page_count=20;")
    with refused(StoreFault, match="no room left on its disk"):
        build_index(tmp_path / "a.zip", to)
    assert [(one.name, one.read_bytes()) for one in to.parent.iterdir()] == [("foods.sqlite3", b"the old index")]


@pytest.mark.parametrize("share", [0.01, 0.3, 0.6, 0.99])
def test_stopped_at_any_time_the_old_index_stays(tmp_path: Path, share: float) -> None:
    write_enlarged(tmp_path / "a.zip", 500)
    to = tmp_path / "index" / "foods.sqlite3"
    to.parent.mkdir()
    to.write_bytes(b"the old index")

    def stop(done: int, whole: int) -> None:
        if done >= share * whole > 0:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        build_index(tmp_path / "a.zip", to, stop)
    assert [(one.name, one.read_bytes()) for one in to.parent.iterdir()] == [("foods.sqlite3", b"the old index")]


def test_progress_rises_to_the_whole(tmp_path: Path) -> None:
    told: list[tuple[int, int]] = []
    build_index(
        write_archive(tmp_path / "a.zip", ONE), tmp_path / "foods", lambda done, whole: told.append((done, whole))
    )
    read = [done for done, whole in told if whole]
    assert read == sorted(read)
    assert read[-1] == told[-1][1]


def test_what_a_killed_build_has_left_is_removed_by_the_next(tmp_path: Path) -> None:
    """And what a build at work has begun is not."""
    (tmp_path / ".foods.99998.part").write_bytes(b"SQLite format 3\0 and then cut off")
    at_work = sqlite3.connect(tmp_path / ".foods.99999.part", isolation_level=None)
    at_work.execute("CREATE TABLE begun (x)")
    at_work.execute("BEGIN EXCLUSIVE")
    build_index(write_archive(tmp_path / "a.zip", ONE), tmp_path / "foods")
    assert {one.name for one in tmp_path.iterdir()} == {"a.zip", "foods", ".foods.99999.part"}
    at_work.close()


@pytest.mark.skipif(os.name != "posix", reason="signals are sent as POSIX has them")
@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_the_command_is_stopped_by_a_signal(tmp_path: Path, number: signal.Signals) -> None:
    write_enlarged(tmp_path / "a.zip", 20_000)
    to = tmp_path / "index" / "foods.sqlite3"
    to.parent.mkdir()
    to.write_bytes(b"the old index")
    command = [sys.executable, "-m", "service", "branded", "build", str(tmp_path / "a.zip")]
    environment = {**os.environ, "PACKED_LUNCH_BRANDED_FOODS_FILE": str(to)}
    with subprocess.Popen(command, stderr=subprocess.PIPE, text=True, env=environment) as running:
        until = time.monotonic() + GENEROUS
        while len(list(to.parent.iterdir())) == 1 and time.monotonic() < until:
            time.sleep(0.01)
        running.send_signal(number)
        _out, said = running.communicate(timeout=GENEROUS)
    assert running.returncode == 130
    assert "Stopped. What was built before is unchanged." in said
    assert [(one.name, one.read_bytes()) for one in to.parent.iterdir()] == [("foods.sqlite3", b"the old index")]


def test_values_are_those_of_the_archive(indexed: Indexed) -> None:
    food = indexed(Entry(1, CODE)).by_code(CODE)
    assert food is not None
    read = {1008: "energy_kcal", 1003: "protein_g", 1004: "fat_g", 1005: "carbohydrate_g", 1093: "sodium_mg"}
    assert {one.nutrient: one.amount for one in food.values if one.amount is not None} == {
        read[number]: amount for number, amount in OATS.items()
    }
