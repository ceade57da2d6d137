"""What lunches cost: a dish by its ingredients, raw and cooked of one food by one price, tap water nothing (worked by hand)."""

from typing import Any

import orjson
import pytest

from service.jobs.plan.shopping.requests import ShoppingListRequest
from service.jobs.plan.shopping.shopping_list import shopping_list
from service.reference.foods.recipes import recipe_parts
from tests.week_days import MONDAY, item, packed, summed


def price(food: str, amount_minor: int, grams: float = 1000) -> dict[str, Any]:
    """A pack of a food."""
    return {"food": food, "amount_minor": amount_minor, "currency": "EUR", "pack_grams": grams, "from": "2026-09-01"}


def cost(items: list[Any], *prices: dict[str, Any]) -> tuple[int, list[str]]:
    """The cost of one packed lunch, and what has no price."""
    shown = summed([packed(*items, on=MONDAY)], prices=list(prices))["cost"]
    return shown["amount_minor"], shown["unpriced"]


OWN_DISH = {
    "name": "bean stew",
    "ingredients": [
        {"food": "beans-kidney-canned", "grams": 400},
        {"food": "tomato", "grams": 200},
        {"food": "water", "grams": 200},
    ],
    "portions": 4,
}


def test_a_dish_costs_what_its_ingredients_cost() -> None:
    """A quarter of 400 g at 2.00 a kilogram; of 200 g, 219.8 g as bought, at 3.00: 0.20 and 0.165; the water is free."""
    stew = {"food": OWN_DISH, "quantity": 1}
    assert cost([stew], price("beans-kidney-canned", 200), price("tomato", 300)) == (36, [])
    assert cost([stew], price("beans-kidney-canned", 200)) == (20, ["tomato, sliced"])
    assert cost([stew], price("bean stew", 500), price("tomato", 300)) == (
        100,
        [],
    )  # 200 g at 5.00: its own price counts


def test_a_dish_of_the_tables_too() -> None:
    """64 g of bread at 4.00 and 28.35 g of cheese at 10.00 a kilogram and 5 g of butter at 8.00: 25.6 + 28.35 + 4 = 57.95."""
    assert recipe_parts()["sandwich-cheese"] == (
        ("bread-whole-wheat", 64000),
        ("cheese-cheddar", 28350),
        ("butter", 5000),
    )
    prices = [price("bread-whole-wheat", 400), price("cheese-cheddar", 1000), price("butter", 800)]
    assert cost([item("sandwich-cheese")], *prices) == (58, [])


def test_dry_rice_prices_cooked_rice_by_its_energy() -> None:
    """130 kcal in 100 g cooked, 365 in 100 g dry (USDA SR28 20045, 20044): 200 g are of 71.2 g of dry, at 3.00 0.21."""
    assert cost([item("rice-white-cooked", 200)], price("sr28-20044", 300)) == (21, [])
    assert cost([item("rice-white-cooked-salted", 200)], price("rice-white-cooked", 300)) == (60, [])


@pytest.mark.parametrize(
    ("packed_as", "priced_as", "at_its_own"),
    [("carrots-cooked", "carrots-raw", 99), ("carrots-raw", "carrots-cooked-salted", 111)],
)
def test_raw_and_cooked_share_a_price_and_the_own_one_comes_first(
    packed_as: str, priced_as: str, at_its_own: int
) -> None:
    """At its own price of 9.90 a kilogram 100 g cost 0.99; raw they are of 112.4 g with what is cut off (USDA SR28)."""
    (minor, unpriced) = cost([item(packed_as, 100)], price(priced_as, 200))
    assert 15 <= minor <= 25
    assert unpriced == []
    assert cost([item(packed_as, 100)], price(priced_as, 200), price(packed_as, 990)) == (at_its_own, [])


def test_water_is_free_unless_it_has_a_price() -> None:
    assert cost([item("water"), item("apple", 90)], price("apple", 200)) == (20, [])
    assert cost([item("water", 500)], price("water", 100)) == (50, [])


@pytest.mark.parametrize(
    ("food", "grams", "refuse"),
    [("banana", 118, 36), ("orange", 131, 27), ("clementine", 74, 23), ("carrots-raw", 60, 11), ("grapes", 92, 4)],
)
def test_peel_core_and_stones_are_paid_for(food: str, grams: float, refuse: int) -> None:
    """USDA SR28, refuse of what is bought; at 10.00 a kilogram each gram that is bought costs a cent."""
    bought = grams / (1 - refuse / 100)
    assert cost([item(food, grams)], price(food, 1000)) == (round(bought), [])


def test_a_banana_inside_a_dish_is_paid_for_with_its_skin() -> None:
    """Half of 200 g of banana is of 156.25 g with the skin: at 2.00 a kilogram 0.3125."""
    dish = {"name": "banana mash", "ingredients": [{"food": "banana", "grams": 200}], "portions": 2}
    assert cost([{"food": dish, "quantity": 1}], price("banana", 200)) == (31, [])


def test_boiled_eggs_are_paid_for_with_their_shells() -> None:
    """155 kcal boiled, 143 raw, 12 % shell (USDA SR28 01129, 01123): 50 g are of 61.6 g of eggs, at 5.00 a kilogram 0.31."""
    assert cost([item("egg-hard-boiled", 50)], price("sr28-01123", 500)) == (31, [])


def test_ground_beef_is_paid_for_raw() -> None:
    """A pound raw gives 0.74 lb cooked (Food Buying Guide): 74 g are of 100 g, at 10.00 a kilogram 1.00."""
    assert cost([item("beef-ground-cooked", 74)], price("beef-ground-cooked", 1000)) == (100, [])


def test_a_week_and_a_shopping_list_say_the_same_of_what_is_eaten() -> None:
    """Of foods with peel, in a dish, raw and cooked: one lunch costs the same by both."""
    foods = {
        "banana": 118,
        "carrots-cooked": 60,
        "rice-white-cooked": 158,
        "sandwich-cheese": 97,
        "milk-1-percent": 244,
    }
    names = ["banana", "carrots-raw", "sr28-20044", "bread-whole-wheat", "cheese-cheddar", "butter", "milk-1-percent"]
    prices = [price(name, 311 + 97 * place) for place, name in enumerate(names)]
    needs = [{"food": food, "quantity": grams, "unit": "g", "on": str(MONDAY)} for food, grams in foods.items()]
    body = {"needs": needs, "shop_on": str(MONDAY), "prices": prices}
    listed = shopping_list(ShoppingListRequest.model_validate_json(orjson.dumps(body)))
    assert cost([item(food, grams) for food, grams in foods.items()], *prices) == (listed["cost"]["eaten_minor"], [])
