"""Promise: where a check takes a child, a lunch, an offer or a food, the id of one that is kept does the same.

Every answer is compared with that to the same request with everything sent along.
"""

from typing import Any

import pytest
from starlette.testclient import TestClient

from tests.api.household.homes import Home, child_body, food_body, lunch_body, offer_body, recipe_body
from tests.api.problems_seen import problem_of

DAY = "2026-12-01"
AVOIDS = [{"allergen": "peanut"}]
SENT = {"nickname": "Juniper", "age_months": 104, "avoids": AVOIDS}
RECIPE = recipe_body("x")


@pytest.fixture
def ids(home: Home) -> dict[str, str]:
    """One of each kind; the lunch is of today."""
    return home.fill()


def same(home: Home, path: str, by_id: Any, sent: Any) -> Any:
    """Both are answered, and alike."""
    answer, expected = home.ask("POST", path, by_id), home.ask("POST", path, sent)
    assert (answer.status_code, expected.status_code) == (200, 200), answer.text + expected.text
    assert answer.json() == expected.json()
    return answer.json()


def own_food(ids: dict[str, str]) -> dict[str, Any]:
    """The own food sent along, as the id that answers give it."""
    return food_body() | {"id": ids["foods"]}


def written_out(ids: dict[str, str]) -> dict[str, Any]:
    """The recipe with its own food sent along."""
    ingredients = [{"food": own_food(ids), "grams": 60}, {"food": "apple", "grams": 200}]
    assert RECIPE["ingredients"][1] == ingredients[1]
    return {**RECIPE, "ingredients": ingredients, "id": ids["recipes"]}


def test_a_check_by_ids(home: Home, ids: dict[str, str]) -> None:
    """Child, own food, own recipe; the offer's foods too."""
    standard = {"standard": "us-school-lunch", "on": DAY}
    by_id = {
        **standard,
        "child": ids["children"],
        "lunch": {"items": [{"food": ids["foods"], "quantity": 2}, {"food": ids["recipes"]}, {"food": "apple"}]},
        "offer": [ids["foods"], "banana", {"food": ids["recipes"], "quantity": 0.5}],
    }
    sent = {
        **standard,
        "child": SENT,
        "lunch": {"items": [{"food": own_food(ids), "quantity": 2}, {"food": written_out(ids)}, {"food": "apple"}]},
        "offer": [{"food": own_food(ids)}, "banana", {"food": written_out(ids), "quantity": 0.5}],
    }
    same(home, "/v1/lunch-checks", by_id, sent)


def test_a_kept_childs_standard_and_bans_serve_where_none_are_sent(home: Home) -> None:
    """And give way to those that are."""
    child = home.kept("/v1/children", child_body("Rowan", bans=["sesame"], ban_threshold="may_contain"))
    lunch = {"on": DAY, "lunch": {"items": [{"food": food_body(may_contain="May contain sesame.")}]}}
    of_child = {**SENT, "nickname": "Rowan"}
    bans = {"bans": ["sesame"], "ban_threshold": "may_contain"}
    told = same(
        home,
        "/v1/lunch-checks",
        {**lunch, "child": child},
        {**lunch, "child": of_child, "standard": "us-school-lunch", "setting": bans},
    )
    assert told["verdict"] == "do_not_pack"
    other: dict[str, Any] = {**lunch, "standard": "gb-sct-school-lunch", "setting": {"bans": ["milk"]}}
    same(home, "/v1/lunch-checks", {**other, "child": child}, {**other, "child": of_child})


def test_a_kept_lunch_is_checked(home: Home, ids: dict[str, str]) -> None:
    """For the child it was for, or another."""
    holding = {"insulated": True, "cold_sources": 1, "minutes_until_eaten": 200}
    lunch = home.kept("/v1/lunches", lunch_body(ids["children"], DAY, ids["foods"], "apple", holding=holding))
    asked = {"standard": "us-school-lunch", "on": DAY, "child": {"age_years": 9}}
    items = [{"food": own_food(ids)}, {"food": "apple"}]
    same(
        home,
        "/v1/lunch-checks",
        {**asked, "lunch": lunch},
        {**asked, "lunch": {"items": items, "holding": holding}},
    )


def test_a_screening_by_ids(home: Home, ids: dict[str, str]) -> None:
    """Children of two schools: each with its own school's bans."""
    rowan = home.kept("/v1/children", child_body("Rowan", avoids=[], bans=["oats"], ban_threshold="contains"))
    by_id = {
        "children": [ids["children"], rowan, {"nickname": "guest"}],
        "items": [{"food": ids["foods"]}, {"food": ids["recipes"]}, {"name": "box", "lunch": ids["lunches"]}],
    }
    sent = {
        "children": [
            {"nickname": "Juniper", "avoids": AVOIDS},
            {"nickname": "Rowan", "avoids": [{"allergen": "oats", "threshold": "contains"}]},
            {"nickname": "guest"},
        ],
        "items": [
            {"food": own_food(ids)},
            {"food": written_out(ids)},
            {"name": "box", "lunch": [{"food": own_food(ids)}]},
        ],
    }
    told = same(home, "/v1/allergen-screenings", by_id, sent)
    assert {row["nickname"] for row in told["rows"] if row["do_not_pack"]} == {"Rowan"}


