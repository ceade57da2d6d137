"""Promise: what is shown of a food's allergens never reads better than what a check says of the food."""

from service.domain.allergens.screening import Avoidance, screen_food
from service.domain.foods.food import LEVEL_RANK
from service.jobs.foods.search import food_reply
from service.reference.allergens.vocabulary import vocabulary
from service.reference.foods.catalogue import find_food
from service.reference.foods.lunch_foods import lunch_foods


def test_no_food_is_shown_better_than_a_check_finds_it() -> None:
    """Whole milk names milk alone: what holds for all others was read for lactose, and nothing was said to be added."""
    looked_at = 0
    for food in lunch_foods():
        shown = food_reply(food)
        for allergen in vocabulary().allergens:
            found = screen_food(vocabulary(), food, Avoidance(allergen, "contains")).evidence.level
            page = shown["allergens"].get(allergen, shown["other_allergens"])["level"]
            assert LEVEL_RANK[page] >= LEVEL_RANK[found], (food.id, allergen)
            looked_at += 1
    assert looked_at > 20_000


def test_milk_is_shown_to_hold_lactose_and_fish_to_be_every_fish() -> None:
    """Lactose is the sugar of milk; a fish named only as fish may be any (our caution, as in a check)."""
    assert food_reply(find_food("milk-whole"))["allergens"]["lactose"]["level"] == "contains"
    assert food_reply(find_food("haddock-cooked"))["allergens"]["salmon"]["level"] == "contains"
    assert list(food_reply(find_food("apple"))["allergens"]) == ["apple", "fruit"]
