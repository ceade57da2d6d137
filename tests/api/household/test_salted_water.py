"""Promise: a household says once whether it salts the water it cooks in, and every answer counts it.

Sodium of the two kinds of food: tests/reference/foods/test_salt_in_foods.py. Here: which of them is meant.
"""

from typing import Any

import pytest

from service.domain.measures import MEASURE_INDEX
from service.reference.foods.catalogue import find_food
from tests.api.household.homes import Home

SODIUM = MEASURE_INDEX["sodium_mg"]
ON, WEEK = "2026-12-01", "2026-W49"
DISH = {
    "name": "pasta and peas",
    "ingredients": [{"food": "pasta-cooked", "grams": 150}, {"food": "peas-green-cooked", "grams": 50}],
}
HOLDING = {"insulated": True, "cold_sources": 2, "minutes_until_eaten": 200}


def sodium_of(grams: dict[str, float]) -> float:
    """Milligrams in so many grams of each food, by the tables alone."""
    total = 0.0
    for food_id, amount in grams.items():
        food = find_food(food_id)
        assert food is not None
        total += float(food.nutrients[SODIUM] or 0) / food.basis_mg * amount
    return total


PLAIN = sodium_of({"pasta-cooked": 150, "peas-green-cooked": 50})
SALTED = sodium_of({"pasta-cooked-salted": 150, "peas-green-cooked-salted": 50})


@pytest.fixture
def kitchen_of(home: Home) -> tuple[Home, str, str]:
    """A household with a child and a dish of foods that are known both ways."""
    child = home.kept("/v1/children", {"nickname": "Rowan", "standard": "us-school-lunch", "birth_month": "2016-05"})
    return home, child, home.kept("/v1/recipes", {**DISH, "portions": 1})


def say(home: Home, salted: bool | None) -> Any:
    answer = home.ask("PATCH", "/v1/household", {"salts_cooking_water": salted})
    assert answer.status_code == 200, answer.text
    return answer.json()


def sodium_in(findings: list[dict[str, Any]]) -> float:
    (found,) = [one["amount"] for one in findings if one["id"] == "sodium"]
    return float(found)


def answers(home: Home, child: str, dish: str) -> dict[str, float]:
    """Sodium as each kind of answer has it, of one lunch of the dish."""
    items = [{"food": dish, "quantity": 1, "unit": "portion"}]
    asked: dict[str, tuple[str, dict[str, Any]]] = {
        "check": ("/v1/lunch-checks", {"on": ON, "child": child, "lunch": {"items": items}}),
        "dish": (
            "/v1/lunch-checks",
            {"on": ON, "child": child, "lunch": {"items": [{"food": {**DISH, "portions": 1}}]}},
        ),
        "offer": (
            "/v1/offer-audits",
            {
                "on": ON,
                "children": [child],
                "offer": {"groups": [{"id": "main", "items": items}]},
                "measures": ["sodium_mg"],
                "max_changes": 0,
            },
        ),
    }
    found = {}
    for name, (path, body) in asked.items():
        answer = home.ask("POST", path, body)
        assert answer.status_code == 200, answer.text
        if name == "offer":
            found[name] = float(answer.json()["children"][0]["measures"]["sodium_mg"]["median"])
        else:
            found[name] = sodium_in(answer.json()["findings"])
    body = {"child": child, "date": ON, "kind": "packed", "items": items, "holding": HOLDING}
    logged = home.ask("POST", "/v1/lunches", body).json()
    found["log"] = sodium_in(logged["check"]["findings"])
    week = home.ask("GET", f"/v1/children/{child}/weeks/{WEEK}").json()
    found["week"] = sodium_in(week["findings"])
    home.ask("DELETE", f"/v1/lunches/{logged['lunch']['id']}", if_match='"1"')
    return found


def test_said_once_and_counted_everywhere(kitchen_of: tuple[Home, str, str]) -> None:
    home, child, dish = kitchen_of
    assert SALTED > PLAIN + 300
    for salted, wanted in ((None, PLAIN), (True, SALTED), (False, PLAIN)):
        assert say(home, salted)["salts_cooking_water"] is salted
        found = answers(home, child, dish)
        assert set(found) == {"check", "dish", "offer", "log", "week"}
        assert list(found.values()) == pytest.approx([wanted] * 5, abs=1)


def test_a_lunch_keeps_the_answer_it_was_logged_under(kitchen_of: tuple[Home, str, str]) -> None:
    """One logged before the household had said anything takes the answer it gives first."""
    home, child, dish = kitchen_of
    body = {"child": child, "kind": "packed", "items": [{"food": dish, "quantity": 1, "unit": "portion"}]}
    wanted = []
    for day, said in (("2026-12-01", None), ("2026-12-02", True), ("2026-12-03", False)):
        say(home, said)
        home.kept("/v1/lunches", {**body, "date": day})
        wanted.append(SALTED if said else PLAIN)
    for now, first in ((False, PLAIN), (True, SALTED)):
        say(home, now)
        week = home.ask("GET", f"/v1/children/{child}/weeks/{WEEK}").json()
        assert sodium_in(week["findings"]) == pytest.approx((first + wanted[1] + wanted[2]) / 3, abs=1)


