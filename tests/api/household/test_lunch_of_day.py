"""Promise: a child's lunch of a day is put at that day's address; lists are narrowed; what was read may be sent back.

RFC 9110 sections 9.3.4 (PUT: 201 when made, 200 when replaced), 13.1.1 and 13.1.2 (If-Match, If-None-Match: *).
"""

from typing import Any

import pytest

from tests.api.household.homes import (  # fmt: skip
    COLLECTIONS,
    Home,
    child_body,
    food_body,
    lunch_body,
    recipe_body,
    today,
)
from tests.api.problems_seen import problem_of

DAY = "2026-12-01"


@pytest.fixture
def child(home: Home) -> str:
    """The id of a child."""
    return home.kept("/v1/children", child_body())


def _of_day(child: str, *foods: str) -> dict[str, Any]:
    return {name: value for name, value in lunch_body(child, DAY, *foods).items() if name not in ("child", "date")}


def test_it_is_kept_and_then_replaced(home: Home, child: str) -> None:
    """201 with Location where there was none, 200 where there was one; the same lunch under the same id."""
    place = f"/v1/children/{child}/lunches/{DAY}"
    made = home.ask("PUT", place, _of_day(child), if_none_match="*")
    assert made.status_code == 201, made.text
    assert made.headers["etag"] == '"1"'
    lunch = made.json()["lunch"]
    assert (lunch["child"], lunch["date"]) == (child, DAY)
    assert made.headers["location"] == f"/v1/lunches/{lunch['id']}"
    assert made.json()["check"]["verdict"] == lunch["found"]["verdict"]
    again = home.ask("PUT", place, _of_day(child, "banana"), if_match='"1"')
    assert again.status_code == 200, again.text
    assert again.headers["etag"] == '"2"'
    assert again.json()["lunch"]["id"] == lunch["id"]
    assert again.json()["lunch"]["items"][0]["food"] == "banana"
    assert "location" not in again.headers


@pytest.mark.parametrize(
    ("there", "condition", "status"),
    [
        (True, {"if_none_match": "*"}, 412),
        (True, {"if_none_match": '"1"'}, 412),
        (True, {"if_match": '"7"'}, 412),
        (True, {"if_match": "*"}, 200),
        (True, {}, 428),
        (False, {"if_match": "*"}, 412),
        (False, {"if_match": '"1"'}, 412),
        (False, {"if_none_match": "7"}, 201),
        (False, {}, 428),
    ],
)
def test_its_conditions(home: Home, child: str, there: bool, condition: dict[str, str], status: int) -> None:
    """Nothing is overwritten unread; nothing is taken for new that is there."""
    if condition.get("if_none_match") == "7":
        condition = {"if_none_match": '"7"'}
    if there:
        home.kept("/v1/lunches", lunch_body(child, DAY))
    answer = home.ask("PUT", f"/v1/children/{child}/lunches/{DAY}", _of_day(child, "banana"), **condition)
    assert answer.status_code == status, answer.text


def test_what_was_read_is_put_back(home: Home, child: str) -> None:
    """With the fields that the service gives it; another child or day in the body is refused."""
    read = home.ask("GET", "/v1/lunches/" + home.kept("/v1/lunches", lunch_body(child, DAY))).json()
    place = f"/v1/children/{child}/lunches/{DAY}"
    answer = home.ask("PUT", place, read, if_match='"1"')
    assert (answer.status_code, answer.headers["etag"]) == (200, '"1"'), answer.text
    other = home.kept("/v1/children", child_body("Rowan"))
    faults = problem_of(
        home.ask("PUT", place, {**read, "child": other, "date": "2026-12-02"}, if_match='"1"'), 422, "many-faults"
    )
    assert {one["pointer"] for one in faults["errors"]} == {"#/child", "#/date"}


def test_a_key_to_pack_puts_the_days_lunch_only(home: Home, child: str) -> None:
    """The rights are those of POST /v1/lunches."""
    body = _of_day(child)
    put = f"/v1/children/{child}/lunches/"
    assert home.ask("PUT", put + today(), body, key=home.pack, if_none_match="*").status_code == 201
    problem_of(home.ask("PUT", put + today(-9), body, key=home.pack, if_none_match="*"), 403, "forbidden-right")
    problem_of(home.ask("PUT", put + today(), body, key=home.read, if_none_match="*"), 403, "forbidden-right")


