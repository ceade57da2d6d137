"""Yardsticks on the command line: listed as such, and printed after the answer with what they are."""

import json

from typer.testing import CliRunner

from service.cli.main import app
from tests.contract.example_files import FOLDER


def printed(*arguments: str) -> str:
    return " ".join(CliRunner().invoke(app, list(arguments)).stdout.split())


def test_the_list_of_standards_says_which_are_yardsticks() -> None:
    listed = json.loads(CliRunner().invoke(app, ["standards", "--json"]).stdout)["items"]
    assert {one["id"] for one in listed if one["yardstick"]} == {"who-free-sugars-2015", "us-dietary-guidelines-2025"}
    assert printed("standards").count("; a yardstick") == 2


def test_a_check_prints_them_apart_and_answers_as_without_them() -> None:
    request = FOLDER / "check-lunch" / "beside-yardsticks.request.json"
    done = CliRunner().invoke(app, ["check", str(request)])
    text = " ".join(done.stdout.split())
    assert "WHO: free sugars, 2015: 0 of 2 limits kept. This does not change the result." in text
    assert "speaks of all that is eaten and drunk over days" in text
    body = json.loads(request.read_text("utf-8"))
    del body["yardsticks"]
    without = CliRunner().invoke(app, ["check", "-"], input=json.dumps(body))
    assert without.exit_code == done.exit_code
    assert without.stdout.splitlines()[0] == done.stdout.splitlines()[0]
    assert "WHO" not in without.stdout


def test_exact_figures_come_with_their_source() -> None:
    request = FOLDER / "sum-up-week" / "lunch-box-advice-and-a-yardstick.request.json"
    assert "(who-sugars-2015 recommendations [read])" in printed("week", str(request), "--exact")


def test_an_audit_prints_them_apart_with_how_many_lunches_keep_each_limit() -> None:
    request = FOLDER / "audit-offer" / "beside-yardsticks.request.json"
    done = CliRunner().invoke(app, ["offer", str(request)])
    text = " ".join(done.stdout.split())
    assert "WHO: free sugars, 2015: 2 of 8 lunches keep all its limits. This does not change the result." in text
    assert "speaks of all that is eaten and drunk over days" in text
    assert text.count("free sugars, strong") == 1
    body = json.loads(request.read_text("utf-8"))
    del body["children"][0]["yardsticks"]
    without = CliRunner().invoke(app, ["offer", "-"], input=json.dumps(body))
    assert without.exit_code == done.exit_code
    assert "WHO" not in without.stdout
