"""Promise: GS1 codes name allergens wherever names do, and a packet's allergens come in and go out by them.

The codes and levels are those of the GS1 Web Vocabulary v1.16: AM milk, AP peanut, AW cereals with gluten, UN "shellfish",
which mixes crustaceans (AC) and molluscs (UM); CONTAINS, MAY_CONTAIN, FREE_FROM.
"""

import json

import pytest

from tests.api.household.homes import Home, child_body, today
from tests.api.problems_seen import problem_of

CODES = [
    {"code": "AM", "level": "CONTAINS"},
    {"code": "AP", "level": "MAY_CONTAIN"},
    {"code": "AW", "level": "FREE_FROM"},
]


def packet(**more: object) -> dict[str, object]:
    return {"food": "hummus", "read_on": today(), **more}


def test_a_packet_comes_in_by_codes_and_goes_out_by_codes(home: Home) -> None:
    """FREE_FROM comes in as not named and does not go out as a promise."""
    one = home.kept("/v1/packets", packet(gs1_allergens=CODES))
    whole = home.ask("GET", f"/v1/packets/{one}").json()
    assert {tick["allergen"]: tick["level"] for tick in whole["allergens"]} == {
        "milk": "contains", "peanut": "may_contain", "gluten_cereal": "not_named",
    }  # fmt: skip
    assert "gs1_allergens" not in whole
    told = home.ask("GET", f"/v1/packets/{one}/gs1-allergens").json()
    assert [(row["code"], row["level"]) for row in told["items"]] == [("AM", "CONTAINS"), ("AP", "MAY_CONTAIN")]
    again = home.ask("PUT", f"/v1/packets/{one}", whole, if_match="*")
    assert again.status_code == 200, again.text
    assert again.json()["allergens"] == whole["allergens"]


def test_what_the_words_of_a_packet_say_goes_out_too(home: Home) -> None:
    """A list by codes that knew the ticks alone would leave out milk."""
    one = home.kept(
        "/v1/packets",
        packet(ingredients="chickpeas, milk powder", allergens=[{"allergen": "lactose", "level": "contains"}]),
    )
    told = home.ask("GET", f"/v1/packets/{one}/gs1-allergens").json()
    assert ("AM", "CONTAINS") in [(row["code"], row["level"]) for row in told["items"]]
    assert told["not_written"] == ["chickpea", "lactose"]


def test_by_codes_a_lunch_is_judged_as_by_names(home: Home) -> None:
    child = home.kept("/v1/children", {**child_body(), "avoids": [{"allergen": "gs1:AM"}]})
    items = home.ask("GET", f"/v1/children/{child}/avoids").json()["items"]
    assert [(one["allergen"], one["gs1_code"]) for one in items] == [("milk", "AM")]


@pytest.mark.parametrize(("code", "said"), [("UN", "AC, UM"), ("MILK", "AM"), ("am", "AM")])
def test_codes_that_are_not_known_are_refused_by_name(home: Home, code: str, said: str) -> None:
    body = packet(gs1_allergens=[CODES[0], {"code": code, "level": "CONTAINS"}])
    told = problem_of(home.ask("POST", "/v1/packets", body), 422, "invalid-request")
    (fault,) = told["errors"]
    assert fault["pointer"] == "#/gs1_allergens/1/code"
    assert fault["value"] == code
    assert said in fault["remedy"]
    assert home.ask("GET", "/v1/packets").json()["items"] == []
    told = problem_of(
        home.ask("POST", "/v1/children", {**child_body(), "avoids": [{"allergen": f"gs1:{code.upper()}"}]})
        if code != "am"
        else home.ask("POST", "/v1/children", {**child_body(), "avoids": [{"allergen": "gs1:ZZ"}]}),
        422,
        "unknown-name",
    )
    assert "AC" in json.dumps(told)


def test_a_level_that_gs1_does_not_have_is_refused(home: Home) -> None:
    body = packet(gs1_allergens=[{"code": "AM", "level": "contains"}])
    problem_of(home.ask("POST", "/v1/packets", body), 422, "invalid-request")
