"""Promise: what is printed for people is plain text that says what the reply says."""

import json
import os
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from service.cli.main import app
from service.cli.terminal.printing import measured
from tests.api.clients import changed
from tests.contract.example_files import FOLDER, OF_A_HOUSEHOLD, Example, example_files
from tests.served import GENEROUS, ROOT

CONTROL = re.compile(r"[\x00-\x09\x0b-\x1f\x7f-\x9f]")
INLINE = [one for one in example_files() if not one.case.startswith(("error-", OF_A_HOUSEHOLD))]
LUNCHES = [one for one in INLINE if one.operation == "check-lunch"]
SCREENINGS = [one for one in INLINE if one.operation == "screen-allergens"]


def printed(*arguments: str, typed: Any = None) -> str:
    """What a command prints, in one line of text, so that wrapping does not matter."""
    done = CliRunner().invoke(app, list(arguments), input=None if typed is None else json.dumps(typed))
    assert done.exit_code in (0, 1), done.output
    assert done.stderr == ""
    assert not CONTROL.search(done.stdout)
    return " ".join(done.stdout.split())


@pytest.mark.parametrize("example", LUNCHES, ids=Example.id)
def test_a_check_prints_what_its_reply_says(example: Example) -> None:
    """Summary, every item, every figure's answer, every sentence on handling, every change, every caution."""
    reply = example.reply()
    text = printed("check", str(FOLDER / "check-lunch" / f"{example.case}.request.json"))
    sentences = [reply["summary"], *reply["cautions"]]
    sentences += [one["sentence"] for one in reply["handling"]]
    sentences += [one["sentence"] for one in reply["changes"]]
    sentences += [reply["energy_need"]["sentence"]] if reply["energy_need"] else []
    for one in sentences:
        assert " ".join(one.split()) in text
    assert reply["standard"]["on"] in text
    words = {"met": "met", "short": "too little", "over": "too much", "unknown": "cannot tell"}
    for status in {one["status"] for one in reply["findings"]} & set(words):
        assert words[status] in text
    flagged = {one["outcome"] for one in reply["allergens"]} - {"not_declared"}
    answers = {
        "avoid": "avoid",
        "may_contain": "may contain",
        "check_label": "read label",
        "label_not_seen": "read once",
    }
    for outcome in flagged:
        assert answers[outcome] in text


def test_what_cannot_be_told_says_how_far_it_is_known_and_what_to_look_for() -> None:
    """A lower bound is no amount, and the food whose figure is missing is named; with and without rounding."""
    file = FOLDER / "check-lunch" / "figures-not-known.request.json"
    reply = json.loads((FOLDER / "check-lunch" / "figures-not-known.response.json").read_text())
    unknown = [one for one in reply["findings"] if one["status"] == "unknown"]
    assert [one["id"] for one in unknown] == ["saturated-fat", "sodium"]
    plain, exact = printed("check", str(file)), printed("check", str(file), "--exact")
    for one in unknown:
        assert one["sentence"] in plain
        assert one["sentence"] in exact
    assert "sodium at least 255 mg at most 1,110 mg" in plain
    assert "sodium at least 255.02 at most 1,110 mg" in exact


def test_a_verdict_stands_first() -> None:
    """In capitals, before any figure."""
    done = CliRunner().invoke(app, ["check", str(FOLDER / "check-lunch" / "label-may-contain-peanuts.request.json")])
    assert done.stdout.startswith("DO NOT PACK\n")
    assert done.exit_code == 1


def test_sources_are_shown_on_request_only() -> None:
    """A parent reads the answer; who checks it asks for unrounded figures and their sources."""
    file = str(FOLDER / "check-lunch" / "keeps-the-rules.request.json")
    plain, exact = printed("check", file), printed("check", file, "--exact")
    reply = json.loads((FOLDER / "check-lunch" / "keeps-the-rules.response.json").read_text())
    for one in reply["findings"]:
        assert one["source"].split()[0] in exact
        assert one["source"].split()[0] not in plain
        if one["amount"] is not None:
            assert f"{one['amount']:,.6f}".rstrip("0").rstrip(".") in exact


@pytest.mark.parametrize(("value", "shown"), [(549.6, "549.6 kcal"), (549.999, "549.999 kcal"), (548.54, "549 kcal")])
def test_rounding_never_hides_that_a_bound_is_missed(value: float, shown: str) -> None:
    """Too little must not look like enough."""
    assert measured({"at_least": 550.0, "at_most": 650.0, "unit": "kcal"}, value) == shown


