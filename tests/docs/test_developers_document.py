"""Promise: what DEVELOPERS.md names is there, its decisions have their heads, and its table of rooms is the house's."""

import importlib
import re

import pytest

from tests.served import ROOT

TEXT = (ROOT / "DEVELOPERS.md").read_text("utf-8")
PATHS = sorted(set(re.findall(r"`((?:service|tests|reference_data|openapi_examples|\.ci)(?:/[\w.-]+)+)/?`", TEXT)))
DECISIONS = re.findall(r"^(\d+)\. \*\*(.+?)\.\*\* (.+)$", TEXT, re.MULTILINE)
HEADS = ("Context", "Decision", "Consequences", "Alternatives")


@pytest.mark.parametrize("path", PATHS)
def test_the_path_exists(path: str) -> None:
    """A file that is moved is moved in the document too."""
    assert (ROOT / path).exists()


def test_the_document_names_files() -> None:
    """The test above sees them."""
    assert len(PATHS) > 40


@pytest.mark.parametrize("module", sorted(set(re.findall(r"python -m (tests[\w.]+)", TEXT))))
def test_the_module_to_run_exists(module: str) -> None:
    """``python -m`` finds it."""
    assert importlib.util.find_spec(module) is not None


@pytest.mark.parametrize("layer", ["domain", "jobs"])
def test_every_room_is_in_the_table(layer: str) -> None:
    """One line a subject; no folder without its line."""
    rooms = {path.parent.name for path in (ROOT / "service" / layer).glob("*/__init__.py")}
    named = set(re.findall(r"^\| `(\w+)` \|", TEXT, re.MULTILINE))
    assert rooms <= named


@pytest.mark.parametrize(("number", "title", "text"), DECISIONS, ids=[number for number, *_rest in DECISIONS])
def test_a_decision_has_its_heads(number: str, title: str, text: str) -> None:
    """In their order; one that is superseded names its successor."""
    places = [text.find(f"*{head}:*") for head in HEADS]
    assert -1 not in places
    assert places == sorted(places)
    for successor in re.findall(r"Superseded by (\d+)", text):
        assert int(successor) > int(number)
        assert re.search(rf"Supersedes [\d, and]*\b{number}\b", {n: t for n, _title, t in DECISIONS}[successor])


def test_decisions_are_numbered_without_gaps() -> None:
    """None is lost."""
    assert [int(number) for number, *_rest in DECISIONS] == list(range(1, len(DECISIONS) + 1))
    assert len(DECISIONS) >= 24


def test_every_command_of_ci_is_told_to_developers() -> None:
    """What must hold before a change lands can be run by hand; and CI begins with the README's test command."""
    script = (ROOT / ".ci" / "run").read_text("utf-8")
    for command in ("ruff check .", "ruff format --check .", "mypy", "lint-imports", "python -m pytest -m browser"):
        assert re.search(rf"^{re.escape(command)}$", script, re.MULTILINE)
        assert command in TEXT
    (test_command,) = re.findall(
        r"^python3 -m venv \.venv && .*pytest$", (ROOT / "README.md").read_text("utf-8"), re.MULTILINE
    )
    ours = test_command.replace("python3 -m venv .venv", "python3 -m venv --clear .venv").replace(".venv", ".ci-venv")
    assert ours in script
