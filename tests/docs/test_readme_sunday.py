"""The README's Sunday: each of its commands prints what stands below it; lines that are left out are marked with an ellipsis."""

import re
from itertools import pairwise
from pathlib import Path

import pytest
from typer.testing import CliRunner

from service.cli.main import app
from tests.served import ROOT

LEFT_OUT = "…"
(SUNDAY,) = re.findall(r"^## A Sunday\n(.*?)^## ", (ROOT / "README.md").read_text("utf-8"), re.MULTILINE | re.DOTALL)
BLOCKS = re.findall(r"^```\n(.*?)^```", SUNDAY, re.MULTILINE | re.DOTALL)
COMMAND = ".venv/bin/packed-lunch "
SHOWN = [
    (command.removeprefix(COMMAND).split(), below)
    for command, below in pairwise(BLOCKS)
    if command.startswith(COMMAND) and not below.startswith(COMMAND)
]


def begins(printed: list[str], part: list[str], at: int) -> int:
    """Where a part begins in what was printed, from a line on."""
    for start in range(at, len(printed) - len(part) + 1):
        if printed[start : start + len(part)] == part:
            return start
    pytest.fail(f"not printed, or not in this order: {part}")


@pytest.mark.parametrize(("command", "below"), SHOWN, ids=lambda one: one[0] if isinstance(one, list) else "")
def test_a_command_of_the_sunday_prints_what_the_readme_shows(
    command: list[str], below: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    given = [str(ROOT / word) if word.startswith("openapi_examples/") else word for word in command]
    monkeypatch.setenv("COLUMNS", "110")
    monkeypatch.chdir(tmp_path)
    printed = [line.rstrip() for line in CliRunner().invoke(app, given).output.rstrip().splitlines()]
    parts = [part.strip("\n").splitlines() for part in f"\n{below.rstrip()}\n".split(f"\n{LEFT_OUT}\n")]
    parts = [part for part in parts if part]
    assert parts
    assert printed[: len(parts[0])] == parts[0]
    at = 0
    for part in parts:
        at = begins(printed, part, at) + len(part)
    if not below.rstrip().endswith(LEFT_OUT):
        assert at == len(printed)


def test_each_step_of_the_sunday_is_shown() -> None:
    """Plan, shopping, what to make, labels."""
    assert [command[0] for command, _below in SHOWN] == ["plan", "shopping", "prep", "labels"]
