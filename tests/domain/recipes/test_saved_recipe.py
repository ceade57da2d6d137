"""Recipes in the form of schema.org (https://schema.org/Recipe): every place one may stand in, and what is wrong in many pages."""

import json
import time
from datetime import timedelta
from typing import Any

import pytest
from pydantic import TypeAdapter

from service.domain.recipes.pages import documents_in_page, json_of_block
from service.domain.recipes.saved_recipe import MOST_LINES, minutes_in, portions_in, saved_recipe_in

BUNS: dict[str, Any] = {
    "@type": "Recipe",
    "name": "Oat buns",
    "url": "https://example.org/buns",
    "recipeYield": "12 buns",
    "recipeIngredient": ["200 g flour", "2 eggs"],
}
LINES = ("200 g flour", "2 eggs")


@pytest.mark.parametrize(
    "document",
    [
        BUNS,
        [BUNS],
        {"@graph": [{"@type": "WebPage"}, BUNS]},
        {"@type": "WebPage", "mainEntity": BUNS},
        {"@type": "ItemList", "itemListElement": [{"@type": "ListItem", "item": BUNS}]},
        {**BUNS, "@type": ["Thing", "Recipe"]},
        {**BUNS, "@type": "https://schema.org/Recipe"},
        {**BUNS, "@type": "schema:Recipe"},
        [{"@type": "Recipe", "name": "only named"}, BUNS],
    ],
)
def test_a_recipe_is_found_wherever_it_stands(document: object) -> None:
    found = saved_recipe_in(document)
    assert found is not None
    assert (found.name, found.lines, found.address) == ("Oat buns", LINES, "https://example.org/buns")
    assert found.portions == 12


@pytest.mark.parametrize("document", [None, 3, "Recipe", [], {}, {"@type": "Recipes"}, {"@type": 7}, [[[]]]])
def test_what_is_no_recipe_is_none(document: object) -> None:
    assert saved_recipe_in(document) is None


@pytest.mark.parametrize(
    "wrong",
    [
        {"recipeIngredient": None},
        {"recipeIngredient": {"a": 1}},
        {"recipeIngredient": 7},
        {"recipeIngredient": [None, {}, [], True]},
    ],
)
def test_ingredients_of_another_type_are_no_lines(wrong: dict[str, Any]) -> None:
    found = saved_recipe_in({**BUNS, **wrong})
    assert found is not None
    assert found.lines == ()


def test_fields_of_another_type_are_left_out_and_lines_stay() -> None:
    found = saved_recipe_in({**BUNS, "name": ["a"], "url": {"x": 1}, "recipeYield": {"value": []}, "prepTime": 5})
    assert found is not None
    assert (found.name, found.address, found.portions, found.lines) == ("", "", None, LINES)
    assert [one.code for one in found.notes] == ["recipe-note.time-unread"]


def test_texts_are_plain_and_bounded() -> None:
    nasty = {**BUNS, "name": "<b>Oat</b> &amp; buns\x00\n" + "x" * 5000, "url": "javascript:alert(1)"}
    found = saved_recipe_in({**nasty, "recipeIngredient": ["1 <i>egg</i>", "y" * 10_000, *["1 egg"] * 500]})
    assert found is not None
    assert found.name.startswith("Oat & buns x")
    assert len(found.name) == 120
    assert found.address == ""
    assert found.lines[0] == "1 egg"
    assert len(found.lines) == MOST_LINES
    assert found.notes[0].params["n"] == 1 + 501 - MOST_LINES


def test_a_broken_block_does_not_lose_the_others() -> None:
    page = (
        '<html><script type="application/ld+json">{"@type": "Recipe", </script><script>var x = {};</script>'
        f'<SCRIPT TYPE="application/ld+json; charset=utf-8">{json.dumps(BUNS)}</SCRIPT>'
        '<script type="application/ld+json">[1, </html>'
    )
    documents, broken = documents_in_page(page)
    found = saved_recipe_in(documents)
    assert broken == 2
    assert found is not None
    assert found.lines == LINES


@pytest.mark.parametrize(
    "part",
    [
        "<",
        "<a b='",
        "<!--",
        "<script type=application/ld+json>",
        "<script ",
        "</script",
        '<script type="application/ld+json">{',
    ],
)
def test_a_page_of_broken_tags_is_looked_through_in_time_by_its_length(part: str) -> None:
    def seconds(count: int) -> float:
        begun = time.process_time()
        documents_in_page(part * count)
        return time.process_time() - begun

    # Ten times the page takes less than 40 times as long; a square would take 100 times.
    assert seconds(200_000) < 40 * max(seconds(20_000), 0.01)


def test_line_breaks_within_texts_are_let_pass() -> None:
    assert json_of_block('<!-- {"a": "b\nc"} -->') == {"a": "b\nc"}


@pytest.mark.parametrize("block", ["", "{", "[" * 100_000, "[" * 100_000 + "]" * 100_000, "1" * 10_000, "{'a': 1}"])
def test_what_is_no_json_is_a_value_error(block: str) -> None:
    with pytest.raises(ValueError, match=r".+"):
        json_of_block(block)


def test_a_large_and_deep_document_is_looked_through_without_recursion() -> None:
    deep: Any = BUNS
    for _step in range(30_000):
        deep = {"x": deep}
    assert saved_recipe_in(deep) is not None
    assert saved_recipe_in([{"n": [i]} for i in range(200_000)]) is None


@pytest.mark.parametrize(
    "text", ["PT20M", "PT1H", "PT1H30M", "P0DT0H20M", "P1DT2H", "PT120S", "PT0.5H", "P2D", "PT90M", "P1DT0H30M0S"]
)
def test_durations_are_those_that_pydantic_reads_in_iso_8601(text: str) -> None:
    assert minutes_in(text) == TypeAdapter(timedelta).validate_python(text).total_seconds() / 60


@pytest.mark.parametrize("text", ["", "P", "PT", "20 minutes", "P1Y", "-PT5M", "PT5", None, 20, [], "PT999999999M"])
def test_other_texts_are_no_duration(text: object) -> None:
    assert minutes_in(text) is None


@pytest.mark.parametrize(
    ("given", "portions"),
    [("4", 4), ("Serves 4", 4), ("4 servings", 4), (6, 6), (["12", "12 muffins"], 12), ({"value": 8}, 8), ("1.5", 1.5),
     ("4-6", None), ("4 to 6", None), ("a loaf", None), (["4", "6"], None), (0, None), (-1, None), (True, None), ("9999999", None),
     ("2 loaves of 8 slices", None), (None, None), (float("nan"), None)],
)  # fmt: skip
def test_a_yield_is_a_number_of_portions_where_it_says_one_number(given: object, portions: float | None) -> None:
    assert portions_in(given) == portions