def test_a_request_may_say_otherwise(kitchen_of: tuple[Home, str, str]) -> None:
    home, child, dish = kitchen_of
    say(home, True)
    body = {"on": ON, "child": child, "lunch": {"items": [{"food": dish}]}, "salts_cooking_water": False}
    assert sodium_in(home.ask("POST", "/v1/lunch-checks", body).json()["findings"]) == pytest.approx(PLAIN, abs=1)


def test_a_dish_of_the_tables_is_cooked_so_too_and_packets_still_count(kitchen_of: tuple[Home, str, str]) -> None:
    """The id stays what was sent; the packet of the pasta speaks of it whichever way it is cooked."""
    home, child, _dish = kitchen_of
    items = [{"food": "pasta-tuna-sweetcorn"}, {"food": "pasta-cooked"}]
    body = {"on": ON, "child": child, "lunch": {"items": items}, "max_changes": 0}
    before = home.ask("POST", "/v1/lunch-checks", body).json()
    say(home, True)
    home.kept(
        "/v1/packets",
        {"food": "pasta-cooked", "read_on": ON, "ingredients": "Durum wheat semolina.", "may_contain": ""},
    )
    after = home.ask("POST", "/v1/lunch-checks", body).json()
    assert sodium_in(after["findings"]) > sodium_in(before["findings"]) + 300
    assert sorted(one["food"] for one in after["items"]) == sorted(one["food"] for one in before["items"])
    assert "pasta, cooked in salted water" in [one["name"] for one in after["items"]]


def test_the_setting_is_the_households_own(home: Home, neighbours: Home) -> None:
    say(home, True)
    assert neighbours.ask("GET", "/v1/household").json()["salts_cooking_water"] is None
    assert home.ask("PATCH", "/v1/household", {"salts_cooking_water": False}, key=home.read).status_code == 403
    refused = home.ask("PATCH", "/v1/household", {"salts_cooking_water": "often", "retention_months": 0})
    assert refused.status_code == 422
    assert [one["pointer"] for one in refused.json()["errors"]] == ["#/retention_months", "#/salts_cooking_water"]
    assert home.ask("GET", "/v1/household").json()["salts_cooking_water"] is True


def questions(reply: Any) -> list[Any]:
    """What a reply asks about the water, wherever in it."""
    if isinstance(reply, dict):
        here = [reply] if reply.get("code") == "caution.salted-water" else []
        return here + [one for value in reply.values() for one in questions(value)]
    return [one for value in reply for one in questions(value)] if isinstance(reply, list) else []


def test_what_hangs_on_the_water_is_asked_once_a_reply_until_it_is_said(kitchen_of: tuple[Home, str, str]) -> None:
    """Two foods and one question, with the field that answers it; an offer asks once, not in each of its examples."""
    home, child, dish = kitchen_of
    items = [{"food": dish, "quantity": 1, "unit": "portion"}, {"food": "apple"}]
    asked: list[tuple[str, dict[str, Any]]] = [
        ("/v1/lunch-checks", {"on": ON, "child": child, "lunch": {"items": items}}),
        ("/v1/offer-audits", {"on": ON, "children": [child], "offer": {"groups": [{"id": "main", "items": items}]}}),
        ("/v1/lunches", {"child": child, "date": ON, "kind": "packed", "items": items, "holding": HOLDING}),
    ]
    for path, body in asked:
        (question,) = questions(home.ask("POST", path, body).json())
        assert question["params"]["field"] == "salts_cooking_water"
        assert len(question["params"]["names"]) == 2
    week = f"/v1/children/{child}/weeks/{WEEK}"
    assert len(questions(home.ask("GET", week).json())) == 1
    for said in (True, False):
        say(home, said)
        for path, body in asked[:2]:
            assert questions(home.ask("POST", path, body).json()) == []
        assert questions(home.ask("GET", week).json()) == []


def test_nothing_is_asked_where_the_water_changes_nothing(kitchen_of: tuple[Home, str, str]) -> None:
    """Foods that are not boiled, one that is salted by its name, and one whose packet prints its sodium."""
    home, child, _dish = kitchen_of
    body = {"on": ON, "child": child, "max_changes": 0}
    items: list[dict[str, Any]] = [{"food": "apple"}, {"food": "pasta-cooked-salted"}]
    assert questions(home.ask("POST", "/v1/lunch-checks", {**body, "lunch": {"items": items}}).json()) == []
    packet = {"food": "pasta-cooked", "read_on": ON, "facts": {"sodium_mg": 3}}
    lunch = {"items": [{"food": "pasta-cooked"}]}
    assert questions(home.ask("POST", "/v1/lunch-checks", {**body, "lunch": lunch, "packets": [packet]}).json()) == []
