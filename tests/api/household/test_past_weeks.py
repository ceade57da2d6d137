"""Promise: a logged lunch keeps the figures and rules it was judged by; what was edited since is offered, not imposed."""

from typing import Any

import pytest

from tests.api.household.homes import Home, child_body, food_body, lunch_body, recipe_body
from tests.api.problems_seen import problem_of

DAY, WEEK = "2026-12-01", "2026-W49"


@pytest.fixture
def child(home: Home) -> str:
    return home.kept("/v1/children", child_body())


def week_of(home: Home, child: str, week: str = WEEK) -> dict[str, Any]:
    answer = home.ask("GET", f"/v1/children/{child}/weeks/{week}")
    assert answer.status_code == 200, answer.text
    return dict(answer.json())


def without(reply: dict[str, Any], *names: str) -> dict[str, Any]:
    return {
        name: value for name, value in reply.items() if name not in ("corrections", "notes", "note_messages", *names)
    }


@pytest.mark.parametrize("packed", ["food", "recipe with it"])
def test_an_own_food_edited_later_does_not_move_a_past_week(home: Home, child: str, packed: str) -> None:
    """170 kcal a bar when it was packed; 400 now. The week says so, and an empty edit of the lunch takes it over."""
    food = home.kept("/v1/foods", food_body())
    item = food if packed == "food" else home.kept("/v1/recipes", recipe_body(food))
    lunch = home.kept("/v1/lunches", lunch_body(child, DAY, item, "apple"))
    before = week_of(home, child)
    assert before["corrections"] == []
    edit = {"name": "oat slice", "facts": {"energy_kcal": 400, "sodium_mg": 75}}
    home.ask("PATCH", f"/v1/foods/{food}", edit, if_match="*")
    after = week_of(home, child)
    assert without(after) == without(before)
    (offered,) = after["corrections"]
    assert (offered["kind"], offered["food"], offered["dates"]) == ("food", item, [DAY])
    assert offered["sentence"] in after["notes"]
    home.ask("PATCH", f"/v1/lunches/{lunch}", {}, if_match="*")
    taken_over = week_of(home, child)
    assert taken_over["corrections"] == []
    assert taken_over["means"]["energy_kcal"]["mean"] > before["means"]["energy_kcal"]["mean"] + 100


def test_noting_what_came_back_takes_nothing_over(home: Home, child: str) -> None:
    """Half of the apple came back; the bar keeps its 170 kcal, though its label was edited in between."""
    food = home.kept("/v1/foods", food_body())
    lunch = home.kept("/v1/lunches", lunch_body(child, DAY, food, "apple"))
    bar = week_of(home, child)["days"][1]["totals"]["energy_kcal"]["amount"]
    home.ask("PATCH", f"/v1/foods/{food}", {"facts": {"energy_kcal": 400}}, if_match="*")
    noted = home.ask("PATCH", f"/v1/lunches/{lunch}", {"uneaten": [{"item": 1, "share": 0.5}]}, if_match="*")
    assert noted.status_code == 200, noted.text
    reply = week_of(home, child)
    assert reply["days"][1]["totals"]["energy_kcal"]["amount"] < bar
    assert [one["food"] for one in reply["corrections"]] == [food]


def test_an_allergen_found_later_is_seen_in_the_past_week_and_never_recommended(home: Home, child: str) -> None:
    """Its label is read again and names peanut: the figures stay those of then, the allergen does not."""
    food = home.kept("/v1/foods", food_body())
    for day in ("2026-11-30", DAY):
        home.kept("/v1/lunches", lunch_body(child, day, food, "apple"))
    home.ask("PATCH", f"/v1/foods/{food}", {"contains": "Contains: peanut."}, if_match="*")
    reply = week_of(home, child)
    assert [(row["name"], row["outcome"]) for row in reply["allergens"] if row["do_not_pack"]] == [("oat bar", "avoid")]
    assert reply["changes"][0]["mends"] == ["allergen:peanut"]
    assert reply["changes"][0]["kind"] == "remove"
    assert not any(one["kind"] == "portion" and one["name"] == "oat bar" for one in reply["changes"])


