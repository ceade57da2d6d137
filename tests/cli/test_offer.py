"""``packed-lunch offer`` as a user meets it: what it prints, the cards, and what it says to broken input."""

import json
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from service.cli.main import app
from service.cli.offer import change_words

EXAMPLE = Path(__file__).parents[2] / "openapi_examples/audit-offer/school-morning-of-three.request.json"
SMALL: dict[str, Any] = {
    "on": "2026-12-01",
    "offer": {
        "groups": [
            {"id": "fruit", "items": [{"food": "apple"}, {"food": "orange"}]},
            {"id": "drinks", "items": [{"food": "milk-skim"}], "take": {"at_least": 2, "at_most": 2}},
        ]
    },
    "children": [{"age_years": 8, "standard": "us-school-lunch"}],
}


def run(asked: dict[str, Any] | str, folder: Path, *options: str) -> tuple[int, str, str]:
    """Exit code, what was printed, and what was printed to the error stream."""
    file = folder / "offer.json"
    file.write_text(asked if isinstance(asked, str) else json.dumps(asked), encoding="utf-8")
    found = CliRunner().invoke(app, ["offer", str(file), *options], env={"COLUMNS": "120"})
    return found.exit_code, found.stdout, found.stderr


def test_the_example_prints_a_part_for_each_child_and_its_card(tmp_path: Path) -> None:
    cards = tmp_path / "cards.html"
    code, printed, _told = run(EXAMPLE.read_text(encoding="utf-8"), tmp_path, "--cards", str(cards))
    assert code == 1
    for name in ("Juniper", "Rowan", "Linden"):
        assert f"lunches {name} can take" in printed
    assert "Left out for Juniper: popcorn" in printed
    assert "Smallest changes to the offer" in printed
    assert "not for Linden" in printed
    page = cards.read_text(encoding="utf-8")
    assert page.count("<section>") == 3
    juniper = page[page.index("Juniper") : page.index("Rowan")]
    assert "popcorn" not in juniper
    assert "score" not in page
    assert "kcal" not in page


def test_an_offer_nobody_can_take_a_lunch_from_says_so_without_empty_tables(tmp_path: Path) -> None:
    code, printed, _told = run(SMALL, tmp_path)
    assert code == 1
    assert "There is no lunch that this child can take" in printed
    assert "Too little is left to take from drinks" in printed
    assert "lunches with it" not in printed
    assert "keep it" not in printed


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"measures": ["salt"]}, "/measures/0: 'salt' is not a known measure"),
        ({"swap_foods": ["aple"]}, "/swap_foods/0"),
        ({"wanted_share": 0}, "/wanted_share"),
        ({"children": [{"age_years": 8, "standard": "us-lunch"}]}, "/children/0/standard"),
        ({"children": [{"age_years": 8}]}, "/children/0/standard"),
        (
            {"children": [{**SMALL["children"][0], "without": [{"group": "fruit", "item": "pear"}]}]},
            "/children/0/without/0",
        ),
        ({"offer": {"groups": [{"id": "a", "items": []}]}}, "/offer/groups/0/items"),
        ({"offer": {"groups": SMALL["offer"]["groups"], "alternatives": [["fruit", "soup"]]}}, "/offer/alternatives/0"),
    ],
)
def test_broken_input_names_the_field_and_the_way_out(wrong: dict[str, Any], told: str, tmp_path: Path) -> None:
    code, printed, error = run({**SMALL, **wrong}, tmp_path)
    assert code == 2
    assert not printed
    assert told in error


def test_json_is_the_reply_of_the_service(tmp_path: Path) -> None:
    small = {**SMALL, "offer": {"groups": SMALL["offer"]["groups"][:1]}, "max_changes": 0}
    code, printed, _told = run(small, tmp_path, "--json")
    reply = json.loads(printed)
    assert code == 1
    assert reply["children"][0]["total"] == 2


@pytest.mark.parametrize(
    ("right", "shown"), [(1999, "99.95%"), (2000, "100.0%"), (1, "0.1%"), (0, "0.0%"), (1000, "50.0%")]
)
def test_nearly_all_lunches_are_not_all(right: int, shown: str) -> None:
    """One lunch in 2,000 that is not right must not vanish in rounding."""
    change = {
        "sentence": "Leave out cake.",
        "right_after": right,
        "right_once_read_after": right,
        "total_after": 2000,
        "right_share_after": right / 2000,
    }
    assert change_words(change) == f"Leave out cake. Then {right:,} of 2,000 are right ({shown})."
