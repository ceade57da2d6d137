"""``packed-lunch recipe read``: pasted lines, a saved page, what is to be answered, and faults."""

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from service.cli.main import app

PAGE = """<html><script type="application/ld+json">{"@type": "Recipe", "name": "Buns", "url": "https://example.org/b",
"recipeYield": "4", "recipeIngredient": ["2 apples", "1 cup whole milk"]}</script></html>"""


def run(*words: str, given: str | None = None) -> tuple[int, str]:
    done = CliRunner().invoke(app, ["recipe", "read", *words], input=given)
    return done.exit_code, done.output


def test_a_page_that_was_saved_is_read_and_what_is_asked_ends_with_one(tmp_path: Path) -> None:
    page = tmp_path / "buns.html"
    page.write_text(PAGE, encoding="utf-8")
    code, shown = run(str(page))
    assert code == 1
    assert "From https://example.org/b" in shown
    assert "TO ANSWER" in shown
    assert "Line 1, 1 cup whole milk: How much a “cup” holds" in " ".join(shown.split()) or "differs" in shown
    code, shown = run(str(page), "--country", "US")
    assert code == 0
    assert "244" in shown


def test_lines_from_standard_input_as_json() -> None:
    code, shown = run("-", "--json", "--portions", "2", given="2 apples\n")
    reply = json.loads(shown)
    assert code == 0
    assert reply["dish"]["ingredients"] == [{"food": "apple", "grams": 364.0}]
    assert reply["complete"]


@pytest.mark.parametrize("words", [["nowhere.txt"], ["-", "--country", "usa"]])
def test_a_fault_ends_with_two(words: list[str]) -> None:
    code, _shown = run(*words, given="2 apples")
    assert code == 2


def test_answers_come_from_a_file_or_from_standard_input(tmp_path: Path) -> None:
    lines, answers = tmp_path / "lines.txt", tmp_path / "answers.json"
    lines.write_text("2 apples\na handful of raisins\n")
    answers.write_text('[{"line": 1, "grams": 40}]')
    assert run(str(lines))[0] == 1
    for words, given in (
        ([str(lines), "--answers", str(answers)], None),
        ([str(lines), "--answers", "-"], answers.read_text()),
    ):
        code, shown = run(*words, "--json", given=given)
        assert code == 0
        assert json.loads(shown)["dish"]["ingredients"][1] == {"food": "raisins", "grams": 40.0}


@pytest.mark.parametrize(
    ("answers", "said"),
    [
        ('[{"line": 1, "grams": 40}, {"line": 9}]', "--answers/1/line: '9' is not a line of the recipe"),
        ('[{"line": 0, "fod": "x"}]', "--answers/0/fod: 'x' is not a field here"),
        ('[{"line": 1, "food": "nope"}]', "--answers/0/food: 'nope' is not a known food"),
        ('[{"line": 0, "line": 1}]', "--answers/0/line: 'line' appears twice"),
        ('{"line": 0}', "--answers: '{\"line\": 0}' is not a list"),
        ("line 0", "is not JSON that can be read"),
    ],
)
def test_a_fault_of_the_answers_points_into_their_file(tmp_path: Path, answers: str, said: str) -> None:
    lines, file = tmp_path / "lines.txt", tmp_path / "answers.json"
    lines.write_text("2 apples\na handful of raisins\n")
    file.write_text(answers)
    code, shown = run(str(lines), "--answers", str(file))
    assert code == 2
    assert said in shown


def test_both_files_from_standard_input_are_refused() -> None:
    code, shown = run("-", "--answers", "-", given="2 apples")
    assert code == 2
    assert "--answers: '-' is standard input, and so is FILE" in shown
