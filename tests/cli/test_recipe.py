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
