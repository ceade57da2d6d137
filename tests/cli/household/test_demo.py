"""Promise: the first command of the README fits on a screen, and says what a parent has to know and do next."""

import contextlib
import json
import os
import pty
import re
import subprocess
import sys
import termios

import pytest
from typer.testing import CliRunner

from service.cli.main import app
from tests.served import GENEROUS, ROOT

MOST_LINES = 40
COLUMNS = 80
STYLE = re.compile(r"\x1b\[[0-9;]*m")


def printed(*options: str) -> str:
    """What ``packed-lunch demo`` prints."""
    done = CliRunner().invoke(app, ["demo", *options])
    assert done.exit_code == 0, done.output
    return done.stdout


def of_a_terminal(*arguments: str) -> list[str]:
    """The lines that a command prints on a terminal of 80 columns, without their style."""
    ours, its = pty.openpty()
    termios.tcsetwinsize(its, (24, COLUMNS))
    environment = {name: value for name, value in os.environ.items() if name not in ("COLUMNS", "LINES")}
    command = [sys.executable, "-m", "service", *arguments]
    with subprocess.Popen(
        command, cwd=ROOT, env={**environment, "TERM": "xterm"}, stdin=its, stdout=its, stderr=its
    ) as running:
        os.close(its)
        with os.fdopen(ours, "rb", buffering=0) as terminal:
            pieces = []
            with contextlib.suppress(OSError):  # reading ends with an error when the program has closed the terminal
                while piece := terminal.read(4096):
                    pieces.append(piece)
        assert running.wait(GENEROUS) == 0
    return STYLE.sub("", b"".join(pieces).decode()).splitlines()


def one_line(text: str) -> str:
    """Without the breaks that the width makes."""
    return " ".join(text.split())


@pytest.fixture(scope="module")
def reply() -> dict[str, list[dict[str, object]]]:
    """The checks and the screening."""
    return json.loads(printed("--json"))


def test_it_fits_on_a_screen() -> None:
    """Forty lines, in a pipe and on a terminal of 80 columns, in words that a parent uses."""
    assert len(printed().splitlines()) <= MOST_LINES
    on_terminal = of_a_terminal("demo")
    assert max(len(line) for line in on_terminal) <= COLUMNS
    assert len(on_terminal) <= MOST_LINES
    assert "Juniper: DO NOT PACK" in on_terminal
    assert not re.search(r"\b(finding|target|basis|bound|null|None)s?\b", " ".join(on_terminal))


def test_it_says_for_each_child_what_and_why(reply: dict[str, list[dict[str, object]]]) -> None:
    """Verdict, summary and the first change of each child; nothing of it needs ``--all``."""
    text = one_line(printed())
    words = {"do_not_pack": "DO NOT PACK", "adjust": "CHANGE SOMETHING", "check_label": "READ THE LABEL FIRST"}
    for one in reply["checks"]:
        assert f"{one['nickname']}: {words[str(one['verdict'])]}" in text
        assert one_line(str(one["summary"])) in text
        assert one_line(one["changes"][0]["sentence"]) in text  # type: ignore[index]


def test_every_problem_that_a_change_fixes_has_a_change(reply: dict[str, list[dict[str, object]]]) -> None:
    """Other ways to the same are left to ``--all``."""
    text = one_line(printed())
    for one in reply["checks"]:
        shown = [change for change in one["changes"] if one_line(change["sentence"]) in text]  # type: ignore[attr-defined]
        every = {fixed for change in one["changes"] for fixed in change["mends"]}  # type: ignore[attr-defined]
        assert {fixed for change in shown for fixed in change["mends"]} == every


def test_labels_to_read_cautions_and_what_comes_next(reply: dict[str, list[dict[str, object]]]) -> None:
    """Every label to read is named for its child; every caution stays; every command named exists."""
    text = one_line(printed())
    for row in reply["screening"]["rows"]:  # type: ignore[call-overload]
        for found in row["findings"]:
            if found["outcome"] == "check_label":
                assert f"For {row['nickname']}, who avoids {found['allergen']}" in text
                assert found["name"] in text
    for caution in reply["checks"][0]["cautions"]:  # type: ignore[attr-defined]
        assert caution in text
    named = set(re.findall(r"packed-lunch ([a-z]+)", text))
    assert named == {"demo", "check", "foods", "serve"}
    assert "--all" in text
    for command in named:
        assert CliRunner().invoke(app, [command, "--help"]).exit_code == 0


def test_all_of_it_is_there_when_asked_for(reply: dict[str, list[dict[str, object]]]) -> None:
    """Every item, figure and change of every check."""
    text = one_line(printed("--all"))
    for one in reply["checks"]:
        for item in one["items"]:  # type: ignore[attr-defined]
            assert item["name"].split()[0] in text
        for change in one["changes"]:  # type: ignore[attr-defined]
            assert one_line(change["sentence"]) in text
