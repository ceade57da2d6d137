"""Promise: what a food usually holds is listed as contained, and a bought food is not taken for its plain kind.

Source of the recipes: common practice, no source; rusk and sulphite in British sausages: the definition of the trade.
"""

import pytest

from service.domain.foods.food import Food
from service.reference.foods.catalogue import find_food
from service.reference.foods.search import food_index

HELD = [
    ("crab-sticks", {"fish", "crustacean", "egg", "wheat"}),
    ("kimchi", {"fish", "shrimp", "crustacean"}),
    ("bread-egg", {"egg", "wheat"}),
    ("bread-brioche", {"egg", "wheat", "milk"}),
    ("crisped-rice-bar-chocolate", {"barley", "gluten_cereal", "milk", "soy"}),
    ("crisped-rice-bar-almond", {"barley", "gluten_cereal", "almond"}),
    ("sausage-pork-british", {"wheat", "gluten_cereal", "sulphite"}),
    ("gum-drops", {"gelatin"}),
    ("tofu-inari", {"soy", "wheat", "gluten_cereal"}),
]


def the(food_id: str) -> Food:
    food = find_food(food_id)
    assert food is not None
    return food


@pytest.mark.parametrize(("food_id", "held"), HELD)
def test_the_usual_recipe_is_contained(food_id: str, held: set[str]) -> None:
    named = the(food_id).allergens.named
    assert {one for one in held if one in named and named[one].level == "contains"} == held


def test_challah_is_not_said_to_hold_milk() -> None:
    assert the("bread-egg").allergens.named["milk"].level == "unknown"


def test_a_search_for_burgers_does_not_begin_with_plain_mince() -> None:
    """A bought burger has a label: nothing of it is free."""
    found = [one.id for one in food_index().search("burger") if one.kind == "lunch_food"]
    assert "beef-ground-cooked" not in found
    bought = the("burger-beef-bought").allergens
    assert bought.others.level == "unknown"
    assert {bought.named[one].level for one in ("wheat", "egg", "soy", "sulphite")} == {"unknown"}
