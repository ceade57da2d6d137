"""A food that comes in several lines of a lunch credits as one food: summed, then rounded down once.

Source of the rounding: USDA Food Buying Guide, appendix A (down, once); grain group A, 22 g an ounce equivalent, a quarter at the least
(Exhibit A of the grain requirements).
"""

from typing import Any

import pandas as pd
import pytest

from service.jobs.lunch.check_lunch import check_lunch
from service.jobs.requests.lunches import LunchCheckRequest
from service.jobs.tables.check_table import check_table
from service.jobs.weeks.requests import WeekRequest
from service.jobs.weeks.sum_up_week import sum_up_week
from tests.jobs.making_changes import apply_lunch_change

CRACKER = {
    "name": "our cracker",
    "serving": {"grams": 4},
    "credits": [{"component": "grain", "per_serving": 0.18}],
    "facts": {"energy_kcal": 20},
}
REST = [{"food": "apple"}, {"food": "carrots-baby-raw"}, {"food": "milk-skim"}]


def grain(items: list[dict[str, Any]], **more: Any) -> float:
    body: dict[str, Any] = {
        "standard": "us-school-lunch",
        "on": "2026-09-01",
        "child": {"age_months": 80},
        "lunch": {"items": items + REST},
        "max_changes": 0,
    }
    found = check_lunch(LunchCheckRequest.model_validate(body | more))["findings"]
    return float(next(one["amount"] for one in found if one["id"] == "grain"))


def crackers(lines: int, each: float = 1) -> list[dict[str, Any]]:
    return [{"food": CRACKER, "quantity": each}] * lines


@pytest.mark.parametrize(
    ("lines", "credit"),
    [(1, 0.0), (2, 0.25), (3, 0.5), (6, 1.0)],  # 0.18 each: 0.18, 0.36, 0.54 and 1.08, down to a quarter
)
def test_lines_of_one_food_are_added_up_before_they_are_rounded(lines: int, credit: float) -> None:
    assert grain(crackers(lines)) == grain(crackers(1, lines)) == credit


def test_a_food_of_the_tables_likewise() -> None:
    one = {"food": "saltines", "unit": "g", "quantity": 5}
    assert grain([one]) == 0.0  # 5 g of 22
    assert grain([one] * 6) == grain([one | {"quantity": 30}]) == 1.25  # 30 / 22 = 1.36


def test_different_foods_and_ways_of_crediting_are_rounded_apart() -> None:
    other = CRACKER | {"name": "another cracker"}
    assert grain([{"food": CRACKER}, {"food": other}]) == 0.0


def test_a_table_of_lunches_says_the_same() -> None:
    each = [3.0, 5.0, 7.5, 5.0]
    lunch = {"lunch": "L1", "standard": "us-school-lunch", "on": "2026-09-01", "age_months": 80}
    rows = [lunch | {"food": "saltines", "unit": "g", "quantity": grams} for grams in each]
    rows += [lunch | {"food": one["food"]} for one in REST]
    found = check_table(pd.DataFrame(rows)).findings
    items = [{"food": "saltines", "unit": "g", "quantity": grams} for grams in each]
    (amount,) = found[found["id"] == "grain"]["amount"]
    assert amount == grain(items) == 0.75  # 20.5 / 22 = 0.93


def test_a_week_credits_what_was_eaten_of_a_food_together() -> None:
    one = {"food": "saltines", "unit": "g", "quantity": 10}
    day = {"date": "2026-09-01", "kind": "packed", "items": [one, one, one], "uneaten": [{"item": 0, "share": 0.5}]}
    asked = {"standard": "us-school-lunch", "week": "2026-W36", "child": {"age_months": 80}, "days": [day]}
    found = sum_up_week(WeekRequest.model_validate(asked))
    (totals,) = [day["totals"] for day in found["days"] if day["totals"]]
    assert totals["grain_oz_eq"]["amount"] == 1.0  # 25 / 22 = 1.13


@pytest.mark.parametrize(("quantity", "lines"), [(4, 2), (4, 3), (6, 2)])
def test_a_change_knows_what_a_food_in_several_lines_credits(quantity: float, lines: int) -> None:
    """Each change that is shown is made, and the lunch checked again: the score is the one that was shown."""
    body: dict[str, Any] = {
        "standard": "us-school-lunch",
        "on": "2026-09-01",
        "child": {"age_months": 80},
        "lunch": {
            "items": [{"food": "saltines", "quantity": quantity}] * lines + [{"food": "apple"}, {"food": "milk-skim"}]
        },
        "offer": ["saltines", "apple"],
    }
    request = LunchCheckRequest.model_validate(body)
    found = check_lunch(request)["changes"]
    assert any(one["item"] == 0 for one in found)
    for change in found:
        assert check_lunch(apply_lunch_change(request, change))["score"] == change["score_after"], change
