"""What lunches cost: a dish by its ingredients, raw and cooked of one food by one price, tap water nothing (worked by hand)."""

from typing import Any

import pytest

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
    """A quarter of 400 g at 2.00 a kilogram and of 200 g at 3.00: 0.20 and 0.15; the water is free."""
    stew = {"food": OWN_DISH, "quantity": 1}
    assert cost([stew], price("beans-kidney-canned", 200), price("tomato", 300)) == (35, [])
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
    ("packed_as", "priced_as"), [("carrots-cooked", "carrots-raw"), ("carrots-raw", "carrots-cooked-salted")]
)
def test_raw_and_cooked_share_a_price_and_the_own_one_comes_first(packed_as: str, priced_as: str) -> None:
    (minor, unpriced) = cost([item(packed_as, 100)], price(priced_as, 200))
    assert 15 <= minor <= 25
    assert unpriced == []
    assert cost([item(packed_as, 100)], price(priced_as, 200), price(packed_as, 990)) == (99, [])


def test_water_is_free_unless_it_has_a_price() -> None:
    assert cost([item("water"), item("apple", 100)], price("apple", 200)) == (20, [])
    assert cost([item("water", 500)], price("water", 100)) == (50, [])
