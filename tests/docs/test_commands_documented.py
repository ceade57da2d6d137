"""Promise: every command and group of the command line is in the README, and no other; each says what it does."""

import re
from typing import Any

import pytest
import typer

from service.cli.main import app
from tests.served import ROOT

README = (ROOT / "README.md").read_text("utf-8")
TABLE = "\n".join(re.findall(r"^\| `packed-lunch .*$", README, re.MULTILINE))
COMMAND: Any = typer.main.get_command(app)
SINGLE = sorted(name for name, one in COMMAND.commands.items() if not hasattr(one, "commands"))
GROUPED = [
    (group, name)
    for group, one in sorted(COMMAND.commands.items())
    if hasattr(one, "commands")
    for name in one.commands
]


@pytest.mark.parametrize("name", SINGLE)
def test_the_command_has_its_row(name: str) -> None:
    """A command that is added needs its line, and a sentence in its help."""
    assert re.search(rf"`(packed-lunch )?{name}\b", TABLE)
    assert COMMAND.commands[name].help


@pytest.mark.parametrize(("group", "name"), GROUPED, ids="-".join)
def test_the_command_of_a_group_is_in_the_groups_row(group: str, name: str) -> None:
    """``packed-lunch keys make``, ``list``, ``revoke``."""
    (row,) = re.findall(rf"^\| `packed-lunch {group} .*$", TABLE, re.MULTILINE)
    assert re.search(rf"[` ]{name}\b", row)
    assert COMMAND.commands[group].commands[name].help


def test_every_option_named_is_there() -> None:
    """Options in the README's table belong to some command."""
    known = {
        option
        for one in COMMAND.commands.values()
        for command in (getattr(one, "commands", None) or {"": one}).values()
        for parameter in command.params
        for option in parameter.opts
    }
    named = set(re.findall(r"--[a-z-]+", TABLE))
    assert named
    assert named <= known


def test_the_readme_names_no_command_that_is_gone() -> None:
    """Neither in the table nor in its text."""
    named = set(re.findall(r"packed-lunch ([a-z][a-z-]*)\b", README.replace("packed-lunch check at", "")))
    assert named <= {*SINGLE, *(group for group, _name in GROUPED)}
