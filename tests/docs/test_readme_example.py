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


def test_the_recipe_of_the_readme_prints_what_the_readme_shows(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    recipe, answers = tmp_path / "cake.txt", tmp_path / "answers.json"
    recipe.write_text(block("1 cup sugar\n"), encoding="utf-8")
    answers.write_text(block('[{"line": 0'), encoding="utf-8")
    monkeypatch.setenv("COLUMNS", "110")
    shown = re.findall(r"^```\n(dish without a name\n.*?)^```", README, re.MULTILINE | re.DOTALL)
    for words, code, expected in (([], 1, shown[0]), (["--answers", str(answers)], 0, shown[1])):
        done = CliRunner().invoke(app, ["recipe", "read", str(recipe), "--country", "GB", "--portions", "6", *words])
        assert done.exit_code == code
        assert [line.rstrip() for line in done.output.rstrip().splitlines()] == expected.rstrip().splitlines()
