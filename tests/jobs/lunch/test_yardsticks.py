"""Yardsticks beside a lunch and a week: judged by what was published, shown apart, and without a say in the answer."""

from typing import Any

import pytest

from service.domain.errors import LunchError
from service.jobs.lunch.check_lunch import check_lunch
from service.jobs.requests.lunches import LunchCheckRequest
from tests.week_days import packed_week, summed

WHO, GUIDELINES = "who-free-sugars-2015", "us-dietary-guidelines-2025"


def checked(*items: dict[str, Any], **more: Any) -> dict[str, Any]:
    body: dict[str, Any] = {
        "standard": "gb-eng-lunch-box-guideline",
        "on": "2026-11-27",
        "child": {"age_years": 8},
        "lunch": {"items": list(items)},
        "max_changes": 0,
    }
    return check_lunch(LunchCheckRequest.model_validate(body | more))


def statuses(reply: dict[str, Any]) -> dict[str, dict[str, str]]:
    return {one["id"]: {row["id"]: row["status"] for row in one["findings"]} for one in reply["yardsticks"]}


APPLE = {"food": "apple"}


def test_nothing_is_shown_beside_a_lunch_that_did_not_ask() -> None:
    assert checked(APPLE)["yardsticks"] == []


def test_a_yardstick_changes_nothing_else() -> None:
    without, beside = checked(APPLE), checked(APPLE, yardsticks=[WHO, GUIDELINES])
    assert [one["id"] for one in beside.pop("yardsticks")] == [WHO, GUIDELINES]
    del without["yardsticks"]
    assert beside == without


def test_a_yardstick_named_as_the_standard_is_the_rule() -> None:
    """So many peaches in syrup have more than 10 g of added sugars in a meal: Dietary Guidelines 2025-2030, page 5."""
    syrup = [{"food": "peaches-canned-light-syrup", "quantity": 400, "unit": "g"}]
    reply = checked(*syrup, standard=GUIDELINES)
    assert {row["id"]: row["status"] for row in reply["findings"]}["added-sugars"] == "over"
    assert reply["verdict"] != "pack"


def test_one_without_rows_for_the_day_or_the_age_says_so() -> None:
    early = checked(APPLE, on="2026-01-06", yardsticks=[GUIDELINES])["yardsticks"][0]
    assert early["findings"] == []
    assert early["age_group"] is None
    assert early["code"] == "yardstick.no-rows"
    assert statuses(checked(APPLE, on="2026-01-07", yardsticks=[GUIDELINES]))[GUIDELINES]


def test_what_is_not_known_is_not_said_to_be_kept() -> None:
    label = {"name": "plain label", "serving": {"grams": 100}, "facts": {"energy_kcal": 200}}
    (one,) = checked({"food": label}, yardsticks=[WHO])["yardsticks"]
    assert (
        one["sentence"] == "WHO: free sugars, 2015: 0 of 2 limits kept, 2 not known. This does not change the result."
    )


def test_an_unknown_one_is_refused_at_its_place_with_near_names() -> None:
    with pytest.raises(LunchError) as caught:
        checked(APPLE, yardsticks=[WHO, "who-free-sugar", "us-school-lunch"])
    assert [one.pointer for one in caught.value.faults()] == ["/yardsticks/1", "/yardsticks/2"]


def test_a_week_stands_beside_a_yardstick_whatever_it_is_judged_by() -> None:
    """England's frequencies know no sugars; the sugars of the week are judged all the same, in its mean."""
    days = packed_week([[{"food": "apple-juice", "quantity": 200, "unit": "g"}]] * 5)
    for standard in ("us-school-lunch", "gb-eng-school-food-2014"):
        without, reply = summed(days, standard), summed(days, standard, yardsticks=[WHO])
        assert statuses(reply)[WHO] == {"free-sugars-strong": "over", "free-sugars-conditional": "over"}
        assert {**reply, "yardsticks": []} == without
