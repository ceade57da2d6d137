"""A dish is as its ingredients where pieces and choking are concerned: never better known, never worse."""

import pytest

from service.domain.foods.food import Handling
from service.domain.foods.recipes import Ingredient, compose
from service.domain.lunch.handling import CHOKING_RANK, HandlingStatus, choking_finding
from service.jobs.foods.resolve import food_of
from service.jobs.requests.foods import Recipe
from service.reference.foods.catalogue import find_food
from service.reference.foods.recipes import recipe_rows
from service.reference.lunch.handling import handling_rules
from tests.builders import food

RANK: dict[HandlingStatus | None, int] = {None: -1, **CHOKING_RANK}
BOTH = ("GB", "US")


def status(food_id: str, form: str | None, months: int, regions: tuple[str, ...]) -> HandlingStatus | None:
    known = find_food(food_id)
    assert known is not None
    found = choking_finding(handling_rules(), known, form, months, regions)
    return found and found.status


@pytest.mark.parametrize("months", [11, 30, 50, 65, 80])
@pytest.mark.parametrize("regions", [("US",), ("GB",), BOTH])
def test_every_shipped_dish_is_as_its_gravest_ingredient(months: int, regions: tuple[str, ...]) -> None:
    for row in recipe_rows():
        loose = [status(one.food, one.form, months, regions) for one in row.ingredients]
        assert status(row.id, None, months, regions) == max(loose, key=RANK.__getitem__), row.id


def test_granola_and_berries_are_not_for_a_child_of_two_in_a_pot_either() -> None:
    """Nuts and seeds, and whole large berries: AAP 2010 and the British page on food safety in early years settings."""
    for form in (None, "pieces", "whole", "mashed"):
        assert status("yogurt-granola-pot", form, 30, BOTH) == "do_not_pack"


def of(*ingredients: dict[str, object], **more: object) -> Recipe:
    return Recipe.model_validate({"name": "mine", "ingredients": list(ingredients), **more})


def own(recipe: Recipe, form: str | None, months: int = 30) -> HandlingStatus | None:
    found = choking_finding(handling_rules(), food_of(recipe), form, months, BOTH)
    return found and found.status


def test_a_dish_inside_a_dish_keeps_its_pieces() -> None:
    assert (
        own(of({"food": "yogurt-granola-pot", "grams": 100}, {"food": "olive-oil", "grams": 5}), None) == "do_not_pack"
    )


def test_a_form_given_for_the_dish_settles_pieces_that_nobody_described() -> None:
    """Cut carrot: not known until it is said; a child over every age that a rule speaks of needs nothing said."""
    stew = of({"food": "carrots-raw", "grams": 80}, {"food": "olive-oil", "grams": 5})
    assert own(stew, None) == "unknown"
    assert own(stew, "mashed") == "in_order"
    assert own(stew, "chunk") == "do_not_pack"
    assert own(stew, None, months=120) is None


def test_a_form_that_no_rule_fears_settles_pieces_of_which_nothing_is_known() -> None:
    generic = of({"food": "sr28-11531", "grams": 100})
    assert own(generic, None) == "unknown"
    assert own(generic, "pieces") == "unknown"
    assert own(generic, "mashed") is None


def test_a_rule_given_for_a_dish_of_ones_own_settles_its_pieces() -> None:
    carrots = {"food": "carrots-raw", "grams": 80}
    assert own(of(carrots, choking_rule="none"), None) is None
    assert own(of(carrots, choking_rule="popcorn"), None) == "do_not_pack"


def test_what_no_rule_speaks_of_makes_no_piece() -> None:
    bread, oil = food("bread"), food("oil")
    nuts = food("nuts", handling=Handling(choking_rule="whole-nuts-seeds"))
    parts = [Ingredient(one, 1000, None) for one in (bread, oil, nuts)]
    assert [piece.name for piece in compose(recipe_id="d", name="d", ingredients=parts).handling.pieces] == ["nuts"]
