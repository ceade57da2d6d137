"""The README's lunch, checked as it says, prints what it says."""

import re
from pathlib import Path

import pytest
from typer.testing import CliRunner

from service.cli.main import app

README = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")


def block(begins: str) -> str:
    """The block of the README that begins with a text."""
    found = re.search(rf"^```\w*\n({re.escape(begins)}.*?)^```", README, re.MULTILINE | re.DOTALL)
    assert found is not None, begins
    return found[1]


def test_the_lunch_of_the_readme_prints_what_the_readme_shows(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = tmp_path / "lunch.json"
    file.write_text(block("{\n"), encoding="utf-8")
    monkeypatch.setenv("COLUMNS", "110")
    printed = CliRunner().invoke(app, ["check", str(file)]).output
    lines = [line.rstrip() for line in printed.rstrip().splitlines()]
    assert lines == block("READ THE LABEL FIRST").rstrip().splitlines()
