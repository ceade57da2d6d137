"""A recipe that is brought in: lines matched and weighed, doubts asked, answers taken, and the dish as any other."""

from typing import Any

import pytest
from pydantic import ValidationError

from service.domain.errors import LunchError, ManyFaults
from service.jobs.foods.resolve import food_of
from service.jobs.recipes.from_file import reading_request
from service.jobs.recipes.read_recipe import read_recipe
from service.jobs.recipes.requests import RecipeReadingRequest
from service.jobs.requests.foods import Recipe
from service.reference.foods.catalogue import find_food


def reading(**asked: Any) -> dict[str, Any]:
    return read_recipe(RecipeReadingRequest(**asked))


def only_line(text: str, **more: Any) -> dict[str, Any]:
    return reading(text=text, **more)["lines"][0]


def doubts(line: dict[str, Any]) -> list[str]:
    return [one["code"].removeprefix("doubt.") for one in line["doubts"]]


@pytest.mark.parametrize(
    ("line", "food", "grams"),
    [  # USDA SR28: weights of an apple, an egg, slices and cups; NIST: an ounce is 28.35 g
        ("2 apples", "apple", 364),
        ("2 large apples", "apple", 446),
        ("3 large eggs", "sr28-01123", 150),
        ("3 eggs", "sr28-01123", 150),  # not by "cup (4.86 large eggs)"
        ("1 avocado", "avocado", 201),  # the tables have half of one
        ("half an avocado", "avocado", 100.5),
        ("2 tomatoes", "tomato", 246),  # no plum tomatoes
        ("250 ml whole milk", "milk-whole", 257.8),
        ("1 cup whole milk", "milk-whole", 244),
        ("1 tbsp olive oil", "olive-oil", 13.5),
        ("2 oz cheddar", "cheese-cheddar", 56.7),
        ("4 slices whole wheat bread", "bread-whole-wheat", 128),
        ("½ cup chopped onion", "onion-raw", 80),
        ("1 stick unsalted butter", "sr28-01145", 113),
        ("1 cup plus 2 tbsp rolled oats", "oats-rolled-dry", 91.1),
        ("2 x 400g tins honey", "honey", 800),
        ("approx. 250 g honey", "honey", 250),
        ("ca. 250 g honey", "honey", 250),
        ("~250 g honey", "honey", 250),
        ("approx. 2 tomatoes", "tomato", 246),
        ("500 g potatoes, plus extra for the top", "sr28-11352", 500),
    ],
)
def test_a_line_becomes_a_food_and_its_grams(line: str, food: str, grams: float) -> None:
    found = only_line(line, country="US")
    assert (found["state"], found["food"]) == ("read", food)
    assert found["grams"] == pytest.approx(grams, rel=0.005)
    assert found["weighed"]


@pytest.mark.parametrize(
    ("line", "grams"),
    [  # USDA SR28, WEIGHT.txt: a cup of it, not 48 teaspoons or 16 tablespoons; spoons by spoons
        ("1 cup sugar", 200), ("1 tsp sugar", 4.2), ("1 cup olive oil", 216), ("1 cup honey", 339), ("1 tbsp honey", 21),
        ("1 cup maple syrup", 315), ("1 cup soy sauce", 255), ("1 cup salt", 292), ("1 tbsp salt", 18), ("1 tsp salt", 6),
        ("1 cup butter", 227), ("1 tbsp butter", 14.2), ("1 cup cocoa powder", 86), ("1 tbsp cocoa powder", 5.4),
        ("1 cup vinegar", 238), ("1 tbsp vinegar", 14.9), ("1 cup mustard", 249), ("1 cup vegetable oil", 218),
        ("1 cup cucumber slices", 104), ("1 cup packed brown sugar", 220), ("1 tsp active dry yeast", 4),
        ("1 cup celery", 101), ("1 tbsp parsley", 3.8), ("1 cup chopped broccoli", 91), ("1 cup flour", 125),
    ],
)  # fmt: skip
def test_a_volume_is_weighed_by_the_nearest_measure_of_the_food(line: str, grams: float) -> None:
    found = only_line(line, country="US")
    assert found["grams"] == pytest.approx(grams, rel=0.001), found["weighed"]


@pytest.mark.parametrize("line", ["1 cup brown sugar", "1 cup red pepper"])
def test_a_cup_of_what_is_packed_or_cut_in_several_ways_is_asked(line: str) -> None:
    assert doubts(only_line(line, country="US")) == ["no-volume"]


