"""Promise: what is removed is gone with all that hangs on it, and nothing is left hanging in the air."""

from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import text

from service.jobs.household.access.store import back_up
from service.jobs.household.transfer.restore import restore
from service.store.database import Store
from service.store.tables import METADATA
from tests.api.household.homes import Home, child_body, food_body, lunch_body, plan_body, recipe_body
from tests.api.problems_seen import problem_of

RECORDS = ("children", "foods", "packets", "recipes", "offers", "prices", "lunches", "plans", "stock", "stock_events")


def test_a_child_goes_with_all_its_history(home: Home, store: Store) -> None:
    """Lunches, plans and the stored replies that tell of them: no table holds the child's id, its lunches' or its nickname any more."""
    ids = home.fill()
    rowan = home.kept("/v1/children", child_body("Rowan"))
    home.kept("/v1/lunches", lunch_body(rowan, "2026-12-01"))
    child = home.ask("POST", "/v1/children", child_body("Zebulonia"), idempotency_key='"1"').json()["id"]
    lunches = []
    for number in range(3):
        body = lunch_body(child, f"2026-12-0{number + 1}", "apple")
        told = home.ask("POST", "/v1/lunches", body, idempotency_key=f'"lunch {number}"').json()
        assert told["stock"]["foods"][0]["taken_grams"] > 0
        lunches.append(told["lunch"]["id"])
    plan = plan_body(rowan, ids["offers"], name="for two", way="lunches", children=[child, rowan])
    assert "Zebulonia" in home.ask("POST", "/v1/plans", plan, idempotency_key='"plan"').text
    home.kept("/v1/plans", plan_body(child, ids["offers"], name="for one"))
    assert "Zebulonia" in home.ask("GET", "/v1/export").text
    answer = home.ask("DELETE", f"/v1/children/{child}", if_match="*")
    assert (answer.status_code, answer.content) == (204, b"")
    problem_of(home.ask("GET", f"/v1/children/{child}"), 404, "not-there")
    problem_of(home.ask("GET", f"/v1/children/{child}/weeks/2026-W49"), 404, "not-there")
    left = {one["child"] for one in home.ask("GET", "/v1/lunches").json()["items"]}
    assert left == {ids["children"], rowan}
    with store.reading() as connection:
        for table in METADATA.tables:
            rows = connection.execute(text(f"SELECT * FROM {table}")).all()  # noqa: S608 - names of our own
            told = " ".join(
                str([bytes(cell) if isinstance(cell, memoryview) else cell for cell in row]) for row in rows
            )
            for gone in (child, *lunches):
                assert gone not in told.replace("UUID(", ""), table
                assert gone.replace("-", "") not in told, table
            assert "Zebulonia" not in told, table
    assert [one["name"] for one in home.ask("GET", "/v1/plans").json()["items"]] == ["first weeks", "for two"]


@pytest.mark.parametrize("kind", ["foods", "recipes"])
def test_a_food_goes_out_of_wishes_and_out_of_the_fridge(home: Home, store: Store, tmp_path: Path, kind: str) -> None:
    """What is always to be in the fridge and what children dislike stays without it: it can be edited, backed up and restored."""
    body = food_body("gone") if kind == "foods" else recipe_body("apple", "gone")
    gone = home.kept(f"/v1/{kind}", body)
    child = "/v1/children/" + home.kept("/v1/children", child_body(dislikes=["pear", gone]))
    rules = [{"food": gone, "portions": 2.0}, {"food": "hummus", "portions": 1.0}]
    assert home.ask("PATCH", "/v1/household", {"keep_in_fridge": rules}).status_code == 200
    assert home.ask("DELETE", f"/v1/{kind}/{gone}", if_match="*").status_code == 204
    assert home.ask("GET", child).json()["dislikes"] == ["pear"]
    assert home.ask("GET", child).headers["etag"] == '"2"'
    assert home.ask("GET", "/v1/household").json()["keep_in_fridge"] == rules[1:]
    assert home.ask("PATCH", "/v1/household", {"retention_months": 14}).status_code == 200
    back_up(store, str(tmp_path / "backup"))
    assert restore(store, str(tmp_path / "backup"), replace=True).left_out == []


def test_the_other_children_of_a_plan_keep_theirs(home: Home) -> None:
    """Their places move up in what was asked and in what was decided; the plan can be made again."""
    ids = home.fill()
    zoe, rowan = (home.kept("/v1/children", child_body(name)) for name in ("Zebulonia", "Rowan"))
    days = ["2026-11-30", "2026-12-01"]
    portions = [{"child": one, "quantity": 0.5} for one in (zoe, rowan)]
    offer = {"groups": [{"id": "fruit", "items": [{"food": "apple", "portions": portions}, {"food": "banana"}]}]}
    asked = {
        **plan_body(rowan, ids["offers"], name="for three", way="lunches"),
        "children": [ids["children"], zoe, rowan],
        "offers": [{"id": "mornings", "offer": offer}],
        "not_there": [{"child": 2, "days": days[:1]}, {"child": 1, "days": days[1:]}],
        "buying": [{"child": 1, "most_a_week": 1}, {"child": 2, "most_a_week": 2}],
    }
    plan = home.kept("/v1/plans", asked)
    stored = home.ask("GET", f"/v1/plans/{plan}").json()
    before = stored["decisions"]
    assert before["days"][1]["lunches"][-1]["child"] == 2
    home.ask("PATCH", f"/v1/plans/{plan}", {"asked": {"before": before}}, if_match="*")
    assert home.ask("DELETE", f"/v1/children/{zoe}", if_match="*").status_code == 204
    left = home.ask("GET", f"/v1/plans/{plan}").json()
    assert left["asked"]["children"] == [ids["children"], rowan]
    assert left["asked"]["not_there"] == [{"child": 1, "days": days[:1]}]
    assert [(one["child"], one["most_a_week"]) for one in left["asked"]["buying"]] == [(1, 2)]
    assert left["asked"]["offers"][0]["offer"]["groups"][0]["items"][0]["portions"] == portions[1:]
    moved = {0: 0, 2: 1}
    for told in (left["decisions"], left["asked"]["before"]):
        for day, was in zip(told["days"], before["days"], strict=True):
            kept = [{**one, "child": moved[one["child"]]} for one in was["lunches"] if one["child"] in moved]
            assert day["lunches"] == kept
    again = home.ask("POST", f"/v1/plans/{plan}/revisions", {}, if_match="*")
    assert again.status_code == 200, again.text


