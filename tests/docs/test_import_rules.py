"""Promise: what the table of rooms says is enforced: an upward import and a circle are both refused."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.served import GENEROUS, ROOT


def import_rules(folder: Path) -> tuple[int, str]:
    """Exit code and output of import-linter on a copy of the package."""
    command = [sys.executable, "-c", "from importlinter.cli import lint_imports_command; lint_imports_command()"]
    done = subprocess.run(
        [*command, "--no-cache"],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(folder)},
        capture_output=True,
        text=True,
        timeout=GENEROUS,
        check=False,
    )
    return done.returncode, done.stdout + done.stderr


@pytest.fixture
def copied(tmp_path: Path) -> Path:
    """The package and its rules, to break."""
    shutil.copytree(ROOT / "service", tmp_path / "service", ignore=shutil.ignore_patterns("__pycache__", "static"))
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    return tmp_path


@pytest.mark.parametrize(
    ("file", "line", "contract", "seen"),
    [
        (
            "domain/foods/amounts.py",
            "import service.jobs.requests.lunches",
            "Imports point down",
            "service.domain is not allowed",
        ),
        (
            "domain/foods/amounts.py",
            "import service.domain.lunch.verdict",
            "In the domain, a subject uses only",
            "service.domain.foods is not allowed",
        ),
        (
            "domain/foods/food.py",
            "import service.domain.foods.recipes",
            "Nothing goes round in a circle",
            "No cycles are allowed in service.domain.foods",
        ),
        (
            "domain/foods/amounts.py",
            "import pydantic",
            "The domain knows no framework",
            "service.domain is not allowed to import pydantic",
        ),
    ],
)
def test_a_forbidden_import_is_refused(copied: Path, file: str, line: str, contract: str, seen: str) -> None:
    """One line added; the rule that forbids it is named."""
    path = copied / "service" / file
    path.write_text(path.read_text("utf-8") + f"\n{line}\n", "utf-8")
    code, told = import_rules(copied)
    assert code == 1, told
    broken = [row for row in told.splitlines() if "BROKEN" in row]
    assert any(contract in row for row in broken), told
    assert seen in told
