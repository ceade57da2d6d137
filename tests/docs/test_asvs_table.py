"""Promise: the table of security requirements names all of ASVS 5.0.0 level 1, and files and tests that are there.

The numbers: OWASP Application Security Verification Standard 5.0.0, its released CSV (70 rows of level 1).
"""

import ast
import re

import pytest

from tests.served import ROOT

TEXT = (ROOT / "DEVELOPERS.md").read_text("utf-8")
PART = TEXT.partition("\n## Security, requirement by requirement\n")[2].partition("\n## ")[0]
ROWS = [[cell.strip() for cell in line.strip("|").split("|")] for line in PART.splitlines() if line.startswith("| V")]
LEVEL_1 = re.findall(
    r"[\d.]+",
    """
1.2.1 1.2.2 1.2.3 1.2.4 1.2.5 1.3.1 1.3.2 1.5.1 2.1.1 2.2.1 2.2.2 2.3.1 3.2.1 3.2.2 3.3.1 3.4.1 3.4.2 3.5.1 3.5.2 3.5.3
4.1.1 4.4.1 5.2.1 5.2.2 5.3.1 5.3.2 6.1.1 6.2.1 6.2.2 6.2.3 6.2.4 6.2.5 6.2.6 6.2.7 6.2.8 6.3.1 6.3.2 6.4.1 6.4.2
7.2.1 7.2.2 7.2.3 7.2.4 7.4.1 7.4.2 8.1.1 8.2.1 8.2.2 8.3.1 9.1.1 9.1.2 9.1.3 9.2.1 10.4.1 10.4.2 10.4.3 10.4.4 10.4.5
11.3.1 11.3.2 11.4.1 12.1.1 12.2.1 12.2.2 13.4.1 14.2.1 14.3.1 15.1.1 15.2.1 15.3.1
""",
)
NAMED = sorted(set(re.findall(r"`((?:service|tests)/[\w./-]+)(?:::(\w+))?`", PART)))
SOURCES = {path: path.read_text("utf-8") for path in sorted((ROOT / "service").rglob("*.py"))}


def test_all_of_level_1_is_in_the_table_once() -> None:
    numbers = [row[0].removeprefix("V") for row in ROWS]
    assert len(LEVEL_1) == 70
    assert set(LEVEL_1) <= set(numbers)
    assert len(numbers) == len(set(numbers))


@pytest.mark.parametrize(("path", "test"), NAMED, ids=["::".join(one) for one in NAMED])
def test_what_the_table_names_is_there(path: str, test: str) -> None:
    assert (ROOT / path).exists()
    assert not test or f"def {test}(" in (ROOT / path).read_text("utf-8")


@pytest.mark.parametrize("row", ROWS, ids=[row[0] for row in ROWS])
def test_each_row_has_a_test_or_says_why_not(row: list[str]) -> None:
    _number, _requirement, where, test = row
    assert where != "-"
    assert (
        "tests/" in test
        or test == "TODO-AT-MERGE"
        or re.search(r"does not apply|operator's part|there are none", where)
    )


def names_used(tree: ast.AST) -> set[str]:
    """Modules imported and plain functions called."""
    found: set[str] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            found |= {name.name for name in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            found.add(node.module)
        elif isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            found.add(f"{node.func.id}()")
    return found


def test_the_service_starts_no_program_and_runs_no_text() -> None:
    """No subprocess, no eval, no pickle, no parser of XML, in any module of the service."""
    refused = {"subprocess", "pickle", "marshal", "shelve", "yaml", "eval()", "exec()", "compile()"}
    parsers = ("xml.dom", "xml.etree", "xml.sax", "xml.parsers", "lxml")
    assert len(SOURCES) > 500
    used = {(path, name) for path, text in SOURCES.items() for name in names_used(ast.parse(text))}
    assert not {one for one in used if one[1] in refused}
    assert not {
        one for one in used if one[1].startswith(parsers) and one[1] != "xml.sax.saxutils"
    }  # which only escapes


def test_no_weak_hash_is_used() -> None:
    """Only SHA-256 of hashlib."""
    used = {name for text in SOURCES.values() for name in re.findall(r"hashlib\.(\w+)", text)}
    used |= {name for text in SOURCES.values() for name in re.findall(r"from hashlib import (\w+)", text)}
    assert used == {"sha256"}