def test_a_food_that_something_names_stays(home: Home) -> None:
    """409 with what names it; it goes once nothing does, in any order that respects this."""
    ids = home.fill()
    for name in ("foods", "recipes"):
        if name == "recipes":
            home.ask("PATCH", f"/v1/lunches/{ids['lunches']}", {"items": [{"food": ids["recipes"]}]}, if_match="*")
        told = problem_of(home.ask("DELETE", f"/v1/{name}/{ids[name]}", if_match="*"), 409, "still-used")
        assert told["errors"][0]["pointer"] in ("food_id", "recipe_id")
    assert home.ask("GET", f"/v1/foods/{ids['foods']}").status_code == 200
    for name in ("lunches", "prices", "plans", "offers", "recipes", "packets", "foods", "stock", "children"):
        assert home.ask("DELETE", f"/v1/{name}/{ids[name]}", if_match="*").status_code == 204, name
    told = home.ask("GET", "/v1/export").json()
    assert [told[name] for name in RECORDS] == [[]] * len(RECORDS)


def test_an_offer_that_a_lunch_was_taken_from_stays(home: Home) -> None:
    """The lunch tells where it came from."""
    ids = home.fill()
    home.kept("/v1/lunches", lunch_body(ids["children"], "2026-12-01", offer=ids["offers"]))
    problem_of(home.ask("DELETE", f"/v1/offers/{ids['offers']}", if_match="*"), 409, "still-used")


def test_the_name_of_what_is_gone_is_free(home: Home) -> None:
    """And the old creation sent again makes a new child: its stored reply is gone too."""
    first = home.ask("POST", "/v1/children", child_body(), idempotency_key='"1"').json()["id"]
    assert home.ask("DELETE", f"/v1/children/{first}", if_match='"1"').status_code == 204
    again = home.ask("POST", "/v1/children", child_body(), idempotency_key='"1"')
    assert again.status_code == 201
    assert again.json()["id"] != first


def test_a_recipe_within_a_recipe_is_refused(home: Home) -> None:
    """So no recipe can hold itself."""
    food = home.kept("/v1/foods", food_body())
    recipe = home.kept("/v1/recipes", recipe_body(food))
    told = problem_of(home.ask("POST", "/v1/recipes", recipe_body(recipe, "pie")), 404, "not-there")
    assert told["errors"][0]["pointer"] == "#/ingredients/0/food"
    answer = home.ask("PATCH", f"/v1/recipes/{recipe}", recipe_body(recipe), if_match="*")
    problem_of(answer, 404, "not-there")


@pytest.mark.parametrize(("path", "body", "pointer"), [
    ("/v1/prices", {"what": "food", "food": "aple", "amount_minor": 1, "currency": "USD", "pack_grams": 1,
                    "from": "2026-09-01"}, "#/food"),
    ("/v1/recipes", {"name": "mash", "ingredients": [{"food": "aple", "grams": 1}]}, "#/ingredients/0/food"),
    ("/v1/offers", {"name": "o", "groups": [{"id": "g", "items": [{"food": "aple"}]}]}, "#/groups/0/items/0/food"),
    ("/v1/foods", food_body(allergens=[{"allergen": "peanutt", "level": "contains"}]), "#/allergens/0/allergen"),
])  # fmt: skip
def test_names_are_looked_up_when_they_are_kept(home: Home, path: str, body: Any, pointer: str) -> None:
    """A fault is told where it stands in what was sent."""
    told = problem_of(home.ask("POST", path, body), 422, "unknown-name", path)
    assert told["errors"][0]["pointer"] == pointer


@pytest.mark.parametrize("body", [
    {"what": "food", "food": "apple", "amount_minor": 3, "currency": "USD", "from": "2026-09-01"},
    {"what": "school_meal", "food": "apple", "amount_minor": 3, "currency": "USD", "from": "2026-09-01"},
    {"what": "school_meal", "amount_minor": -1, "currency": "USD", "from": "2026-09-01"},
    {"what": "school_meal", "amount_minor": 3.5, "currency": "USD", "from": "2026-09-01"},
    {"what": "school_meal", "amount_minor": 3, "currency": "dollar", "from": "2026-09-01"},
    {"what": "school_meal", "amount_minor": 3, "currency": "USD", "from": "tomorrow"},
    {"what": "school_meal", "amount_minor": 3, "currency": "USD"},
])  # fmt: skip
def test_a_price_that_is_none(home: Home, body: Any) -> None:
    """Whole minor units, a code of ISO 4217's form, a day; a pack for a food and none for a meal."""
    problem_of(home.ask("POST", "/v1/prices", body), 422, "invalid-request", "/v1/prices")
