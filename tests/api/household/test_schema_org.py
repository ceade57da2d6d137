"""Promise: dishes and lunches go out as schema.org Recipe with NutritionInformation, which say no more than is known.

The reader is ``rdflib``, which reads JSON-LD and knows the names that schema.org has. The properties of NutritionInformation
are calories (Energy) and these of type Mass, both of the form "<Number> <unit>", and servingSize, a text. The cheese sandwich is reckoned by hand from
its recipe: 64 g bread, 28.35 g cheese, 5 g butter make 97.35 g.
"""

import json
import re
from pathlib import Path
from typing import Any

import pytest
from rdflib import RDF, Graph
from rdflib.namespace import SDO

from tests.api.clients import client
from tests.api.household.homes import Home, food_body, recipe_body
from tests.api.problems_seen import problem_of

pytestmark = pytest.mark.filterwarnings(
    "ignore:ConjunctiveGraph is deprecated:DeprecationWarning"
)  # by rdflib, of itself
LINKED = "application/ld+json"
MASS = {
    "carbohydrateContent", "cholesterolContent", "fatContent", "fiberContent", "proteinContent", "saturatedFatContent",
    "sodiumContent", "sugarContent", "transFatContent", "unsaturatedFatContent",
}  # fmt: skip
OF_A_RECIPE = {"name", "identifier", "recipeYield", "recipeIngredient", "nutrition", "citation"}
CHECK = Path("openapi_examples/check-lunch")


def looked_over(answer: Any) -> dict[str, Any]:
    """The Recipe, with nothing in it that schema.org does not have."""
    assert answer.status_code == 200, answer.text
    assert answer.headers["content-type"] == LINKED
    read: dict[str, Any] = answer.json()
    _by_rdflib(read)
    assert read.pop("@context") == "https://schema.org"
    assert read.pop("@type") == "Recipe"
    assert set(read) <= OF_A_RECIPE
    nutrition = dict(read["nutrition"])
    assert nutrition.pop("@type") == "NutritionInformation"
    assert nutrition.pop("servingSize")
    for name, text in nutrition.items():
        assert name in {"calories", *MASS}
        assert re.fullmatch(r"[0-9]+(\.[0-9]+)? kcal" if name == "calories" else r"[0-9]+(\.[0-9]+)? (g|mg)", text)
    return read


def _by_rdflib(read: dict[str, Any]) -> None:
    """Each property and type is one of schema.org's, and the Recipe leads to its NutritionInformation.

    The context is put in, since the one of schema.org would be fetched.
    """
    graph = Graph().parse(data=json.dumps({**read, "@context": {"@vocab": str(SDO)}}), format="json-ld")
    for _subject, predicate, value in graph:
        name = value if predicate == RDF.type else predicate
        assert str(name).removeprefix(str(SDO)) in SDO.__annotations__, name
    (recipe,) = graph.subjects(RDF.type, SDO.Recipe)
    (nutrition,) = graph.objects(recipe, SDO.nutrition)
    assert (nutrition, RDF.type, SDO.NutritionInformation) in graph
    assert len(list(graph.objects(recipe, SDO.recipeIngredient))) == len(set(read["recipeIngredient"]))


def ask(method: str, path: str, body: Any = None) -> Any:
    with client() as service:
        return service.request(method, path, json=body, headers={"Accept": LINKED})


def test_a_dish_of_the_tables() -> None:
    read = looked_over(ask("GET", "/v1/foods/sandwich-cheese"))
    assert read["recipeIngredient"][0].startswith("64 g ")
    assert [text.split(" g ")[0] for text in read["recipeIngredient"]] == ["64", "28.35", "5"]
    assert read["recipeYield"] == "1"
    assert "97.35 g" in read["nutrition"]["servingSize"]
    with client() as service:
        parts = [service.get(f"/v1/foods/{one}").json() for one in ("bread-whole-wheat", "cheese-cheddar", "butter")]
    energy = sum(
        part["per_100g"]["energy_kcal"]["amount"] * grams / 100
        for part, grams in zip(parts, (64, 28.35, 5), strict=True)
    )
    assert float(read["nutrition"]["calories"].split()[0]) == pytest.approx(energy, abs=0.5)


def test_an_own_recipe_by_its_key(home: Home) -> None:
    food = home.kept("/v1/foods", food_body("oat bar"))
    recipe = home.kept("/v1/recipes", recipe_body(food, "crumble"))
    kept = home.ask("GET", f"/v1/recipes/{recipe}").json()
    answer = home.ask("GET", f"/v1/foods/{recipe}", accept=LINKED)
    read = looked_over(answer)
    assert read["name"] == "crumble"
    assert len(read["recipeIngredient"]) == len(kept["ingredients"])
    assert float(read["recipeYield"]) == kept["portions"]
    assert any(text.endswith("oat bar") for text in read["recipeIngredient"])
    again = home.ask("GET", f"/v1/foods/{recipe}", accept=LINKED, if_none_match=answer.headers["etag"])
    assert again.status_code == 304


def test_a_food_that_is_no_dish_is_answered_as_json_only(home: Home) -> None:
    problem_of(ask("GET", "/v1/foods/apple"), 406, "not-acceptable")
    food = home.kept("/v1/foods", food_body("oat bar"))
    problem_of(home.ask("GET", f"/v1/foods/{food}", accept=LINKED), 406, "not-acceptable")
    problem_of(ask("GET", "/v1/foods/no-such-food"), 404, "unknown-resource")


def test_a_lunch_has_its_items_and_its_known_sums() -> None:
    for file in sorted(CHECK.glob("*.request.json")):
        if file.name.startswith(("error-", "kept-")):
            continue
        body = json.loads(file.read_text())
        with client() as service:
            told = service.post("/v1/lunch-checks", json=body).json()
        read = looked_over(ask("POST", "/v1/lunch-checks", body))
        assert len(read["recipeIngredient"]) == len(told["items"])
        nutrition = read["nutrition"]
        energy = told["totals"]["energy_kcal"]
        if energy["complete"]:
            assert float(nutrition["calories"].split()[0]) == pytest.approx(energy["amount"], abs=0.005)
        if energy["high"] is None:
            assert "calories" not in nutrition


def test_a_sum_that_is_not_known_is_left_out() -> None:
    """A label that prints only its energy says nothing of fat: unknown is not zero."""
    bar = {"name": "bar", "serving": {"name": "bar", "grams": 40}, "facts": {"energy_kcal": 180}}
    lunch = {"items": [{"food": bar, "quantity": 1, "unit": "bar"}, {"food": "apple"}]}
    body = {"child": {"age_years": 8}, "standard": "us-school-lunch", "on": "2026-11-27", "lunch": lunch}
    nutrition = looked_over(ask("POST", "/v1/lunch-checks", body))["nutrition"]
    assert "calories" in nutrition
    assert not {"fatContent", "proteinContent", "sodiumContent"} & set(nutrition)


def test_other_forms_of_a_check_are_refused_with_what_there_is() -> None:
    body = json.loads(next(iter(sorted(CHECK.glob("[!ek]*.request.json")))).read_text())
    with client() as service:
        answer = service.post("/v1/lunch-checks", json=body, headers={"Accept": "text/csv"})
    assert LINKED in json.dumps(problem_of(answer, 406, "not-acceptable"))
