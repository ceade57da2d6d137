"""Promise: following ``next`` gives every food exactly once."""

from typing import Any

import pytest
from starlette.testclient import TestClient

from service.reference.foods.generic_foods import generic_foods
from service.reference.foods.lunch_foods import lunch_foods
from service.reference.foods.recipes import recipes


def walked(service: TestClient, **parameters: Any) -> list[dict[str, Any]]:
    """All items of a search, page after page."""
    found: list[dict[str, Any]] = []
    cursor: str | None = ""
    while cursor is not None:
        asked = {**parameters, **({"cursor": cursor} if cursor else {})}
        page = service.get("/v1/foods", params=asked).json()
        assert page["items"] or not found, "an empty page in the middle"
        found += page["items"]
        cursor = page["next"]
    return found


def test_all_pages_together_are_all_foods(service: TestClient) -> None:
    """Every id of the three tables, none twice; lunch foods before recipes before generic foods."""
    found = walked(service, limit=200)
    ids = [one["id"] for one in found]
    tables = [*lunch_foods().rows(), *recipes(), *generic_foods().ids()]
    assert len(ids) == len(set(ids)) == len(tables)
    assert set(ids) == set(tables)
    kinds = [one["kind"] for one in found]
    assert kinds == sorted(kinds, key=["lunch_food", "recipe", "generic_food"].index)


@pytest.mark.parametrize("limit", [1, 7, 50])
def test_small_pages_are_the_large_one_cut_up(service: TestClient, limit: int) -> None:
    """The size of the page does not change what is found or its order."""
    whole = service.get("/v1/foods", params={"q": "oat", "limit": 200}).json()
    assert whole["next"] is None
    assert walked(service, q="oat", limit=limit) == whole["items"]


def test_a_page_of_more_than_200_is_one_of_200(service: TestClient) -> None:
    """Too large a size is cut down, not refused."""
    assert len(service.get("/v1/foods", params={"limit": 10**30}).json()["items"]) == 200


def test_a_cursor_is_of_its_own_search(service: TestClient) -> None:
    """The cursor of one search is refused by another."""
    cursor = service.get("/v1/foods", params={"q": "bread", "limit": 5}).json()["next"]
    assert service.get("/v1/foods", params={"q": "bread", "cursor": cursor}).status_code == 200
    assert service.get("/v1/foods", params={"q": "milk", "cursor": cursor}).status_code == 422
    assert service.get("/v1/foods", params={"cursor": cursor}).status_code == 422


def test_the_list_of_foods_can_be_walked_into_each_food(service: TestClient) -> None:
    """An id and a unit from a list are those of the food itself."""
    for one in service.get("/v1/foods", params={"q": "whole wheat", "limit": 30}).json()["items"]:
        food = service.get(f"/v1/foods/{one['id']}").json()
        assert (food["name"], food["kind"], food["category"]) == (one["name"], one["kind"], one["category"])
        assert {"unit": one["usual_unit"], "grams": one["usual_grams"]}.items() <= food["portions"][0].items()