def test_an_audit_by_ids(home: Home, ids: dict[str, str]) -> None:
    """The offer, its foods and the child, who does not take what it dislikes: by word, by its plural, by a food's id."""
    home.ask("PATCH", f"/v1/children/{ids['children']}", {"dislikes": ["carrot", "apple"]}, if_match="*")
    more = {"on": DAY, "examples": 1, "max_changes": 0}
    offer = {name: value for name, value in offer_body("x").items() if name != "name"}
    offer["groups"][1] = {"id": "extra", "items": [{"food": own_food(ids)}]}
    without = [{"group": "fruit", "item": "apple"}, {"group": "fruit", "item": "carrots-baby-raw"}]
    told = same(
        home,
        "/v1/offer-audits",
        {**more, "offer": ids["offers"], "children": [ids["children"]]},
        {**more, "offer": offer, "children": [{**SENT, "standard": "us-school-lunch", "without": without}]},
    )
    assert {row["item"] for row in told["children"][0]["left_out"] if row["kind"] == "dislike"} == {
        "apple", "carrots-baby-raw",
    }  # fmt: skip


CHECK = {"standard": "us-school-lunch", "on": DAY, "child": {"age_years": 8}, "lunch": {"items": [{"food": "apple"}]}}
SCREENING: dict[str, Any] = {"children": [{"nickname": "a"}], "items": [{"food": "apple"}]}
OFFER = {"groups": [{"id": "g", "items": [{"food": "apple"}]}]}
AUDIT = {"on": DAY, "offer": OFFER, "children": [{"age_years": 8, "standard": "us-school-lunch"}]}

PLACES: dict[str, tuple[str, Any, str, str]] = {
    "a check's child": ("/v1/lunch-checks", lambda i: {**CHECK, "child": i}, "children", "/child"),
    "a check's lunch": ("/v1/lunch-checks", lambda i: {**CHECK, "lunch": i}, "lunches", "/lunch"),
    "a check's food": (
        "/v1/lunch-checks", lambda i: {**CHECK, "lunch": {"items": [{"food": i}]}}, "foods", "/lunch/items/0/food",
    ),
    "a check's recipe": (
        "/v1/lunch-checks", lambda i: {**CHECK, "lunch": {"items": [{"food": i}]}}, "recipes", "/lunch/items/0/food",
    ),
    "a check's offer": ("/v1/lunch-checks", lambda i: {**CHECK, "offer": ["banana", i]}, "foods", "/offer/1"),
    "a screening's child": (
        "/v1/allergen-screenings", lambda i: {**SCREENING, "children": [i]}, "children", "/children/0",
    ),
    "a screening's food": (
        "/v1/allergen-screenings", lambda i: {**SCREENING, "items": [{"food": i}]}, "foods", "/items/0/food",
    ),
    "a screening's lunch": (
        "/v1/allergen-screenings", lambda i: {**SCREENING, "items": [{"lunch": i}]}, "lunches", "/items/0/lunch",
    ),
    "an audit's offer": ("/v1/offer-audits", lambda i: {**AUDIT, "offer": i}, "offers", "/offer"),
    "an audit's child": ("/v1/offer-audits", lambda i: {**AUDIT, "children": [i]}, "children", "/children/0"),
    "an audit's food": (
        "/v1/offer-audits",
        lambda i: {**AUDIT, "offer": {"groups": [{"id": "g", "items": [{"food": i}]}]}},
        "foods",
        "/offer/groups/0/items/0/food",
    ),
    "an audit's swap": ("/v1/offer-audits", lambda i: {**AUDIT, "swap_foods": [i]}, "foods", "/swap_foods/0"),
}  # fmt: skip


@pytest.mark.parametrize(("path", "body", "kind", "pointer"), PLACES.values(), ids=PLACES)
def test_an_id_of_another_household_is_404(
    home: Home, neighbours: Home, ids: dict[str, str], path: str, body: Any, kind: str, pointer: str
) -> None:
    """In every place where an id is taken; with the right key it is answered."""
    told = problem_of(neighbours.ask("POST", path, body(ids[kind])), 404, "not-there", path)
    assert told["errors"][0]["pointer"] == "#" + pointer
    for key in (home.keep, home.pack, home.read):
        assert home.ask("POST", path, body(ids[kind]), key=key).status_code == 200


