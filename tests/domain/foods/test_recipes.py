"""What a recipe refuses, and what a dish keeps from its ingredients."""

from fractions import Fraction

import pytest

from service.domain.errors import BadAmount
from service.domain.foods.food import AllergenProfile, Containment, Food, Handling
from service.domain.foods.recipes import Ingredient, compose
from service.domain.measures import MEASURE_INDEX
from service.domain.messages import message
from tests.builders import food
from tests.refused import refused

WATER = MEASURE_INDEX["water_g"]


def dish(*parts: Food, change: int = 0, grams: int = 100) -> Food:
    return compose(
        recipe_id="dish",
        name="dish",
        ingredients=[Ingredient(part, grams * 1000, None) for part in parts],
        weight_change_percent=Fraction(change),
    )


def test_a_recipe_of_nothing_is_refused() -> None:
    with refused(BadAmount, match="recipe of nothing") as caught:
        dish()
    assert caught.value.pointer == "/ingredients"


def test_nothing_may_not_be_left() -> None:
    with refused(BadAmount, match="leaves nothing") as caught:
        dish(food("rice", {"water_g": 70}), change=-100)
    assert caught.value.pointer == "/weight_change_percent"


def test_no_more_water_may_be_lost_than_there_is() -> None:
    """100 g of rice with 70 g of water cannot lose 80 g."""
    with refused(BadAmount, match=r"the ingredients hold 70 g"):
        dish(food("rice", {"water_g": 70}), change=-80)
    dried = dish(food("rice", {"water_g": 70}), change=-70)
    assert dried.nutrients[WATER] == 0
    assert dried.basis_mg == 30_000


def test_water_unknown_stays_unknown_whatever_is_lost() -> None:
    assert dish(food("rice", unknown=["water_g"]), change=-80).nutrients[WATER] is None


def test_one_unknown_ingredient_makes_the_sum_unknown() -> None:
    sodium = MEASURE_INDEX["sodium_mg"]
    mixed = dish(food("bread", {"sodium_mg": 400}), food("spread", unknown=["sodium_mg"]))
    assert mixed.nutrients[sodium] is None


def test_a_rounded_figure_stays_an_interval() -> None:
    sodium = MEASURE_INDEX["sodium_mg"]
    mixed = dish(food("bread", {"sodium_mg": 400}, ranges={"sodium_mg": (395, 405)}), food("egg", {"sodium_mg": 60}))
    assert mixed.nutrients[sodium] == 460_000
    assert mixed.ranges[sodium] == (455_000, 465_000)


@pytest.mark.parametrize(
    ("kept", "expected"),
    [
        ([False, False], False),
        ([False, True], True),
        ([None, True], True),
        ([False, None], None),
        ([None, None], None),
    ],
)
def test_a_dish_spoils_as_its_ingredients_do(kept: list[bool | None], expected: bool | None) -> None:
    parts = [food(f"part {place}", handling=Handling(perishable=one)) for place, one in enumerate(kept)]
    assert dish(*parts).handling.perishable is expected


def test_the_worst_level_wins_and_names_its_ingredient() -> None:
    declared = message("evidence.declared", level="contains")
    bread = food(
        "bread",
        allergens=AllergenProfile(
            {"wheat": Containment("contains", "usual_recipe"), "egg": Containment("unknown", "read_label")}
        ),
    )
    mayonnaise = food(
        "mayonnaise", allergens=AllergenProfile({"egg": Containment("contains", "label_statement", declared)})
    )
    profile = dish(bread, mayonnaise).allergens
    assert profile.of("wheat").level == "contains"
    assert profile.of("egg") == Containment(
        "contains", "label_statement", message("evidence.ingredient", name="mayonnaise", seen=declared)
    )
    assert profile.of("milk").level == "unknown"


def test_free_needs_all_ingredients_to_be_free() -> None:
    nature = Containment("free", "nature", "a single food")
    apple = food("apple", allergens=AllergenProfile({}, nature))
    pear = food("pear", allergens=AllergenProfile({}, nature))
    assert dish(apple, pear).allergens.of("milk").level == "free"
    assert dish(apple, food("sauce")).allergens.of("milk").level == "unknown"


def test_estimates_and_editions_are_handed_on() -> None:
    from dataclasses import replace

    added = MEASURE_INDEX["added_sugars_g"]
    jam = replace(food("jam"), estimated={added: "all sugars"}, editions=frozenset({"USDA SR28"}))
    made = dish(jam, replace(food("bread"), editions=frozenset({"USDA FNDDS 2021-2023"})))
    assert made.estimated[added] == "computed from estimated ingredients"
    assert made.editions == {"USDA SR28", "USDA FNDDS 2021-2023"}
    assert made.source == "computed from bread; jam"
