"""Promise: a fault of the input is told on standard error, one line a fault, with exit code 2; no traceback."""

import json
import re
from pathlib import Path

import pytest
from typer.testing import CliRunner

from service.cli.main import app
from tests.api.clients import LUNCH, changed
from tests.contract.example_files import FOLDER, OF_A_HOUSEHOLD

BAD_INPUT = 2
OTHER = re.compile(f"error-|{OF_A_HOUSEHOLD}")


def faults(*arguments: str, typed: str | bytes | None = None) -> list[str]:
    """The lines on standard error of a command that must fail."""
    done = CliRunner().invoke(app, list(arguments), input=typed)
    assert done.exit_code == BAD_INPUT, done.output
    assert done.stdout == ""
    assert "Traceback" not in done.stderr
    return done.stderr.splitlines()


@pytest.mark.parametrize("command", ["check", "screen"])
def test_a_file_that_is_not_there(command: str, tmp_path: Path) -> None:
    """The path and what to give instead."""
    missing = str(tmp_path / "no such lunch.json")
    (line,) = faults(command, missing)
    assert missing in line
    assert "standard input" in line


def test_a_folder_in_place_of_a_file(tmp_path: Path) -> None:
    """A folder cannot be read either."""
    (line,) = faults("check", str(tmp_path))
    assert "is a folder" in line


@pytest.mark.parametrize("body", [b"", b"{", b"nonsense", b"\xff\xfe", json.dumps(LUNCH).encode()[:-1]])
def test_a_file_that_is_no_json(body: bytes) -> None:
    """What is wrong with it and where."""
    (line,) = faults("check", "-", typed=body)
    assert "is not JSON" in line
    assert "line 1 column" in line


def test_one_line_a_fault() -> None:
    """Two unknown names, two lines; each with place, value and remedy."""
    lines = faults("check", "-", typed=json.dumps(changed("lunch/items", [{"food": "aple"}, {"food": "appel"}])))
    assert len(lines) == 2
    assert lines[0].startswith("/lunch/items/0/food: 'aple' is not a known food. Did you mean ")
    assert lines[1].startswith("/lunch/items/1/food: 'appel' is not a known food. Did you mean ")


def test_faults_of_form_are_one_line_each() -> None:
    """Unknown fields and wrong values, all together."""
    lines = faults("check", "-", typed=json.dumps(changed("child/alergies", ["milk"]) | {"on": "tomorrow"}))
    assert sorted(line.split(":")[0] for line in lines) == ["/child/alergies", "/on"]


def test_a_value_with_line_breaks_stays_on_its_line() -> None:
    """A fault cannot forge another line."""
    lines = faults("check", "-", typed=json.dumps(changed("standard", "us\n/lunch: all is well")))
    assert len(lines) == 1


def test_a_field_that_stands_twice() -> None:
    """The first of the two would be dropped without a word."""
    doubled = json.dumps(changed("child/avoids", [])).replace('"avoids"', '"avoids": [{"allergen": "milk"}], "avoids"')
    (line,) = faults("check", "-", typed=doubled)
    assert line.startswith("/child/avoids: ")


def test_faults_as_json() -> None:
    """One object on standard error."""
    told = json.loads("\n".join(faults("check", "-", "--json", typed=json.dumps(changed("standard", "x")))))
    assert [sorted(fault) for fault in told["faults"]] == [["code", "params", "pointer", "problem", "remedy", "value"]]


@pytest.mark.parametrize(("arguments", "words"), [
    (["foods", "xylophone"], "finds no food"),
    (["foods", "--id", "xylophone"], "xylophone"),
    (["standards", "us-school-lunches"], "us-school-lunch"),
    (["standards", "us-school-lunch", "--on", "tomorrow"], "YYYY-MM-DD"),
    (["standards", "us-school-lunch", "--on", ""], "YYYY-MM-DD"),
    (["standards", "us-school-lunch", "--on", "2026-02-30"], "YYYY-MM-DD"),
    (["standards", "us-school-lunch", "--on", "20261201"], "YYYY-MM-DD"),
    (["standards", "us-school-lunch", "--on", "1999-01-01"], "2022-07-01"),
    (["serve", "--tls-cert", "cert.pem"], "--tls-cert"),
])  # fmt: skip
def test_other_commands_tell_their_faults_the_same_way(
    monkeypatch: pytest.MonkeyPatch, arguments: list[str], words: str
) -> None:
    """One line, with the remedy."""
    monkeypatch.delenv("PACKED_LUNCH_ACCESS_KEY", raising=False)
    (line,) = faults(*arguments)
    assert words in line


@pytest.mark.parametrize("arguments", [
    ["check"], ["foods"], ["nonsense"], ["check", "-", "--nonsense"], ["foods", "milk", "--limit", "0"],
    ["foods", "milk", "--limit", "many"], ["serve", "--port", "0"], ["serve", "--port", "70000"],
])  # fmt: skip
def test_a_command_that_is_not_understood(arguments: list[str]) -> None:
    """Exit code 2, with the usage."""
    assert "Usage" in "\n".join(faults(*arguments))


@pytest.mark.parametrize(("name", "value"), [
    ("PORT", "many"), ("PORT", "0"), ("MAX_BODY_BYTES", "1"), ("LOG_LEVEL", "loud"), ("ALLOWED_ORIGINS", "*"),
])  # fmt: skip
def test_a_setting_that_cannot_be_used(monkeypatch: pytest.MonkeyPatch, name: str, value: str) -> None:
    """``serve`` names the setting and ends before it listens."""
    monkeypatch.setenv(f"PACKED_LUNCH_{name}", value)
    (line,) = faults("serve")
    assert name.lower() in line.lower()


@pytest.mark.parametrize(("command", "option", "example"), [
    ("shopping", "--csv", "make-shopping-list"),
    ("prep", "--pdf", "make-prep-sheet"),
])  # fmt: skip
def test_a_file_without_a_name_is_told_and_not_passed_over(command: str, option: str, example: str) -> None:
    """As from a shell's variable that is not set: nobody believes that a file was written."""
    request = next(one for one in sorted((FOLDER / example).glob("*.request.json")) if not OTHER.match(one.name))
    (line,) = faults(command, str(request), option, "")
    assert line.startswith(f"{option}: ")
