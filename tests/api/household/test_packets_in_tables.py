"""Promise: a table of lunches is checked with what the household stored, and with packets sent along, as a single check is."""

from typing import Any

from tests.api.household.homes import Home

ON = "2026-12-01"
READ = {"food": "bread-whole-wheat", "read_on": ON, "ingredients": "Wheat flour, water, yeast, salt."}
ROW = {"standard": "us-school-lunch", "on": ON, "age_years": 9, "avoids": "sesame"}
ROWS = [{**ROW, "lunch": "A", "food": "bread-whole-wheat"}, {**ROW, "lunch": "B", "food": "pasta-cooked"}]


def ask(home: Home, rows: list[dict[str, Any]], **more: Any) -> Any:
    answer = home.ask("POST", "/v1/lunch-check-batches", {"rows": rows, **more})
    assert answer.status_code == 200, answer.text
    return answer.json()


def outcomes(reply: Any) -> dict[str, str]:
    return {one["lunch"]: one["allergen_outcome"] for one in reply["lunches"]}


def sodium(reply: Any) -> float:
    return float(reply["lunches"][1]["sodium_mg"])


def codes(reply: Any) -> list[str]:
    return [one["code"] for one in reply["caution_messages"]]


def test_packets_sent_along_are_used(home: Home) -> None:
    before, after = ask(home, ROWS), ask(home, ROWS, packets=[READ])
    assert outcomes(before)["A"] == "check_label"
    assert outcomes(after)["A"] == "not_declared"


def test_stored_packets_are_used_and_those_sent_come_first(home: Home) -> None:
    home.kept("/v1/packets", READ)
    assert outcomes(ask(home, ROWS))["A"] == "not_declared"
    seeded = {**READ, "ingredients": "Wheat flour, water, sesame seeds."}
    assert outcomes(ask(home, ROWS, packets=[seeded]))["A"] == "avoid"
    later = [{**ROWS[0], "on": "2027-06-01"}, ROWS[1]]
    assert outcomes(ask(home, later))["A"] == "check_label"


def test_salted_water_is_asked_once_and_then_counted(home: Home) -> None:
    """As in the single check: without an answer no salt is counted, and the reply asks."""
    before = ask(home, ROWS)
    assert codes(before).count("caution.salted-water") == 1
    sent = ask(home, ROWS, salts_cooking_water=True)
    home.ask("PATCH", "/v1/household", {"salts_cooking_water": True})
    stored = ask(home, ROWS)
    for reply in (sent, stored):
        assert "caution.salted-water" not in codes(reply)
        assert sodium(reply) > sodium(before) + 100
    assert sodium(ask(home, ROWS, salts_cooking_water=False)) == sodium(before)


def test_a_packet_that_could_not_be_read_says_so(home: Home) -> None:
    home.kept("/v1/packets", {**READ, "ingredients": "Сахар, пшеничная мука, молоко"})
    home.kept("/v1/packets", {**READ, "food": "hummus", "ingredients": "Сахар, пшеничная мука, молоко"})
    (said,) = [one for one in ask(home, ROWS)["caution_messages"] if one["code"] == "caution.not-read"]
    assert said["params"]["item"] == "whole wheat bread"
    assert "caution.not-read" not in codes(ask(home, ROWS[1:]))


def test_packets_that_do_not_fit_are_refused_with_their_place(home: Home) -> None:
    answer = home.ask("POST", "/v1/lunch-check-batches", {"rows": ROWS, "packets": [READ, {**READ, "food": "bred"}]})
    assert answer.status_code == 422
    assert [one["pointer"] for one in answer.json()["errors"]] == ["#/packets/1/food"]


def test_a_request_without_ids_uses_what_the_household_stores_too(home: Home) -> None:
    """A lunch check that names its child in full gets the stored packets as one that names it by id."""
    body = {
        "on": ON,
        "standard": "us-school-lunch",
        "child": {"age_years": 9, "avoids": [{"allergen": "sesame"}]},
        "lunch": {"items": [{"food": "bread-whole-wheat"}]},
        "max_changes": 0,
    }
    assert home.ask("POST", "/v1/lunch-checks", body).json()["allergens"][0]["outcome"] == "check_label"
    home.kept("/v1/packets", READ)
    assert home.ask("POST", "/v1/lunch-checks", body).json()["allergens"][0]["outcome"] == "not_declared"
