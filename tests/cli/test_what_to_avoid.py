"""Promise: on the command line, what a child avoids may be said in people's own words: check, screen, offer."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from service.cli.main import app
from tests.jobs.allergens.avoiding_cases import (
    CASES,
    LEFT_OUT_AS,
    MISSPELT,
    Avoiding,
    audit,
    check,
    left_out_as,
    screening,
)

WAYS = {"check": check, "screen": screening, "offer": audit}
Run = Callable[..., Any]


@pytest.fixture
def run(tmp_path: Path) -> Run:
    """Runs a command on a request in a file; its reply as JSON, or with exit code 2 its faults."""

    def one(command: str, body: Any, *, refused: bool = False) -> Any:
        file = tmp_path / "request.json"
        file.write_text(json.dumps(body), encoding="utf-8")
        done = CliRunner().invoke(app, [command, str(file), "--json"])
        assert (done.exit_code == 2) == refused, done.output
        return json.loads(done.stderr if refused else done.stdout)

    return one


@pytest.mark.parametrize("case", CASES, ids=str)
def test_each_command_says_the_same(run: Run, case: Avoiding) -> None:
    asked = (case.avoids, case.food, case.packets())
    assert run("check", check(*asked))["allergens"][0]["outcome"] == case.outcome
    assert run("screen", screening(*asked))["rows"][0]["outcome"] == case.outcome
    assert left_out_as(run("offer", audit(*asked))) == LEFT_OUT_AS[case.outcome]


@pytest.mark.parametrize(("words", "near"), MISSPELT)
@pytest.mark.parametrize("command", WAYS)
def test_an_unknown_word_is_refused_with_near_names(run: Run, command: str, words: str, near: str) -> None:
    (fault,) = run(command, WAYS[command](words, "apple", []), refused=True)["faults"]
    assert fault["value"] == words
    assert near in fault["problem"] + fault["remedy"]
