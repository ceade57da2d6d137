"""Several items of one food, taken from one group, credit as one food: an audit counts what the single check finds.

Source: the Food Buying Guide, appendix A, rounds the credit of a food down once; 22 g of crackers make an ounce equivalent.
"""

from typing import Any

import pytest

from service.domain.errors import LunchError
from service.jobs.lunch.check_lunch import check_lunch
from service.jobs.offers.audit_offer import audit_offer
from service.jobs.offers.requests import OfferAuditRequest
from service.jobs.requests.lunches import LunchCheckRequest
from tests.refused import refused

DAY = {"standard": "us-school-lunch", "age_years": 8}
FIVE_GRAMS = {"food": "saltines", "unit": "g", "quantity": 5}
SEVEN_GRAMS = {"food": "saltines", "unit": "g", "quantity": 7, "key": "more"}


def grain_kept(groups: list[dict[str, Any]]) -> tuple[int, int]:
    """Lunches that keep the day's minimum of grains, and all of them."""
    body = {"on": "2026-09-01", "offer": {"groups": groups}, "children": [DAY]}
    (child,) = audit_offer(OfferAuditRequest.model_validate(body))["children"]
    (grain,) = [one for one in child["targets"] if one["id"] == "grain"]
    return grain["kept"], child["total"]


def kept_alone(items: list[dict[str, Any]]) -> bool:
    asked = {
        "standard": "us-school-lunch",
        "on": "2026-09-01",
        "child": {"age_years": 8},
        "lunch": {"items": [{key: one[key] for key in ("food", "unit", "quantity")} for one in items]},
        "max_changes": 0,
    }
    found = check_lunch(LunchCheckRequest.model_validate(asked))["findings"]
    return next(one["status"] for one in found if one["id"] == "grain") == "met"


@pytest.mark.parametrize(("times", "kept"), [(4, False), (5, True), (6, True)])  # 20, 25 and 30 g of 22
def test_the_same_item_taken_again_and_again(times: int, kept: bool) -> None:
    take = {"at_least": times, "at_most": times, "repeats": True}
    assert grain_kept([{"id": "crackers", "items": [FIVE_GRAMS], "take": take}]) == (int(kept), 1)
    assert kept_alone([FIVE_GRAMS] * times) is kept


def test_two_portions_of_one_food() -> None:
    """Any four of 5 g and 7 g: 20, 22, 24, 26 and 28 g."""
    take = {"at_least": 4, "at_most": 4, "repeats": True}
    assert grain_kept([{"id": "crackers", "items": [FIVE_GRAMS, SEVEN_GRAMS], "take": take}]) == (4, 5)
    alone = [kept_alone([FIVE_GRAMS] * (4 - more) + [SEVEN_GRAMS] * more) for more in range(5)]
    assert alone == [False, True, True, True, True]


def test_one_food_from_two_groups() -> None:
    """10 g and 15 g of crackers make the ounce equivalent only together: one lunch in four, as each single check finds."""
    ten, fifteen = {**FIVE_GRAMS, "quantity": 10}, {**FIVE_GRAMS, "quantity": 15}
    water = {"food": "water"}
    one = {"at_least": 1, "at_most": 1}
    groups = [{"id": "box", "items": [ten, water], "take": one}, {"id": "bag", "items": [fifteen, water], "take": one}]
    assert grain_kept(groups) == (1, 4)
    assert [kept_alone(items) for items in ([ten, fifteen], [ten], [fifteen])] == [True, False, False]


def test_one_food_from_three_groups_taken_several_times() -> None:
    """Any of nothing, 5 g, 10 g from each of three groups: at least 22 g only with 10, 10 and 5 g, or three times 10 g."""
    take = {"at_least": 0, "at_most": 2, "repeats": True}
    groups = [{"id": f"group {number}", "items": [FIVE_GRAMS], "take": take} for number in range(3)]
    assert grain_kept(groups) == (4, 27)


def test_too_many_ways_to_take_the_same_foods_are_refused() -> None:
    foods = ["apple", "grapes", "clementine", "carrots-baby-raw", "saltines", "bread-white", "milk-1-percent"]
    take = {"at_least": 2, "at_most": 2}
    groups = [{"id": f"group {n}", "items": [{"food": one} for one in foods], "take": take} for n in range(4)]
    with refused(LunchError, match="into one group only"):
        grain_kept(groups)