@pytest.mark.parametrize(("path", "body", "kind", "pointer"), PLACES.values(), ids=PLACES)
def test_without_a_key_an_id_opens_nothing(
    kitchen: TestClient, home: Home, ids: dict[str, str], path: str, body: Any, kind: str, pointer: str
) -> None:
    """422: to a caller without a household the id is neither a food nor a child; the fault says what is missing."""
    answer = kitchen.post(path, json=body(ids[kind]))
    assert answer.status_code == 422
    assert "#" + pointer in [error["pointer"] for error in answer.json()["errors"]]
    if kind in ("children", "offers"):
        assert "access key" in answer.json()["errors"][0]["remedy"]


@pytest.mark.parametrize("body", [
    b'{"child": "ID", "child": "ID", "on": "2026-12-01", "lunch": "ID"}', b'["ID"]', b'"ID"', b'{"child": "ID"', b'{"ID": 1}',
    b'{"child": "ID", "on": 3, "lunch": {"items": 7}}', b'{"child": "ID", "offer": {"groups": ["ID"]}, "lunch": [["ID"]]}',
    b'{"child": "ID", "lunch": ' + b"[" * 900 + b"]" * 900 + b"}",
    b'{"child": "ID", "lunch": ' + b'{"\\u0061":' * 900 + b"1" + b"}" * 901,
    b'{"children": {"a": "ID"}, "items": ["ID", {"lunch": ["ID"], "food": ["ID"]}], "offer": "apple"}',
])  # fmt: skip
@pytest.mark.parametrize("path", ["/v1/lunch-checks", "/v1/allergen-screenings", "/v1/offer-audits"])
def test_a_body_of_another_form_is_a_problem(home: Home, path: str, body: bytes) -> None:
    """Whatever stands around the ids: 4xx, never 500."""
    child = home.kept("/v1/children", child_body())
    answer = home.ask("POST", path, body.replace(b"ID", child.encode()))
    assert 400 <= answer.status_code < 500, answer.text


@pytest.mark.parametrize("figure", [b"NaN", b"Infinity", b"1e999", b"9" * 40])
def test_a_number_that_is_none_is_refused_beside_an_id_too(home: Home, ids: dict[str, str], figure: bytes) -> None:
    """Writing ids out does not turn it into null, which would be an unknown."""
    body = b'{"standard": "us-school-lunch", "on": "2026-12-01", "child": {"age_years": 8, "height_cm": %b}, "lunch": "ID"}'
    answer = home.ask("POST", "/v1/lunch-checks", (body % figure).replace(b"ID", ids["lunches"].encode()))
    assert answer.status_code in (400, 422), answer.text


def test_own_foods_are_searched_first(home: Home, ids: dict[str, str], kitchen: TestClient) -> None:
    """With the key; without it the search is what it was. Pages join without a gap or a double."""
    first = home.ask("GET", "/v1/foods?q=oat&limit=2").json()
    assert (first["items"][0]["id"], first["items"][0]["kind"]) == (ids["foods"], "own_food")
    found = []
    cursor: str | None = ""
    while cursor is not None:
        page = home.ask("GET", "/v1/foods?q=o&limit=1" + (f"&cursor={cursor}" if cursor else "")).json()
        found += [one["id"] for one in page["items"]]
        cursor = page["next"] if len(found) < 12 else None
    plain = [one["id"] for one in kitchen.get("/v1/foods?q=o&limit=200").json()["items"]]
    assert found == [ids["foods"], *plain][: len(found)]
    assert ids["foods"] not in kitchen.get("/v1/foods?q=oat").text
    problem_of(kitchen.get(f"/v1/foods/{ids['foods']}"), 404, "unknown-resource")


def test_an_own_food_is_shown_like_any(home: Home, ids: dict[str, str]) -> None:
    """170 kcal in 40 g are 425 kcal in 100 g; of the crumble, 60 g of it and 200 g of apple."""
    shown = home.ask("GET", f"/v1/foods/{ids['foods']}").json()
    assert (shown["id"], shown["kind"], shown["name"]) == (ids["foods"], "own_food", "oat bar")
    assert shown["per_100g"]["energy_kcal"]["amount"] == 425
    assert shown["kept"]["facts"]["energy_kcal"] == 170
    crumble = home.ask("GET", f"/v1/foods/{ids['recipes']}").json()
    apple = home.ask("GET", "/v1/foods/apple").json()["per_100g"]["energy_kcal"]["amount"]
    assert crumble["kind"] == "own_recipe"
    assert crumble["per_100g"]["energy_kcal"]["amount"] == pytest.approx((60 * 4.25 + 2 * apple) / 2.6, abs=0.01)
