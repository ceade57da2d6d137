"""Promise: branded foods are read without a household, from the index on this machine; each value has its source and date."""

from pathlib import Path
from typing import Any

import pytest
from pydantic import TypeAdapter

from service.api.foods.branded_replies import BrandedFoods
from tests.api.clients import PROBLEM, client
from tests.branded_foods import BISCUITS, NO_LIST, invented_index

SHAPE = TypeAdapter(BrandedFoods)


def found(**query: Any) -> Any:
    """What is found, in the published shape."""
    answer = client(branded_foods_file=str(invented_index())).get("/v1/branded-foods", params=query)
    assert answer.status_code == 200, answer.text
    reply = answer.json()
    SHAPE.validate_python(reply)
    return reply


@pytest.mark.parametrize("gtin", [BISCUITS, BISCUITS.lstrip("0"), "0 12345-67890 5"])
def test_a_code_in_any_spelling_gives_the_newest_version(gtin: str) -> None:
    reply = found(gtin=gtin)

    (food,) = reply["items"]
    assert (food["gtin"], food["fdc_id"], food["source"]) == (BISCUITS, 102, "index")
    assert food["read"] == reply["index"]["release"]
    assert all((one["fdc_id"], one["date"]) == (102, "2025-04-01") for one in food["values"])
    assert (food["allergens"]["milk"]["level"], food["other_allergens"]["level"]) == ("contains", "label_not_seen")
    assert reply["live"] is None


def test_what_has_no_list_of_ingredients_says_nothing_of_allergens() -> None:
    (food,) = found(gtin=NO_LIST)["items"]

    assert (food["ingredients"], food["other_allergens"]["level"]) == (None, "unknown")
    assert {one["basis"] for one in food["values"]} == {"100 ml"}


def test_words_find_by_beginnings_and_a_code_that_is_not_there_finds_nothing() -> None:
    assert [one["gtin"] for one in found(q="oat bisc")["items"]] == [BISCUITS]
    assert found(gtin="4006381333931")["items"] == []


@pytest.mark.parametrize("query", [{"gtin": BISCUITS}, {"q": "oat"}])
def test_without_an_index_it_says_how_to_build_one(query: dict[str, str], tmp_path: Path) -> None:
    answer = client(branded_foods_file=str(tmp_path / "none")).get("/v1/branded-foods", params=query)

    assert (answer.status_code, answer.headers["content-type"]) == (404, PROBLEM)
    (error,) = answer.json()["errors"]
    assert error["code"] == "no-branded-index"
    assert "packed-lunch branded build" in error["remedy"]
    assert "switch on FoodData Central" in error["remedy"]


@pytest.mark.parametrize(
    "query", [{}, {"gtin": BISCUITS, "q": "oat"}, {"gtin": ""}, {"gtin": "abc"}, {"gtin": "1" * 15}]
)
def test_a_question_that_cannot_be_answered_is_refused(query: dict[str, str]) -> None:
    answer = client(branded_foods_file=str(invented_index())).get("/v1/branded-foods", params=query)

    assert answer.status_code == 422
    assert answer.json()["errors"][0]["remedy"]