@pytest.mark.parametrize("example", SCREENINGS, ids=Example.id)
def test_a_screening_prints_every_child_and_item(example: Example) -> None:
    """The matrix, the evidence and the order of making."""
    reply = example.reply()
    text = printed("screen", str(FOLDER / "screen-allergens" / f"{example.case}.request.json"))
    for row in reply["rows"]:
        assert row["nickname"].split()[0] in text
    for step in reply["making_order"]:
        assert step["item"] in text
    assert ("do not pack" in text) == any(row["do_not_pack"] for row in reply["rows"])


def test_two_items_of_one_name_are_two_lines() -> None:
    """The second must not stand in for the first: here the first is the one to avoid."""
    bar = {"name": "oat bar", "serving": {"grams": 30}}
    body = {
        "children": [{"nickname": "Linden", "avoids": [{"allergen": "milk"}]}],
        "items": [
            {"food": {**bar, "ingredients": "Oats, milk powder."}},
            {"food": {**bar, "ingredients": "Oats, sugar."}},
        ],
    }
    done = CliRunner().invoke(app, ["screen", "-"], input=json.dumps(body))
    lines = [line for line in done.stdout.splitlines() if line.startswith("oat bar")]
    assert len(lines) == 2
    assert "avoid (do not pack)" in lines[0]
    assert "not declared" in lines[1]


def test_a_warning_is_not_among_what_is_made_first() -> None:
    """An item whose label warns of an avoided allergen is not said to be without it."""
    done = CliRunner().invoke(
        app, ["screen", str(FOLDER / "screen-allergens" / "three-children-four-foods.request.json")]
    )
    first = done.stdout.split("First, in any order:")[1].split("Then")[0]
    assert "apple" in first
    assert "oat and honey bar" not in first


@pytest.mark.parametrize(
    "name", ["rice [/] cake", "[bold]rice[/bold] cake", "rice [red]cake", ":apple: cake", "[estimated] cake"]
)
def test_names_are_printed_as_they_are(name: str) -> None:
    """Nothing in a name is taken for a way of printing it."""
    food = {"name": name, "serving": {"grams": 30}, "facts": {"energy_kcal": 100}}
    assert name in printed("check", "-", typed=changed("lunch/items/0/food", food))


def test_the_status_of_a_source_is_printed() -> None:
    """A figure that was not read at its source says so."""
    text = printed("standards", "us-school-lunch", "--on", "2026-12-01")
    assert "[second hand]" in text
    assert "[read]" in text
    assert "milk" in text
    assert re.search(r"at most 12 g in 170.1 g, each .*product", text)  # what stands between is the next column


def test_a_food_is_printed_with_what_is_not_known() -> None:
    """Unknown is a word, not a nought."""
    text = printed("foods", "sr28-09003")
    assert re.search(r"added_sugars_g unknown g unknown", text)


@pytest.mark.parametrize("arguments", [["demo"], ["demo", "--all"], ["standards"], ["--help"]])
def test_a_pipe_gets_no_control_codes(arguments: list[str]) -> None:
    """From a real process into a pipe: no colours, no cursor movements, and the same bytes twice."""
    environment = {**os.environ, "TERM": "xterm-256color", "COLUMNS": "200"}
    environment.pop("FORCE_COLOR", None)
    runs = [
        subprocess.run(
            [sys.executable, "-m", "service", *arguments],
            cwd=ROOT, env=environment, capture_output=True, timeout=GENEROUS, check=True,
        )
        for _ in range(2)
    ]  # fmt: skip
    assert runs[0].stdout == runs[1].stdout
    assert runs[0].stderr == b""
    assert not CONTROL.search(runs[0].stdout.decode("utf-8"))


def test_a_process_reads_a_pipe_and_ends_with_its_code(tmp_path: Path) -> None:
    """The command as it is used in a script, from another folder."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    command = [sys.executable, "-m", "service", "check", "-", "--json"]
    whole = (FOLDER / "check-lunch" / "keeps-the-rules.request.json").read_bytes()
    for typed, code in ((whole, 0), (json.dumps(changed("max_changes", 0)).encode(), 1), (b"{", 2)):
        done = subprocess.run(
            command, cwd=tmp_path, env=environment, input=typed, capture_output=True, timeout=GENEROUS, check=False
        )
        assert done.returncode == code
        assert bool(done.stdout) == (code != 2)
        assert bool(done.stderr) == (code == 2)
