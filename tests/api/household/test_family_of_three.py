"""Promise: a family that has read its packets once is told what it may pack, and is asked for little more.

An invented family for two school weeks: home dishes of the foods of the tables, twelve packets, an offer for each week.
"""

import pytest

from tests.api.household.family_of_three import CHILDREN, NOT_READ, PACKETS, READ_ON, WEEKS, Family
from tests.api.household.homes import Home

HOLDS_IT = "pasta with tomato and cheese"
"""The dish whose packet was not read."""
MOST_PROMPTS = 3


@pytest.fixture
def family(home: Home) -> Family:
    """The family with everything stored."""
    return Family(home)


def test_every_lunch_they_may_take_is_settled(family: Family) -> None:
    """Right or wrong, but never "cannot tell"; only lunches with the food not read wait for its packet."""
    for week in WEEKS:
        for nickname, child in family.audit(week).items():
            assert child["total"] > 0
            assert child["unknown"] == 0, (week, nickname, child["handling"])
            assert child["right"] > child["wrong"]
            waiting = sum(one["lunches_with"] for one in child["items"] if one["item"] == HOLDS_IT)
            assert child["check_label"] == (waiting if nickname == "Fern" else 0)
            assert all(one["kind"] == "must_not" for one in child["left_out"])


def test_what_is_left_out_for_the_coeliac_child_holds_wheat(family: Family) -> None:
    found = {week: {one["item"] for one in family.audit(week)["Alder"]["left_out"]} for week in WEEKS}
    assert found == {"2026-W49": {"bread-whole-wheat"}, "2026-W50": {"bread-whole-wheat", HOLDS_IT}}


def test_few_packets_are_left_to_read_each_with_what_to_look_for(family: Family) -> None:
    prompts = {week: family.to_read(week) for week in WEEKS}
    assert all(len(some) <= MOST_PROMPTS for some in prompts.values())
    assert prompts["2026-W49"] == []
    (only,) = prompts["2026-W50"]
    assert only["food"] == NOT_READ
    assert [(one["nickname"], one["allergens"]) for one in only["children"]] == [("Fern", ["peanut", "tree_nut"])]
    for week, names in (("2026-W49", []), ("2026-W50", ["pasta, cooked, no salt"])):
        audit = family.whole_audit(week)
        rows = audit["to_read"] + audit["to_read_once"]
        assert [(one["name"], one["allergens"]) for one in rows] == [(name, ["peanut", "tree nuts"]) for name in names]
        assert all("ead the packet of pasta, cooked, no salt" in one["sentence"] for one in rows), rows
        assert [one["lunches"] for one in prompts[week]] == [one["lunches"] for one in rows]


@pytest.mark.parametrize("food", ["cheese-cheddar", "beans-kidney-canned", "tortilla-corn"])
def test_a_packet_taken_away_is_asked_for_again(family: Family, food: str) -> None:
    """And stored again it settles the same lunches."""
    (week, _other) = WEEKS
    settled = family.audit(week)
    packet = family.home.ask("GET", f"/v1/packets/{family.packets[food]}")
    gone = family.home.ask("DELETE", f"/v1/packets/{family.packets[food]}", if_match=packet.headers["ETag"])
    assert gone.status_code == 204, gone.text
    assert [one["food"] for one in family.to_read(week)] == [food]
    fern = family.audit(week)["Fern"]
    assert fern["check_label"] > 0
    assert fern["right"] < settled["Fern"]["right"]
    family.home.kept("/v1/packets", {"food": food, "read_on": READ_ON, "may_contain": "", **PACKETS[food]})
    assert family.audit(week) == settled


def test_two_weeks_are_logged_without_a_question(family: Family) -> None:
    """Each child, each school day; no finding of a lunch or of the week is left unknown but for the packet not read."""
    cleared: set[str] = set()
    for week in WEEKS:
        audit = family.audit(week)
        for nickname in CHILDREN:
            left_out = {one["item"] for one in audit[nickname]["left_out"]}
            for day in range(5):
                told = family.log(week, nickname, day, left_out)
                check, names = told["check"], [one["name"] for one in told["check"]["items"]]
                waits = nickname == "Fern" and HOLDS_IT in names
                assert check["verdict"] in (("check_label",) if waits else ("pack", "adjust"))
                assert [one for one in check["findings"] + check["handling"] if one["status"] == "unknown"] == []
                assert told["family_rule"]["kept"]
                cleared |= {one["basis"] for one in check["allergens"] if one["outcome"] == "not_declared"}
            summed_up = family.home.ask("GET", f"/v1/children/{family.children[nickname]}/weeks/{week}").json()
            assert [one for one in summed_up["findings"] if one["status"] == "unknown"] == []
            assert summed_up["counted_days"] == 5
    assert cleared == {"nature", "label_statement"}  # single foods, and packets that were read
