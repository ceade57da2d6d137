"""Recipes made to break the reader are answered with a reading or a problem, never with a failure of the service."""

import json
from typing import Any

import pytest

from tests.api.clients import client

ADDRESS = "/v1/recipe-readings"
HEADERS = {"Content-Type": "application/json"}


def recipe(**more: Any) -> dict[str, Any]:
    return {"@type": "Recipe", "name": "Soup", "recipeIngredient": ["2 apples"], **more}


def page(document: str) -> str:
    return f'<script type="application/ld+json">{document}</script>'


@pytest.mark.parametrize(
    "body",
    [
        json.dumps({"html": page('{"@type": "Recipe", "name": "\\ud800 x", "recipeIngredient": ["2 \\udfff apples"]}')}),
        json.dumps({"document": recipe(recipeYield=10**400, name=10**400)}, default=str),
        '{"document": {"@type": "Recipe", "recipeIngredient": ["2 apples"], "recipeYield": 1e999}}',
        json.dumps({"document": recipe(prepTime="PT" + "9" * 5000 + "M", url="x" * 100_000)}),
        json.dumps({"document": recipe(recipeIngredient=["(" * 250, "1/0 apples", "9" * 250, "½" * 200, "1 - - - 2", "\u202e3 eggs"])}),
        json.dumps({"html": page("[" * 300_000)}),
        json.dumps({"html": "<" * 300_000}),
        '{"document": ' + "[" * 20_000 + "]" * 20_000 + "}",
        json.dumps({"document": recipe(**{"@type": [["Recipe"], {"a": "Recipe"}, None, "Recipe"]})}),
        json.dumps({"text": "1 " * 140 + "\n" + "a" * 300}),
        json.dumps({"text": "2 apples", "country": "US", "answers": [{"line": 0, "food": "apple", "words": "pear"}]}),
    ],
    ids=range(11),
)  # fmt: skip
def test_a_hostile_recipe_is_answered(body: str) -> None:
    answer = client().post(ADDRESS, content=body.encode(), headers=HEADERS)
    assert answer.status_code in (200, 400, 422)
    assert answer.json()


def test_a_body_that_is_too_large_is_refused() -> None:
    answer = client().post(ADDRESS, content=json.dumps({"html": "x" * 1_100_000}).encode(), headers=HEADERS)
    assert answer.status_code == 413
