"""Promise: a change brings in foods that somebody would pack, or just those that the caller named."""

import pytest

from service.domain.errors import LunchError
from service.jobs.foods.at_hand import NOT_SUGGESTED, everyday_foods, foods_named
from service.jobs.requests.lunches import LunchItem


def test_everyday_foods_are_no_sweets_drinks_or_condiments() -> None:
    """They would often be the nearest way to an energy target."""
    found = everyday_foods()
    assert len(found) > 20
    assert all(one[0].everyday and one[0].category not in NOT_SUGGESTED for one in found)
    assert all(one[1] > 0 for one in found)


def test_a_named_food_comes_in_its_usual_portion_or_in_the_amount_named() -> None:
    """USDA SR28 weighs a medium apple at 182 g (item 09003)."""
    (usual,) = foods_named(["apple"])
    assert (usual[0].id, usual[1], usual[2], usual[3]) == ("apple", 182_000, 1.0, "apple")
    (named,) = foods_named([LunchItem(food="apple", quantity=50, unit="g")])
    assert named[1] == 50_000


def test_all_names_that_do_not_fit_are_reported_together() -> None:
    """Each with its place."""
    with pytest.raises(LunchError) as refused:
        foods_named(["aple", "apple", LunchItem(food="apple", quantity=1, unit="bushel")])
    places = [one.pointer for one in refused.value.faults()]
    assert len(places) == 2
    assert places[0].startswith("/0")
    assert places[1].startswith("/2")