@pytest.mark.parametrize(
    ("country", "line", "grams"),
    [  # with shell: EU 53 to 63 g, 63 to 73 g; Canada 56 to 63 g; Japan 58 to 64 g. USDA: 12 % is shell. US: SR28.
        ("DE", "2 eggs", 2 * 58 * 0.88), ("GB", "1 medium egg", 58 * 0.88), ("IE", "1 large egg, beaten", 68 * 0.88),
        ("DE", "1 small egg", 48 * 0.88), ("DE", "1 extra-large egg", 78 * 0.88), ("CA", "2 eggs", 2 * 59.5 * 0.88),
        ("CA", "1 jumbo egg", 73.5 * 0.88), ("JP", "1 egg", 61 * 0.88), ("US", "2 eggs", 100), ("US", "1 jumbo egg", 63),
        ("AU", "2 large eggs", 100),
    ],
)  # fmt: skip
def test_eggs_are_weighed_by_the_sizes_of_the_country(country: str, line: str, grams: float) -> None:
    found = only_line(line, country=country)
    assert found["grams"] == pytest.approx(grams, abs=0.01)
    assert "without its shell" in found["weighed"]
    assert ("is not known here" in found["weighed"]) == (country == "AU")


def test_eggs_are_bought_where_the_household_is_and_cups_are_those_of_the_recipe() -> None:
    asked = RecipeReadingRequest(text="1 cup whole milk\n1 egg", country="US")
    milk, egg = read_recipe(asked, usual_country="GB")["lines"]
    assert (milk["grams"], egg["grams"]) == (244.0, 51.04)


def test_foods_of_one_name_are_merged_or_told_apart() -> None:
    near = only_line("1 cup spinach", country="US")["candidates"]
    alike = {one["id"]: one["apart"] for one in near if one["name"].lower() == "spinach, raw"}
    # The food of SR28 has the figures of the lunch food; FNDDS gives another energy.
    assert alike == {
        "spinach-raw": "from USDA SR28, 23 kcal in 100 g",
        "fndds-42efdb47": "from USDA FNDDS 2021-2023, 27 kcal in 100 g",
    }
    assert all(one["apart"] == "" for one in near if one["id"] not in alike)


def test_a_fault_of_an_answer_points_at_its_place_among_the_answers() -> None:
    with pytest.raises(ManyFaults) as found:
        reading(text="1 apple\n1 pear", answers=[{"line": 1, "food": "nope"}, {"line": 0, "food": "none-such"}])
    assert [one.pointer for one in found.value.faults()] == ["/answers/1/food", "/answers/0/food"]


def test_a_metric_cup_holds_more_than_that_of_the_us() -> None:
    assert only_line("1 cup whole milk", country="AU")["grams"] == pytest.approx(244 * 250 / 236.588, rel=1e-4)
    asked = only_line("1 cup whole milk")
    assert doubts(asked) == ["which-country"]
    assert asked["doubts"][0]["answer_with"] == ["country", "grams", "leave_out"]
    assert asked["grams"] is None


@pytest.mark.parametrize(
    ("line", "doubt"),
    [
        ("1 cup milk", "which-food"),
        ("300 g qzxv", "no-such-food"),
        ("juice of 1 lemon", "part-of-food"),
        ("1 lemon, juiced", "part-of-food"),
        ("1 (15 oz) can peanut butter, drained", "drained"),
        ("1 cup raw broccoli florets cut small", "which-food"),
        ("3 thick slices whole wheat bread", "no-weight"),
        ("1 knob ginger root", "loose-measure"),
        ("100 kg olive oil", "too-much"),
        ("potatoes", "no-amount"),
        ("200 g butter or margarine", "two-foods"),
        ("1 tin honey", "pack-size"),
    ],
)
def test_what_cannot_be_known_is_asked(line: str, doubt: str) -> None:
    found = only_line(line, country="US")
    assert found["state"] == "ask"
    assert doubt in doubts(found)
    assert all(one["sentence"] and one["answer_with"] for one in found["doubts"])
    assert found["grams"] is None or found["food"] is None


@pytest.mark.parametrize(
    ("line", "never"),
    [
        ("2 tbsp unsalted butter", "peanut"),
        ("1 cup almond milk", "whole milk"),
        ("100 g peanut-free spread", "peanut butter"),
    ],
)
def test_a_food_is_never_taken_for_one_that_only_sounds_like_it(line: str, never: str) -> None:
    found = only_line(line, country="US")
    assert found["food_name"] is None or never not in found["food_name"]


def test_answers_settle_the_lines() -> None:
    lines = "1 cup milk\nsalt to taste\na pinch of love\n2 apples"
    before = reading(text=lines, country="US")
    assert before["to_answer"] == 3
    assert not before["complete"]
    answers = [
        {"line": 0, "food": "milk-skim"},
        {"line": 1, "grams": 2},
        {"line": 2, "leave_out": True},
    ]
    after = reading(text=lines, country="US", answers=answers, portions=4, name="porridge")
    assert after["complete"]
    assert after["dish"] == {
        "name": "porridge",
        "portions": 4.0,
        "ingredients": [
            {"food": "milk-skim", "grams": 245.0},
            {"food": "salt", "grams": 2.0},
            {"food": "apple", "grams": 364.0},
        ],
    }
    dish = food_of(Recipe.model_validate(after["dish"]))
    assert dish.unit("portion") is not None
    assert dish.allergens.of("milk").level == "contains"


def test_an_answer_about_the_food_does_not_settle_the_amount() -> None:
    found = only_line("salt to taste", answers=[{"line": 0, "food": "salt"}])
    assert doubts(found) == ["no-amount"]
    found = only_line("1 cup of something", answers=[{"line": 0, "grams": 30}])
    assert doubts(found) == ["no-such-food"] or doubts(found) == ["which-food"]


