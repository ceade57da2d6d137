"""Graham and animal crackers are a dessert at school lunch, and plain grains in child care and before kindergarten.

Source: Exhibit A of the grain requirements (copies): group B, 28 g an ounce equivalent, with the mark of a dessert at school lunch; at
most 2 ounce equivalents of desserts a week (7 CFR 210.10(c)(2)(iii)(C)).
"""

from typing import Any

import pytest

from service.jobs.lunch.check_lunch import check_lunch
from service.jobs.requests.lunches import LunchCheckRequest
from service.jobs.weeks.requests import WeekRequest
from service.jobs.weeks.sum_up_week import sum_up_week

ANIMAL = "sr28-28399"
GRAHAM = "sr28-18173"


def findings(food: str, grams: float, standard: str, age_years: int) -> dict[str, dict[str, Any]]:
    asked = {
        "standard": standard,
        "on": "2026-09-01",
        "child": {"age_years": age_years},
        "lunch": {"items": [{"food": food, "unit": "g", "quantity": grams}]},
    }
    return {one["id"]: one for one in check_lunch(LunchCheckRequest.model_validate(asked))["findings"]}


@pytest.mark.parametrize("food", ["crackers-graham", "crackers-animal", GRAHAM, ANIMAL])
def test_they_are_grains_and_a_dessert_at_school(food: str) -> None:
    assert findings(food, 70, "us-school-lunch", 8)["grain"]["amount"] == 2.5
    day = {"date": "2026-09-01", "kind": "packed", "items": [{"food": food, "unit": "g", "quantity": 70}]}
    asked = {"standard": "us-school-lunch", "week": "2026-W36", "child": {"age_years": 8}, "days": [day]}
    reply = sum_up_week(WeekRequest.model_validate(asked))
    (found,) = [one for one in reply["findings"] if one["id"] == "grain-dessert-week"]
    assert (found["amount_low"], found["status"]) == (2.5, "over")


@pytest.mark.parametrize("food", ["crackers-graham", "crackers-animal", GRAHAM, ANIMAL])
@pytest.mark.parametrize("standard", ["us-child-care-lunch", "us-school-lunch"])
def test_they_are_grains_for_a_child_of_four(food: str, standard: str) -> None:
    assert findings(food, 14, standard, 4)["grain"]["status"] == "met"


def test_cookies_never_count_as_grains_for_a_child_of_four() -> None:
    assert findings("cookie-oatmeal", 68, "us-child-care-lunch", 4)["grain"]["status"] == "short"
