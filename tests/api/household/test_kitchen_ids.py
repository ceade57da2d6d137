"""Promise: shopping lists, prep sheets and labels by ids of what is kept are those of the same sent along."""

from typing import Any

import pytest

from tests.api.household.homes import Home, food_body, recipe_body
from tests.api.problems_seen import problem_of

CHILD = {"nickname": "Juniper", "avoids": [{"allergen": "peanut"}]}
DAY = "2026-12-01"


@pytest.fixture
def ids(home: Home) -> dict[str, str]:
    """One of each kind."""
    return home.fill()


def written_out(ids: dict[str, str]) -> dict[str, Any]:
    """The recipe with its own food sent along, as the ids that answers give them."""
    recipe = recipe_body("x")
    own = {"food": {**food_body(), "id": ids["foods"]}, "grams": 60}
    return {**recipe, "ingredients": [own, recipe["ingredients"][1]], "id": ids["recipes"]}


def bodies(child: Any, recipe: Any, prices: list[Any]) -> dict[str, dict[str, Any]]:
    family = {"children": [child]}
    return {
        "/v1/shopping-lists": {
            **family, "shop_on": DAY, "prices": prices, "needs": [{"food": recipe, "on": DAY, "child": 0}],
            "at_hand": [{"food": recipe, "quantity": 1, "unit": "g"}],
        },
        "/v1/prep-sheets": {**family, "on": DAY, "batches": [{"food": recipe, "portions": 4}]},
        "/v1/label-sheets": {**family, "sheet": "a4-2x4", "labels": [{"food": recipe, "made": DAY}]},
    }  # fmt: skip


@pytest.mark.parametrize("path", ["/v1/shopping-lists", "/v1/prep-sheets", "/v1/label-sheets"])
def test_what_is_asked_by_ids_is_what_is_sent_along(home: Home, ids: dict[str, str], path: str) -> None:
    by_id = home.ask("POST", path, bodies(ids["children"], ids["recipes"], [])[path])
    sent = {**CHILD, "nickname": home.ask("GET", f"/v1/children/{ids['children']}").json()["nickname"]}
    expected = home.ask("POST", path, bodies(sent, written_out(ids), [])[path])
    assert (by_id.status_code, expected.status_code) == (200, 200), by_id.text + expected.text
    if path == "/v1/prep-sheets":
        for batch in expected.json()["batches"]:
            assert batch["food"] is None or batch["food"] in ids.values()
    assert without_ids(by_id.json()) == without_ids(expected.json())


def without_ids(reply: Any) -> Any:
    """A reply without the ids of own foods, which one sent along does not have."""
    if isinstance(reply, list):
        return [without_ids(one) for one in reply]
    if isinstance(reply, dict):
        return {name: without_ids(one) for name, one in reply.items() if name not in ("food", "packet", "id")}
    return reply


def test_the_stored_prices_serve_where_none_are_sent(home: Home, ids: dict[str, str]) -> None:
    asked = bodies(ids["children"], "apple", [])["/v1/shopping-lists"]
    home.kept(
        "/v1/prices",
        {
            "food": "apple",
            "amount_minor": 250,
            "currency": "USD",
            "pack_grams": 1000,
            "what": "food",
            "from": "2026-01-01",
        },
    )
    assert home.ask("POST", "/v1/shopping-lists", asked).json()["cost"] is None
    del asked["prices"]
    assert home.ask("POST", "/v1/shopping-lists", asked).json()["cost"]["currency"] == "USD"


def test_an_id_that_is_not_here_is_named_with_its_place(home: Home, ids: dict[str, str]) -> None:
    other = "00000000-0000-7000-8000-00000000dead"
    answer = home.ask("POST", "/v1/prep-sheets", bodies(ids["children"], other, [])["/v1/prep-sheets"])
    assert problem_of(answer, 404, "not-there")["errors"][0]["pointer"] == "#/batches/0/food"
