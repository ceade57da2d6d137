"""Promise: shopping, prep, labels and calendar say what the API answers, write their files, and end with the codes promised."""

import csv
import io
import json
from pathlib import Path

import pytest
import vobject
from pypdf import PdfReader
from typer.testing import CliRunner

from service.cli.main import app
from service.reference.sources import in_words
from tests.contract.example_files import FOLDER, example_files

CASES = {
    "shopping": "make-shopping-list/three-days",
    "prep": "make-prep-sheet/sunday",
    "labels": "make-label-sheet/freezer",
    "calendar": "make-calendar/week",
}
OUT = {"shopping": "--csv", "prep": "--pdf", "labels": "--out", "calendar": "--out"}


def run(*arguments: str) -> tuple[int, str, str]:
    """Exit code, standard output and standard error."""
    done = CliRunner().invoke(app, list(arguments))
    return done.exit_code, done.stdout, done.stderr


@pytest.mark.parametrize("command", CASES)
def test_json_is_the_reply_of_the_api_and_the_file_is_written(command: str, tmp_path: Path) -> None:
    """1 where packets are to be read, 0 otherwise."""
    out = tmp_path / "out"
    code, told, err = run(command, str(FOLDER / f"{CASES[command]}.request.json"), OUT[command], str(out), "--json")
    (example,) = [one for one in example_files() if one.id() == CASES[command]]
    assert json.dumps(json.loads(told)) == json.dumps(example.reply())
    assert (code, err) == (1 if command in ("shopping", "prep") else 0, "")
    written = out.read_bytes()
    if command == "shopping":
        assert next(csv.reader(io.StringIO(written.decode())))[0] == "shop_on"
    elif command == "calendar":
        assert len(list(vobject.readOne(written.decode()).vevent_list)) == len(example.reply()["events"])
    else:
        assert PdfReader(io.BytesIO(written)).pages


@pytest.mark.parametrize("command", ["shopping", "prep"])
def test_tables_say_what_the_reply_says(command: str) -> None:
    _code, told, _err = run(command, str(FOLDER / f"{CASES[command]}.request.json"))
    (example,) = [one for one in example_files() if one.id() == CASES[command]]
    reply, text = example.reply(), "".join(told.split())
    sentences = [*reply["notes"], *reply["cautions"]]
    sentences += [one["sentence"] for one in reply.get("steps", []) + reply.get("dips", [])]
    lines = [line for day in reply.get("days", []) for kind in day["kinds"] for line in kind["lines"]]
    sentences += [word for line in lines for word in line["name"].split()]
    for one in sentences:
        assert "".join(one.split()) in text


@pytest.mark.parametrize("command", CASES)
def test_what_does_not_fit_is_said_and_nothing_is_written(command: str, tmp_path: Path) -> None:
    wrong = tmp_path / "wrong.json"
    wrong.write_text("{}", encoding="utf-8")
    out = tmp_path / "out"
    code, _told, err = run(command, str(wrong), OUT[command], str(out))
    assert code == 2
    assert "is missing" in err
    assert not out.exists()


@pytest.mark.parametrize("command", CASES)
def test_a_file_that_cannot_be_written_is_named(command: str, tmp_path: Path) -> None:
    code, _told, err = run(
        command, str(FOLDER / f"{CASES[command]}.request.json"), OUT[command], str(tmp_path / "none" / "out")
    )
    assert code == 2
    assert OUT[command] in err


def test_the_sheet_of_a_prep_day_names_its_sources_by_their_titles() -> None:
    """The titles are those of reference_data/sources.toml; the key of a source is for programs."""
    _code, told, _err = run("prep", str(FOLDER / f"{CASES['prep']}.request.json"))
    (example,) = [one for one in example_files() if one.id() == CASES["prep"]]
    rows = [one for batch in example.reply()["batches"] for one in (*batch["cooling"], *batch["keeping"])]
    assert rows
    for one in rows:
        assert "".join(in_words(one["source"]).split()) in "".join(told.split())
        assert f"({one['source']})" not in told