def test_another_standard_does_not_judge_old_weeks_anew(home: Home, child: str) -> None:
    """Logged by the US pattern; the child's standard is Scotland's now. A bought lunch keeps its rules as well."""
    home.kept("/v1/lunches", {"child": child, "date": "2026-11-30", "kind": "bought"})
    lunch = home.kept("/v1/lunches", lunch_body(child, DAY))
    before = week_of(home, child)
    home.ask("PATCH", f"/v1/children/{child}", {"standard": "gb-sct-school-lunch"}, if_match="*")
    after = week_of(home, child)
    assert without(after) == without(before)
    (offered,) = after["corrections"]
    assert (offered["kind"], offered["food"], offered["dates"]) == ("rules", None, ["2026-11-30", DAY])
    assert offered["params"]["standard"] == before["standard"]["title"]
    home.kept("/v1/lunches", lunch_body(child, "2026-12-08"))
    later = week_of(home, child, "2026-W50")
    assert later["standard"]["id"] == "gb-sct-school-lunch"
    assert later["standard"]["title"] == offered["params"]["standard_now"]
    assert [(one["week"], one["judged"]) for one in later["trend"]] == [("2026-W49", False), ("2026-W50", True)]
    for one in home.ask("GET", "/v1/lunches?week=2026-W49").json()["items"]:
        home.ask("PATCH", f"/v1/lunches/{one['id']}", {}, if_match="*")
    assert week_of(home, child)["standard"]["id"] == "gb-sct-school-lunch"
    assert home.ask("GET", f"/v1/lunches/{lunch}").json()["judged_by"]["standard"] == "gb-sct-school-lunch"


def test_a_birth_month_corrected_later_does_not_move_a_past_week(home: Home, child: str) -> None:
    """Eight years old: grades K to 5. By the corrected month eleven: grades 6 to 8, which the week only says."""
    home.kept("/v1/lunches", lunch_body(child, DAY))
    home.ask("PATCH", f"/v1/children/{child}", {"birth_month": "2014-03"}, if_match="*")
    reply = week_of(home, child)
    assert reply["standard"]["age_group"] == "grades-k-5"
    assert [one["kind"] for one in reply["corrections"]] == ["rules"]


def test_a_birthday_within_the_week_is_said_and_the_week_keeps_one_set_of_rules(home: Home) -> None:
    """Born in November 2015, so counted as eleven from 1 December 2026 (a Tuesday); the pattern changes at eleven."""
    child = home.kept("/v1/children", child_body(birth_month="2015-11"))
    for day in ("2026-11-30", DAY, "2026-12-08"):
        home.kept("/v1/lunches", lunch_body(child, day))
    reply = week_of(home, child)
    assert reply["standard"]["age_group"] == "grades-k-5"
    assert reply["corrections"] == []
    assert [one["code"] for one in reply["note_messages"]].count("week-note.birthday") == 1
    later = week_of(home, child, "2026-W50")
    assert later["standard"]["age_group"] == "grades-6-8"
    assert "week-note.birthday" not in [one["code"] for one in later["note_messages"]]


def test_what_speaks_against_packing_is_looked_for_in_what_is_stored_now(home: Home, child: str) -> None:
    """Even where only what came back is noted."""
    food = home.kept("/v1/foods", food_body())
    lunch = home.kept("/v1/lunches", lunch_body(child, DAY, food))
    home.ask("PATCH", f"/v1/foods/{food}", {"contains": "Contains: peanut."}, if_match="*")
    answer = home.ask("PATCH", f"/v1/lunches/{lunch}", {"uneaten": [{"item": 0, "share": 1}]}, if_match="*")
    problem_of(answer, 409, "must-not-be-packed")


def test_a_stored_meal_of_which_only_the_name_is_known_has_no_figures(home: Home, child: str) -> None:
    """What was not sent is stored as null, which is no figure either."""
    home.kept("/v1/lunches", lunch_body(child, "2026-11-30"))
    before = week_of(home, child)
    home.kept("/v1/lunches", {"child": child, "date": DAY, "kind": "bought", "menu": {"name": "pasta"}})
    reply = week_of(home, child)
    assert (reply["means"], reply["shown_apart"]) == (before["means"], [DAY])
