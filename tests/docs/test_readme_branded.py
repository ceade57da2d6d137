"""The README's packet by its code: the commands print what stands below them; lines that are left out are marked with an ellipsis."""

import re
from pathlib import Path

import pytest
from typer.testing import CliRunner

from service.cli.main import app
from service.settings import settings
from tests.docs.test_readme_sunday import COMMAND, LEFT_OUT, begins
from tests.lookup.branded.make_archive import Entry, write_archive
from tests.served import ROOT

(SECTION,) = re.findall(
    r"^### A packet by its code\n(.*?)^## ", (ROOT / "README.md").read_text("utf-8"), re.MULTILINE | re.DOTALL
)
COMMANDS, BELOW = re.findall(r"^```\n(.*?)^```", SECTION, re.MULTILINE | re.DOTALL)
BARS = Entry(
    2412345,
    "012345678905",
    description="PEANUT OAT BARS",
    ingredients="ROLLED OATS, PEANUTS, HONEY, PALM OIL, SALT. MAY CONTAIN SESAME.",
    serving="40",
    modified="2025-11-03",
    published="2026-04-30",
    amounts={1008: 462.5, 1003: 12.5, 1004: 22.5, 1005: 55.0, 1093: 250},
)


def test_the_commands_print_what_the_readme_shows(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write_archive(tmp_path / "branded_food.zip", [BARS])
    monkeypatch.setenv("PACKED_LUNCH_BRANDED_FOODS_FILE", str(tmp_path / "foods.sqlite3"))
    monkeypatch.setenv("COLUMNS", "110")
    monkeypatch.chdir(tmp_path)
    settings.cache_clear()
    printed: list[str] = []
    for command in COMMANDS.splitlines():
        done = CliRunner().invoke(app, command.removeprefix(COMMAND).split())
        assert done.exit_code == 0, done.output
        printed += [line.rstrip() for line in done.stdout.splitlines()]
    settings.cache_clear()
    at = 0
    for part in f"\n{BELOW}".split(f"\n{LEFT_OUT}\n"):
        lines = part.strip("\n").splitlines()
        at = begins(printed, lines, at) + len(lines)
    assert at == len(printed)
