"""Promise: ``packed-lunch branded`` builds the index, finds foods and shows one; what is wrong is one line and exit code 2."""

import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import Result
from typer.testing import CliRunner

from service.cli.main import app
from service.settings import settings
from tests.lookup.branded.make_archive import Entry, write_archive

CODE = "4006381333931"


@pytest.fixture
def archive(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """An archive of two foods; the index goes beside it."""
    monkeypatch.setenv("PACKED_LUNCH_BRANDED_FOODS_FILE", str(tmp_path / "foods.sqlite3"))
    settings.cache_clear()
    yield write_archive(
        tmp_path / "archive.zip",
        [
            Entry(1, CODE),
            Entry(2, "012345678905", description="RICE CRACKERS", ingredients="N/A", amounts={1008: 2000}),
        ],
    )
    settings.cache_clear()


def run(*arguments: str, code: int = 0) -> Result:
    done = CliRunner().invoke(app, ["branded", *arguments])
    assert done.exit_code == code, done.output
    return done


def test_built_found_and_shown(archive: Path) -> None:
    built = run("build", str(archive))
    assert "2 foods by code, the newest of 2 entries, as of 2024-06-13" in built.stdout
    assert "100 % read" in built.stderr
    assert "04006381333931  OAT BISCUITS" in run("find", "oat", "bisc").stdout
    shown = run("show", "12345678905").stdout
    assert "RICE CRACKERS (00012345678905)" in shown
    assert "Source: FoodData Central as of 2024-06-13, entry 2, changed 2024-05-01" in shown
    assert "doubtful" in shown
    assert "Ingredients: not given" in shown
    assert "compare the two" in shown


def test_as_json(archive: Path) -> None:
    built = json.loads(run("build", str(archive), "--json").stdout)
    assert {name: built[name] for name in ("foods", "versions", "release")} == {
        "foods": 2,
        "versions": 2,
        "release": "2024-06-13",
    }
    food = json.loads(run("show", CODE, "--json").stdout)
    assert food["values"][0] == {
        "nutrient": "energy_kcal",
        "amount": 380.0,
        "unit": "kcal",
        "basis": "100 g",
        "fdc_id": 1,
        "date": "2024-05-01",
        "implausible": False,
    }
    assert food["other_allergens"]["level"] == "label_not_seen"
    assert json.loads(run("find", "nothing such", "--json").stdout) == {"release": "2024-06-13", "items": []}


def test_what_is_wrong_is_said_in_one_line(archive: Path, tmp_path: Path) -> None:
    for without_index in (run("show", CODE, code=2), run("find", "oat", code=2)):
        assert without_index.stderr.startswith(f"'{tmp_path / 'foods.sqlite3'}' is not there")
        assert "packed-lunch branded build ARCHIVE.zip" in without_index.stderr
        assert "switching on FoodData Central" in without_index.stderr
    assert run("show", "12a", code=2).stderr.startswith("CODE: '12a' ")
    run("build", str(archive))
    assert "finds no branded food" in run("find", "nothing such", code=2).stderr
    assert (
        "is not in the index of branded foods, which is as of 13 June 2024"
        in run("show", "5000112637922", code=2).stderr
    )
    assert "its last digit does not match the others" in run("show", "4006381333932", code=2).stderr
    assert "has zeros only" in run("show", "0000", code=2).stderr
    assert "is not a file" in run("build", str(tmp_path / "nothing.zip"), code=2).stderr
