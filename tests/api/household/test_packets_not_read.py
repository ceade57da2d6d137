"""Promise: a packet whose statement could not be read says so wherever it is stored, shown or used, in one shape, and is
still to be read; one that was read says nothing.

Expected: counts of words by hand; the text is Russian, which is none of the languages that labels are read in.
"""

from datetime import date, timedelta
from typing import Any

import pytest

from tests.api.household.homes import Home

RUSSIAN = "Сахар, пшеничная мука, молоко"
READ = "Chickpeas, tahini, lemon juice, salt."
ON = date(2026, 12, 1)
PACKET = {"food": "hummus", "read_on": ON.isoformat(), "ingredients": RUSSIAN}
ITEMS = [{"food": "hummus"}, {"food": "apple"}]


@pytest.fixture
def child(home: Home) -> str:
    return home.kept("/v1/children", {
        "nickname": "Rowan", "standard": "us-school-lunch", "birth_month": "2016-05", "avoids": [{"allergen": "milk"}],
    })  # fmt: skip


def said(reply: Any) -> list[Any]:
    """The messages that a statement could not be read, each with its sentence."""
    pairs = zip(reply["caution_messages"], reply["cautions"], strict=True)
    return [{**one, "sentence": text} for one, text in pairs if one["code"] == "caution.not-read"]


def is_said_of_hummus(reply: Any) -> bool:
    (one,) = said(reply)
    counts = one["params"]["seen"]["params"]["seen"]
    assert (one["params"]["item"], counts["code"]) == ("hummus, shop bought", "evidence.not-read")
    assert counts["params"] == {"unknown": 4, "words": 4}
    assert "4 of 4 words unknown" in one["sentence"]
    assert "tick what it says" in one["sentence"]
    return True


def test_stored_shown_listed_replaced_and_edited(home: Home) -> None:
    answer = home.ask("POST", "/v1/packets", PACKET)
    assert is_said_of_hummus(answer.json())
    path = f"/v1/packets/{answer.json()['id']}"
    assert is_said_of_hummus(home.ask("GET", path).json())
    (listed,) = home.ask("GET", "/v1/packets").json()["items"]
    assert is_said_of_hummus(listed)
    as_read = home.ask("PUT", path, home.ask("GET", path).json(), if_match='"1"')
    assert as_read.status_code == 200, as_read.text
    assert is_said_of_hummus(as_read.json())
    edited = home.ask("PATCH", path, {"ingredients": READ}, if_match='"1"')
    assert said(edited.json()) == said(home.ask("GET", path).json()) == []


def test_it_is_not_stored_with_the_packet(home: Home) -> None:
    home.kept("/v1/packets", PACKET)
    (packet,) = home.ask("GET", "/v1/export").json()["packets"]
    assert "cautions" not in packet["body"]


def test_a_packet_of_an_own_food_is_called_by_its_name(home: Home) -> None:
    food = home.kept("/v1/foods", {"name": "chickpea dip", "serving": {"grams": 30}})
    (one,) = said(home.ask("POST", "/v1/packets", {**PACKET, "food": food}).json())
    assert one["params"]["item"] == "chickpea dip"


def test_a_declaration_that_could_not_be_read_says_so_too(home: Home) -> None:
    only = {"food": "hummus", "read_on": ON.isoformat(), "contains": "Содержит: молоко, орехи"}
    (one,) = said(home.ask("POST", "/v1/packets", only).json())
    assert one["params"]["seen"]["params"]["seen"]["params"] == {"unknown": 3, "words": 3}
    assert said(home.ask("POST", "/v1/packets", {**only, "food": "apple", "contains": "Contains: milk."}).json()) == []


def test_checks_offers_logs_and_weeks_say_it(home: Home, child: str) -> None:
    home.kept("/v1/packets", PACKET)
    day = ON.isoformat()
    check = home.ask("POST", "/v1/lunch-checks", {"on": day, "child": child, "lunch": {"items": ITEMS}}).json()
    asked = {"on": day, "children": [child], "items": [{"food": "hummus"}]}
    screening = home.ask("POST", "/v1/allergen-screenings", asked).json()
    offer = {"on": day, "children": [child], "offer": {"groups": [{"id": "dip", "items": ITEMS}]}}
    audit = home.ask("POST", "/v1/offer-audits", offer).json()
    logged = home.ask("POST", "/v1/lunches", {"child": child, "date": day, "kind": "packed", "items": ITEMS}).json()
    week = home.ask("GET", f"/v1/children/{child}/weeks/2026-W49").json()
    for reply in (check, screening, audit, logged["check"], logged["screening"], week):
        assert is_said_of_hummus(reply)
    later = (ON + timedelta(days=7)).isoformat()
    newer = {**PACKET, "read_on": later, "ingredients": READ}
    home.kept("/v1/packets", newer)
    assert said(home.ask("POST", "/v1/offer-audits", {**offer, "on": later}).json()) == []


def test_such_a_packet_is_still_to_be_read(home: Home, child: str) -> None:
    """Also where no lunch holds it yet; a tick for what the child avoids settles it."""
    packet = home.kept("/v1/packets", PACKET)
    path = f"/v1/packets/to-read?on={ON.isoformat()}"
    reply = home.ask("GET", path).json()
    assert [(one["food"], one["lunches"]) for one in reply["to_read"]] == [("hummus", 0)]
    assert reply["to_read"][0]["children"] == [{"id": child, "nickname": "Rowan", "allergens": ["milk"]}]
    assert is_said_of_hummus(reply)
    home.kept("/v1/lunches", {"child": child, "date": ON.isoformat(), "kind": "packed", "items": ITEMS})
    assert [one["lunches"] for one in home.ask("GET", path).json()["to_read"]] == [1]
    ticked = {"allergens": [{"allergen": "milk", "level": "not_named"}]}
    home.ask("PATCH", f"/v1/packets/{packet}", ticked, if_match='"1"')
    reply = home.ask("GET", path).json()
    assert reply["to_read"] == said(reply) == []
