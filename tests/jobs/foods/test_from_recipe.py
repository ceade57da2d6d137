"""A dish sent as a recipe: what a portion of it credits as."""

import pytest

from service.jobs.lunch.check_lunch import check_lunch
from service.jobs.requests.lunches import LunchCheckRequest


@pytest.mark.parametrize("portions", [2, 3, 6, 7, 9, 11, 13])
@pytest.mark.parametrize("weight_change_percent", [0, 15, -7])
def test_a_share_of_a_dish_credits_as_that_share_however_its_weight_divides(
    portions: int, weight_change_percent: int
) -> None:
    """28 g of bread is 1 oz eq: Exhibit A, group B; a portion has four. The dish's weight is not a whole number of portions in grams."""
    dish = {
        "name": "bread and butter",
        "ingredients": [{"food": "bread-italian", "grams": 4 * 28 * portions}, {"food": "butter", "grams": 10}],
        "portions": portions,
        "weight_change_percent": weight_change_percent,
    }
    items = [{"food": dish, "quantity": quantity} for quantity in (0.25, 0.5, 0.75, 1, 1.25)]
    for item in items:
        asked = {
            "standard": "us-school-lunch",
            "on": "2026-12-01",
            "child": {"age_years": 8},
            "lunch": {"items": [item]},
            "max_changes": 0,
        }
        checked = check_lunch(LunchCheckRequest.model_validate(asked))
        assert checked["items"][0]["credits"] == {"grain_oz_eq": 4 * item["quantity"]}
        assert {one["id"]: one["status"] for one in checked["findings"]}["grain"] == "met"
