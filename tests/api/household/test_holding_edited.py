"""Promise: a lunch whose holding is edited is checked again: what kept cold yesterday's bag says nothing of today's."""

from tests.api.household.homes import Home, child_body, lunch_body

DAY = "2026-12-01"
COLD = {"insulated": True, "cold_sources": 2, "minutes_until_eaten": 240}
WARM = {"insulated": False, "cold_sources": 0, "minutes_until_eaten": 240}
ITEMS = [
    {"food": "bread-whole-wheat", "quantity": 2, "unit": "slice"},
    {"food": "turkey-breast-roasted", "quantity": 60, "unit": "g"},
    {"food": "carrots-raw", "quantity": 122, "unit": "g"},
    {"food": "apple", "quantity": 1, "unit": "apple"},
    {"food": "milk-1-percent", "quantity": 1, "unit": "cup"},
]
"""An invented lunch that keeps every rule checked for one lunch."""


def test_an_edit_of_how_it_is_kept_is_judged(home: Home) -> None:
    """Four hours in a bag without a cold source (common practice, and USDA's advice on bag lunches: two of them)."""
    child = home.kept("/v1/children", child_body(avoids=[]))
    lunch = "/v1/lunches/" + home.kept("/v1/lunches", {**lunch_body(child, DAY), "items": ITEMS, "holding": COLD})
    assert home.ask("GET", lunch).json()["found"]["verdict"] == "pack"
    assert home.ask("PATCH", lunch, {"holding": WARM}, if_match='"1"').status_code == 200
    assert home.ask("GET", lunch).json()["found"]["verdict"] == "adjust"
    assert home.ask("PATCH", lunch, {"holding": COLD}, if_match='"2"').status_code == 200
    assert home.ask("GET", lunch).json()["found"]["verdict"] == "pack"
