"""Promise: with ``--json`` a command prints what the API answers to the same request, and nothing else."""

import json
from typing import Any

import pytest
from typer.testing import CliRunner

from service.cli.main import app
from tests.api.clients import client
from tests.contract.example_files import FOLDER, OF_A_HOUSEHOLD, Example, example_files

COMMANDS = {"check-lunch": "check", "screen-allergens": "screen"}
BODIES = [one for one in example_files() if one.operation in COMMANDS]
ANSWERED = [one for one in BODIES if not one.case.startswith(("error-", OF_A_HOUSEHOLD))]
KEPT = [one for one in BODIES if one.case.startswith(OF_A_HOUSEHOLD)]
REFUSED = [one for one in BODIES if one.case.startswith("error-")]


def run(*arguments: str, typed: bytes | None = None) -> tuple[int, str, str]:
    """Exit code, standard output and standard error."""
    done = CliRunner().invoke(app, list(arguments), input=typed)
    return done.exit_code, done.stdout, done.stderr


def request_file(example: Example) -> str:
    """The path of an example's request."""
    return str(FOLDER / example.operation / f"{example.case}.request.json")


def code_of(reply: dict[str, Any]) -> int:
    """0 fine; 1 something to change, to read on a label or to avoid."""
    if "verdict" in reply:
        return 0 if reply["verdict"] == "pack" else 1
    return 1 if any(row["outcome"] != "not_declared" for row in reply["rows"]) else 0


@pytest.mark.parametrize("example", ANSWERED, ids=Example.id)
def test_a_file_gives_the_reply_of_the_api(example: Example) -> None:
    """Word for word, keys in the same order; the exit code says how it went."""
    code, out, err = run(COMMANDS[example.operation], request_file(example), "--json")
    assert json.dumps(json.loads(out)) == json.dumps(example.reply())
    assert err == ""
    assert code == code_of(example.reply())


@pytest.mark.parametrize("example", KEPT, ids=Example.id)
def test_what_a_household_keeps_is_not_open_to_files(example: Example) -> None:
    """A file has no access key: ids of stored records are refused, and it is said what to do."""
    code, out, told = run(COMMANDS[example.operation], request_file(example))
    assert (code, out) == (2, "")
    assert "only the household's access key opens" in told
    assert "or send the record itself" in told


def test_all_exit_codes_are_among_the_examples() -> None:
    """The test above sees a lunch that keeps the rules and lunches that do not."""
    assert {code_of(one.reply()) for one in ANSWERED} == {0, 1}


@pytest.mark.parametrize("example", ANSWERED[:3], ids=Example.id)
def test_standard_input_is_read_like_a_file(example: Example) -> None:
    """``-`` stands for standard input."""
    typed = json.dumps(example.request).encode()
    assert run("check", "-", "--json", typed=typed) == run("check", request_file(example), "--json")


@pytest.mark.parametrize("example", REFUSED, ids=Example.id)
def test_a_fault_is_the_fault_of_the_api(example: Example) -> None:
    """Place, value, problem and remedy are the same; exit code 2; nothing on standard output."""
    code, out, err = run(COMMANDS[example.operation], request_file(example), "--json")
    assert (code, out) == (2, "")
    told = [
        {
            "pointer": "#" + fault["pointer"],
            "value": fault["value"],
            "detail": fault["problem"],
            "remedy": fault["remedy"],
        }
        for fault in json.loads(err)["faults"]
    ]
    expected = example.reply()["body"]["errors"]
    assert told == [{name: error[name] for name in told[0]} for error in expected]


@pytest.mark.parametrize(("arguments", "path"), [
    (["foods", "whole", "wheat", "--limit", "5"], "/v1/foods?q=whole%20wheat&limit=5"),
    (["foods", "broc"], "/v1/foods?q=broc"),
    (["foods", "hummus"], "/v1/foods?q=hummus"),
    (["foods", "xylophone"], "/v1/foods?q=xylophone"),
    (["foods", "--id", "hummus"], "/v1/foods/hummus"),
    (["foods", "yogurt-vanilla-low-fat"], "/v1/foods/yogurt-vanilla-low-fat"),
    (["foods", "sandwich-ham"], "/v1/foods/sandwich-ham"),
    (["foods", "sr28-09003"], "/v1/foods/sr28-09003"),
    (["standards"], "/v1/standards"),
    (["standards", "us-school-lunch", "--on", "2027-07-01"], "/v1/standards/us-school-lunch?on=2027-07-01"),
    (["standards", "jp-school-lunch", "--on", "2026-12-01"], "/v1/standards/jp-school-lunch?on=2026-12-01"),
])  # fmt: skip
def test_a_look_up_gives_the_reply_of_the_api(arguments: list[str], path: str) -> None:
    """Foods and standards, listed and shown."""
    code, out, err = run(*arguments, "--json")
    assert (code, err) == (0, "")
    assert json.loads(out) == client().get(path).json()


def test_the_demo_is_three_checks_and_a_screening() -> None:
    """Each of them is what the API answers to the lunches of the demo family."""
    from service.cli.household.demo import FAMILY

    code, out, err = run("demo", "--json")
    assert (code, err) == (0, "")
    told = json.loads(out)
    service = client()
    checks = json.loads(FAMILY.read_bytes())["checks"]
    assert told["checks"] == [service.post("/v1/lunch-checks", json=one).json() for one in checks]
    assert {row["nickname"] for row in told["screening"]["rows"]} == {one["child"]["nickname"] for one in checks}
    assert [one["verdict"] for one in told["checks"]] == ["do_not_pack", "adjust", "do_not_pack"]
