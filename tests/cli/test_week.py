"""Promise: ``packed-lunch week`` says what the API answers, as tables, JSON, CSV and a page; exit codes as elsewhere."""

import json
import zipfile
from pathlib import Path

import pytest
from typer.testing import CliRunner

from service.cli.main import app
from tests.contract.example_files import FOLDER, Example, example_files
from tests.week_days import item, packed_week, week_body

WEEKS = [one for one in example_files() if one.operation == "sum-up-week"]
GOOD = [one for one in WEEKS if not one.case.startswith("error-")]


def run(*arguments: str, typed: str | None = None) -> tuple[int, str, str]:
    """Exit code, standard output and standard error."""
    done = CliRunner().invoke(app, list(arguments), input=typed)
    return done.exit_code, done.stdout, done.stderr


def request_file(example: Example) -> str:
    """The path of an example's request."""
    return str(FOLDER / example.operation / f"{example.case}.request.json")


@pytest.mark.parametrize("example", GOOD, ids=Example.id)
def test_json_is_the_reply_of_the_api(example: Example) -> None:
    """Word for word; 1, for in each of these weeks something is to change."""
    code, out, err = run("week", request_file(example), "--json")
    assert json.dumps(json.loads(out)) == json.dumps(example.reply())
    assert (code, err) == (1, "")


@pytest.mark.parametrize("example", GOOD, ids=Example.id)
def test_tables_say_what_the_reply_says(example: Example) -> None:
    """Summary, notes, what is open, changes, cost, cautions."""
    _code, out, _err = run("week", request_file(example))
    text = " ".join(out.split())
    reply = example.reply()
    sentences = [reply["summary"], *reply["notes"], *reply["cautions"], reply["variety"]["sentence"]]
    sentences += [one["sentence"] for one in reply["changes"]]
    sentences += [one["sentence"] for one in reply["findings"] if one["status"] in ("short", "over", "unknown")]
    sentences += [reply["cost"]["sentence"]] if reply["cost"] else []
    for one in sentences:
        assert " ".join(one.split()) in text


def test_csv_and_page_are_written_whole(tmp_path: Path) -> None:
    table, page = tmp_path / "week.csv", tmp_path / "week.html"
    code, _out, err = run("week", request_file(GOOD[0]), "--csv", str(table), "--page", str(page))
    assert (code, err) == (1, "")
    assert table.read_bytes().startswith(b"row,week,child,")
    assert table.read_bytes().count(b"\r\r") == 0
    assert page.read_text("utf-8").startswith("<!doctype html>")
    assert sorted(tmp_path.iterdir()) == [table, page]


def test_tables_for_other_programs_are_written_by_the_ending_of_the_name(tmp_path: Path) -> None:
    whole, days = tmp_path / "week.zip", tmp_path / "days.parquet"
    assert run("week", request_file(GOOD[0]), "--tables", str(whole))[0] == 1
    assert run("week", request_file(GOOD[0]), "--tables", str(days))[0] == 1
    with zipfile.ZipFile(whole) as archive:
        assert archive.read("days.parquet") == days.read_bytes()
        assert "datapackage.json" in archive.namelist()
    code, _out, err = run("week", request_file(GOOD[0]), "--tables", str(tmp_path / "week.xlsx"))
    assert code == 2
    assert ".zip, .parquet" in err


def test_a_file_that_cannot_be_written_is_named(tmp_path: Path) -> None:
    code, out, err = run("week", request_file(GOOD[0]), "--csv", str(tmp_path / "none" / "week.csv"))
    assert (code, out) == (2, "")
    assert err.startswith("--csv: ")


def test_a_week_in_order_ends_with_0() -> None:
    """Every target of the child-care lunch kept on each of five days, cold holding said."""
    lunch = [
        item("bread-whole-wheat", 64),
        item("chicken-breast-roasted", 60),
        item("broccoli-cooked", 120),
        item("orange", 180),
        item("milk-skim", 246),
    ]
    holding = {"insulated": True, "cold_sources": 2, "minutes_until_eaten": 120}
    days = [{**day, "holding": holding} for day in packed_week([lunch] * 5)]
    code, out, _err = run("week", "-", "--json", typed=json.dumps(week_body(days, "us-child-care-lunch")))
    reply = json.loads(out)
    assert {one["status"] for one in reply["findings"]} == {"met"}, reply["summary"]
    assert reply["handling"] == []
    assert code == 0


def test_a_fault_ends_with_2() -> None:
    bad = next(one for one in WEEKS if one.case.startswith("error-"))
    code, out, err = run("week", request_file(bad))
    assert (code, out) == (2, "")
    assert "/prices/1/currency" in err
