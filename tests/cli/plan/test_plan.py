"""``packed-lunch plan``: what is printed, and where the progress goes."""

import json
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from service.cli.main import app

OFFER = {
    "groups": [
        {"id": "mains", "items": [{"food": "pasta-tomato-chickpea"}, {"food": "sandwich-sunflower-jam"}]},
        {"id": "drinks", "items": [{"food": "water"}]},
    ]
}
ASKED: dict[str, Any] = {
    "way": "lunches",
    "days": ["2026-11-30", "2026-12-01"],
    "prep_days": ["2026-11-29"],
    "children": [{"nickname": "Rowan", "age_years": 8, "standard": "us-school-lunch"}],
    "offers": [{"id": "a", "offer": OFFER}],
    "dishes": [{"food": "pasta-tomato-chickpea", "batch_portions": 4, "fridge_days": 2, "minutes": 30}],
}


def ran(tmp_path: Path, *options: str, **more: Any) -> Any:
    """The command with a request file."""
    file = tmp_path / "plan.json"
    file.write_text(json.dumps({**ASKED, **more}))
    return CliRunner().invoke(app, ["plan", str(file), *options])


def test_the_plan_is_printed_day_by_day(tmp_path: Path) -> None:
    done = ran(tmp_path)
    assert done.exit_code == 0
    assert "2 school days are planned" in done.stdout
    assert "Sunday 29 November" in done.stdout
    assert "Rowan" in done.stdout


def test_the_progress_goes_to_standard_error_and_the_reply_alone_to_standard_output(tmp_path: Path) -> None:
    """The solver prints nothing; what is printed as JSON is JSON and nothing else."""
    done = ran(tmp_path, "--progress", "--json")
    assert json.loads(done.stdout)["search"]["gap"] >= 0
    assert "best possible" in done.stderr or "Looking" in done.stderr


@pytest.mark.parametrize("more", [{"prep_days": []}])
def test_a_plan_with_too_little_ends_with_1(tmp_path: Path, more: dict[str, Any]) -> None:
    alone = {"groups": [{"id": "mains", "items": [{"food": "pasta-tomato-chickpea"}]}]}
    done = ran(tmp_path, offers=[{"id": "a", "offer": alone}], **more)
    assert done.exit_code == 1
    assert "Missing" in done.stdout


def test_what_is_wrong_is_named_on_standard_error(tmp_path: Path) -> None:
    done = ran(tmp_path, dishes=[{"food": "soup", "batch_portions": 4, "fridge_days": 2}])
    assert done.exit_code == 2
    assert "/dishes/0/food" in done.stderr
