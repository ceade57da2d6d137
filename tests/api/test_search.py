"""Promise: foods are found by the beginnings of words in any order, forgiving a slip, without accents; lunch foods first.

What a person types and what she must find is common practice, no source.
"""

import unicodedata
from typing import Any

import pytest
from starlette.testclient import TestClient


def found(service: TestClient, words: str, limit: int = 200) -> list[dict[str, Any]]:
    """The first page of a search."""
    items: list[dict[str, Any]] = service.get("/v1/foods", params={"q": words, "limit": limit}).json()["items"]
    return items


@pytest.mark.parametrize(("words", "food"), [
    ("apple", "apple"), ("APPLE", "apple"), ("  apple ", "apple"), ("broc", "broccoli-raw"),
    ("houmous", "hummus"), ("wholemeal bread", "bread-whole-wheat"), ("semi skimmed", "milk-2-percent"),
    ("capsicum", "pepper-red-raw"), ("aubergine", "eggplant-cooked"), ("mayo", "mayonnaise"),
])  # fmt: skip
def test_a_beginning_or_another_name_finds_the_food(service: TestClient, words: str, food: str) -> None:
    """Names, other names and beginnings of both."""
    assert food in [one["id"] for one in found(service, words, 20)]


@pytest.mark.parametrize(("words", "food"), [
    ("brocolli", "broccoli-raw"), ("bannana", "banana"), ("yoghurd", "yogurt-plain-whole"), ("tomatto", "tomato"),
    ("chedar", "cheese-cheddar"), ("strawbery", "strawberries"), ("sandwhich", "sandwich-cheese"),
])  # fmt: skip
def test_a_slip_of_the_keyboard_is_forgiven(service: TestClient, words: str, food: str) -> None:
    """One letter wrong, missing, doubled or swapped."""
    assert food in [one["id"] for one in found(service, words, 40)]


def test_every_word_has_to_be_there_in_any_order(service: TestClient) -> None:
    """More words find less, and their order does not matter."""
    one_way, other_way = found(service, "cheese sandwich"), found(service, "sandwich cheese")
    assert one_way == other_way
    assert one_way
    for one in one_way:
        shown = service.get(f"/v1/foods/{one['id']}").json()
        words = " ".join([shown["name"], *shown["search_words"], shown["id"]]).casefold()
        assert "chees" in words, one
        assert "sandwich" in words, one
    assert {"sandwich-cheese", "sandwich-turkey-cheese"} <= {one["id"] for one in one_way}
    assert found(service, "apple xylophone") == []


@pytest.mark.parametrize(("plain", "accented"), [("pate", "pâté"), ("jalapeno", "jalapeño"), ("creme", "crème")])
def test_accents_do_not_matter(service: TestClient, plain: str, accented: str) -> None:
    """With or without, composed or not, the same foods are found."""
    with_none = found(service, plain)
    assert with_none
    assert found(service, accented) == with_none
    assert found(service, unicodedata.normalize("NFD", accented)) == with_none


@pytest.mark.parametrize("words", ["milk", "bread", "ch", "chicken salad", "apple", "chees"])
def test_lunch_foods_come_first(service: TestClient, words: str) -> None:
    """With dishes, before the generic foods of the composition tables."""
    generic = [one["kind"] == "generic_food" for one in found(service, words)]
    assert generic == sorted(generic)


def test_what_is_not_there_is_not_found(service: TestClient) -> None:
    """No likeness is stretched to nonsense."""
    assert found(service, "xylophone") == []