def test_a_child_that_is_not_here(home: Home, neighbours: Home, child: str) -> None:
    """Another household's child is not there."""
    answer = neighbours.ask("PUT", f"/v1/children/{child}/lunches/{DAY}", _of_day(child), if_none_match="*")
    assert answer.status_code == 404, answer.text


def test_lunches_are_listed_by_child_and_days(home: Home, child: str) -> None:
    """``child``, ``date``, ``from`` and ``to``, also together."""
    other = home.kept("/v1/children", child_body("Rowan"))
    for of, days in ((child, ("2026-11-30", DAY, "2026-12-02")), (other, (DAY,))):
        for day in days:
            home.kept("/v1/lunches", lunch_body(of, day))

    def found(query: str) -> list[tuple[str, str]]:
        items = home.ask("GET", f"/v1/lunches?{query}").json()["items"]
        return [(one["child"], one["date"]) for one in items]

    assert found(f"date={DAY}") == [(child, DAY), (other, DAY)]
    assert found(f"child={child}&from={DAY}") == [(child, DAY), (child, "2026-12-02")]
    assert found(f"child={child}&to={DAY}") == [(child, "2026-11-30"), (child, DAY)]
    assert found(f"child={other}&from={DAY}&to=2026-12-31") == [(other, DAY)]
    fault = problem_of(home.ask("GET", f"/v1/lunches?from={DAY}&to=2026-11-01"), 422, "bad-input")
    assert fault["errors"][0]["pointer"] == "to"
    fault = problem_of(home.ask("GET", "/v1/lunches?date=yesterday"), 422, "invalid-request")
    assert fault["errors"][0]["pointer"] == "date"


def test_foods_and_recipes_by_ids(home: Home, neighbours: Home) -> None:
    """In the order asked; those that are not here are left out."""
    food = home.kept("/v1/foods", food_body())
    recipe = home.kept("/v1/recipes", recipe_body(food))
    items = home.ask("GET", f"/v1/foods?ids={recipe},apple,{food},no-such-food").json()["items"]
    assert [one["id"] for one in items] == [recipe, "apple", food]
    assert [one["id"] for one in home.service.get(f"/v1/foods?ids=banana,{food}").json()["items"]] == ["banana"]
    assert [one["id"] for one in neighbours.ask("GET", f"/v1/foods?ids={food},apple").json()["items"]] == ["apple"]
    home.kept("/v1/recipes", recipe_body(food, "another"))
    items = home.ask("GET", f"/v1/recipes?ids={recipe},{food}").json()["items"]
    assert [one["id"] for one in items] == [recipe]
    problem_of(home.service.get("/v1/foods?ids=apple&q=pear"), 422, "invalid-request")
    problem_of(home.service.get("/v1/foods?ids="), 422, "invalid-request")


@pytest.mark.parametrize("collection", COLLECTIONS)
def test_a_record_is_put_back_as_it_was_read(home: Home, collection: str) -> None:
    """With its id, times and version in the body; nothing changed, so its version stays; PATCH {} likewise."""
    place = f"/v1/{collection}/{home.fill()[collection]}"
    answer = home.ask("GET", place)
    read = answer.json().get("kept", answer.json())
    back = home.ask("PUT", place, {**read, "version": 1}, if_match='"1"')
    assert (back.status_code, back.headers["etag"]) == (200, '"1"'), back.text
    patched = home.ask("PATCH", place, {}, if_match='"1"')
    assert (patched.status_code, patched.headers["etag"]) == (200, '"1"'), patched.text


def test_a_conflict_names_the_record_that_is_there(home: Home, child: str) -> None:
    """Its id among the params of the fault, its address in Location."""
    lunch = home.kept("/v1/lunches", lunch_body(child, DAY))
    answer = home.ask("POST", "/v1/lunches", lunch_body(child, DAY, "banana"))
    assert problem_of(answer, 409, "already-there")["errors"][0]["params"]["existing_id"] == lunch
    assert answer.headers["location"] == f"/v1/lunches/{lunch}"
    other = home.kept("/v1/lunches", lunch_body(child, "2026-12-02"))
    answer = home.ask("PATCH", f"/v1/lunches/{other}", {"date": DAY}, if_match='"1"')
    assert problem_of(answer, 409, "already-there")["errors"][0]["params"]["existing_id"] == lunch
    assert answer.headers["location"] == f"/v1/lunches/{lunch}"
