"""Which packets settle a food: a dish's ingredients that are still open, and nothing where no label is to be read.

Expected: common practice, no source; a dish is known by what is in it.
"""

from datetime import date
from typing import Any

from service.domain.allergens.screening import Avoidance
from service.domain.allergens.to_read import foods_to_read
from service.domain.foods.packets import NO_PACKETS, Packet, Packets, packets_on
from service.jobs.foods.packets import packet_id
from service.jobs.foods.resolve import food_of
from service.jobs.requests.foods import Recipe
from service.reference.allergens.vocabulary import vocabulary

DAY = date(2026, 12, 1)
SESAME = [Avoidance("sesame", "contains")]


def own_dish(*foods: Any, name: str = "sandwich") -> Recipe:
    return Recipe.model_validate({"name": name, "ingredients": [{"food": one, "grams": 30} for one in foods]})


def read_of(food: Any, avoids: list[Avoidance] = SESAME, packets: Packets = NO_PACKETS) -> dict[str, tuple[str, ...]]:
    found = foods_to_read(vocabulary(), food_of(food, packets), avoids)
    return {one.food.name: one.allergens for one in found}


def name_of(food_id: str) -> str:
    return food_of(food_id).name


def test_a_food_by_itself_is_its_own_packet() -> None:
    assert read_of("bread-whole-wheat") == {name_of("bread-whole-wheat"): ("sesame",)}
    assert read_of("apple") == {}
    assert read_of("bread-whole-wheat", []) == {}


def test_of_a_dish_only_what_is_still_open_is_read() -> None:
    dish = own_dish("bread-whole-wheat", "apple", "crackers-whole-wheat")
    assert list(read_of(dish)) == [name_of("bread-whole-wheat"), name_of("crackers-whole-wheat")]
    read = packets_on([Packet("bread-whole-wheat", DAY, ingredients="Wheat flour, water, yeast, salt.")], DAY)
    assert list(read_of(dish, packets=read)) == [name_of("crackers-whole-wheat")]


def test_a_dish_in_a_dish_is_settled_by_the_foods_in_that_one() -> None:
    in_it = read_of("sandwich-cheese")
    assert in_it
    assert name_of("sandwich-cheese") not in in_it
    assert read_of(own_dish("sandwich-cheese", "apple")) == in_it


def test_what_is_in_the_dish_already_is_not_to_be_read_for() -> None:
    """A dish that holds milk must not be packed for a child with a milk allergy, whatever its other packets say."""
    assert read_of(own_dish("milk-1-percent", "bread-whole-wheat"), [Avoidance("milk", "contains")]) == {}


def test_a_packet_is_stored_under_the_id_of_a_food_that_has_one() -> None:
    label = {"name": "biscuit", "serving": {"grams": 30}}
    dish = food_of(own_dish(label, "apple"))
    assert [packet_id(one) for one in dish.made_of] == [None, "apple"]
    assert packet_id(dish) is None
    assert packet_id(food_of("sandwich-cheese")) == "sandwich-cheese"