def test_a_heading_is_left_out_without_a_question() -> None:
    found = reading(text="For the sauce:\n2 apples")
    assert [one["state"] for one in found["lines"]] == ["left_out", "read"]
    assert found["to_answer"] == 0


def test_a_document_brings_name_address_times_and_portions() -> None:
    document = {
        "@type": "Recipe", "name": "Buns", "url": "https://example.org/b", "recipeYield": "4-6", "prepTime": "PT15M",
        "recipeIngredient": ["2 apples"],
    }  # fmt: skip
    found = reading(document=document)
    assert (found["name"], found["address"], found["preparation_minutes"]) == ("Buns", "https://example.org/b", 15)
    assert found["portions"] is None
    assert not found["complete"]
    assert [one["code"] for one in found["notes"]] == ["recipe-note.yield-unread", "recipe-note.no-portions"]


@pytest.mark.parametrize(
    ("asked", "place", "code"),
    [
        ({"text": " \n "}, "/text", "recipe-text-empty"),
        ({"text": "1 egg\n" * 101}, "/text", "recipe-lines-many"),
        ({"text": "x" * 301}, "/text", "recipe-line-long"),
        ({"html": "<p>no recipe</p>"}, "/html", "recipe-not-there"),
        ({"document": {"@type": "Recipe", "name": "x"}}, "/document", "recipe-without-lines"),
        ({"text": "1 egg", "answers": [{"line": 1}]}, "/answers/0/line", "recipe-line-not-there"),
        ({"text": "1 egg", "answers": [{"line": 0}, {"line": 0}]}, "/answers/1/line", "recipe-line-twice"),
        ({"text": "1 egg", "answers": [{"line": 0, "food": "no-such"}]}, "/answers/0/food", "unknown-name"),
    ],
)
def test_what_is_wrong_is_named_with_its_place(asked: dict[str, Any], place: str, code: str) -> None:
    with pytest.raises(LunchError) as caught:
        reading(**asked)
    assert not isinstance(caught.value, ManyFaults)
    assert (caught.value.pointer, caught.value.code) == (place, code)


@pytest.mark.parametrize("asked", [{}, {"text": "1 egg", "html": "<p>"}, {"text": "1 egg", "country": "us"}])
def test_a_request_has_one_recipe_and_a_country_in_capitals(asked: dict[str, Any]) -> None:
    with pytest.raises(ValidationError):
        reading(**asked)


def test_a_file_is_told_by_how_it_begins() -> None:
    assert reading_request(b"\xef\xbb\xbf2 apples\r\n1 egg").text == "2 apples\n1 egg"
    assert reading_request(b" <html>").html == "<html>"
    assert reading_request(b'[{"a": 1}]').document == [{"a": 1}]
    for bad in (b"{", b"\xff\xfe1", b"[" * 200_000):
        with pytest.raises(LunchError) as caught:
            reading_request(bad)
        assert caught.value.code == "recipe-file-unread"


@pytest.mark.parametrize("line", ["2 eggs, plus 1 egg yolk", "2 eggs, plus one yolk", "250 g butter, plus 2 tbsp"])
def test_what_a_note_adds_is_asked_about_and_not_lost(line: str) -> None:
    found = only_line(line, country="US")
    assert (found["state"], doubts(found)) == ("ask", ["more-numbers"])


@pytest.mark.parametrize(
    ("line", "food", "kcal"),
    [  # USDA SR28 and FNDDS, energy of 100 g as it goes into the pan; pasta-cooked has 158, cooked quinoa 120
        ("200 g spaghetti", "pasta-dry", 371),
        ("200 g penne pasta", "pasta-dry", 371),
        ("200 g wholewheat pasta", "sr28-20124", 352),
        ("200 g quinoa", "sr28-20035", 368),
        ("200 g bulgur wheat", "sr28-20012", 342),
        ("500 g pork mince", "sr28-10219", 263),
        ("500 g skinless chicken breasts", "sr28-05062", 120),
        ("2 salmon fillets (240 g)", "sr28-15236", 208),
    ],
)
def test_what_is_not_said_to_be_cooked_goes_in_dry_or_raw(line: str, food: str, kcal: float) -> None:
    """A recipe's 200 g of spaghetti were read as cooked ones, with two fifths of the energy."""
    found = only_line(line, country="GB")
    assert (found["state"], found["food"]) == ("read", food)
    known = find_food(food)
    assert known is not None
    assert float(known.nutrients[0] or 0) / known.basis_mg * 100 == pytest.approx(kcal, rel=0.02)
    assert known.credits_known


@pytest.mark.parametrize("line", ["200 g cooked spaghetti", "200 g cooked quinoa", "200 g cooked chicken breast"])
def test_what_is_said_to_be_cooked_is_not_taken_for_raw(line: str) -> None:
    found = only_line(line, country="GB")
    assert found["food"] not in ("pasta-dry", "sr28-20035", "sr28-05062")
