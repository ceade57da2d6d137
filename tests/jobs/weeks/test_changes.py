"""Every change reported for a week is made by a program and the week summed up again: what was reported comes out."""

from typing import Any

import pytest

from service.jobs.weeks.requests import WeekRequest
from service.jobs.weeks.sum_up_week import sum_up_week
from tests.contract.example_files import example_files
from tests.jobs.making_changes import apply_week_change

EXAMPLES = {
    one.case: one.request
    for one in example_files()
    if one.operation == "sum-up-week" and not one.case.startswith(("error-", "kept-"))
}
DATES = ["2026-11-30", "2026-12-01", "2026-12-02", "2026-12-03", "2026-12-04"]


def week(standard: str, *lunches: list[Any], **more: Any) -> dict[str, Any]:
    """A week of packed lunches, the same ones again where there are fewer than five."""
    days = [
        {"date": on, "kind": "packed", "items": [one if isinstance(one, dict) else {"food": one} for one in items]}
        for on, items in zip(DATES, (lunches * 5)[:5], strict=True)
    ]
    return {"standard": standard, "child": {"age_years": 8}, "week": "2026-W49", "days": days, **more}


OWN = {
    "the same sandwich every day": week("us-school-lunch", ["sandwich-ham", "apple", "milk-1-percent"]),
    "portions that differ": week(
        "us-school-lunch",
        [{"food": "carrots-raw", "quantity": 0.5}, "sandwich-turkey-cheese", "milk-1-percent"],
        ["carrots-raw", "sandwich-turkey-cheese", "apple"],
    ),
    "Scotland, much salt": week(
        "gb-sct-school-lunch", ["sandwich-ham", "ham-sliced", "milk-skim"], ["sandwich-cheese", "ham-sliced"]
    ),
    "only water at hand": week(
        "us-school-lunch",
        [{"food": "carrots-raw", "quantity": 0.5}, "sandwich-ham", "milk-1-percent", "ham-sliced"],
        ["carrots-raw", "sandwich-ham", "apple", "potato-chips"],
        offer=["water"],
    ),
    "much salt and only water at hand": week(
        "gb-sct-school-lunch", ["sandwich-ham", "ham-sliced", "potato-chips", "apple"], offer=["water"]
    ),
    "England, a sweet and only water at hand": week(
        "gb-eng-school-food-2014", ["sandwich-ham", "apple"], ["sandwich-cheese", "jelly-beans"], offer=["water"]
    ),
    "England, a sweet on two days": week(
        "gb-eng-school-food-2014",
        ["sandwich-ham", "apple", "water"],
        ["sandwich-cheese", "jelly-beans", "apple-juice"],
    ),
}
COME_BACK = week("us-school-lunch", ["sandwich-ham", "apple", "milk-1-percent"])
for day in COME_BACK["days"]:
    day["uneaten"] = [{"item": 1, "share": 1.0}, {"item": 2, "share": 0.5}]
REQUESTS = EXAMPLES | OWN | {"some came back": COME_BACK}


def summed(request: dict[str, Any]) -> tuple[WeekRequest, dict[str, Any]]:
    asked = WeekRequest.model_validate(request)
    return asked, sum_up_week(asked)


def statuses(reply: dict[str, Any]) -> dict[str, str]:
    """Status of each target or rule over the week."""
    return {one["id"]: one["status"] for one in (*reply["findings"], *reply["frequencies"])}


def kept_days(reply: dict[str, Any]) -> int:
    """How often a rule of each day is kept, over all rules and days."""
    return sum(day["status"] in ("met", "not_applicable") for one in reply["findings"] for day in one["days"])


@pytest.mark.parametrize("name", list(REQUESTS))
def test_a_change_made_fixes_what_was_reported_and_breaks_nothing(name: str) -> None:
    asked, reply = summed(REQUESTS[name])
    before = statuses(reply)
    for change in reply["changes"]:
        after = sum_up_week(apply_week_change(asked, change))
        now = statuses(after)
        newly = {one for one, status in now.items() if status in ("met", "not_applicable")}
        newly -= {one for one, status in before.items() if status in ("met", "not_applicable")}
        assert newly == set(change["mends"]), change["sentence"]
        broken = {one for one, status in before.items() if status in ("met", "not_applicable")} - {
            one for one, status in now.items() if status in ("met", "not_applicable")
        }
        assert not broken, change["sentence"]
        if not reply["frequencies"]:
            assert kept_days(after) - kept_days(reply) == change["days_mended"], change["sentence"]


def test_the_requests_bring_up_changes_of_every_kind() -> None:
    """So that the test above looks at all of them."""
    kinds = {change["kind"] for request in REQUESTS.values() for change in summed(request)[1]["changes"]}
    assert kinds == {"portion", "swap", "add", "remove"}


def test_what_came_back_of_other_items_stays_with_them() -> None:
    """The second item is left out: what came back of the third is told of the second then."""
    asked = WeekRequest.model_validate(COME_BACK)
    change = {"kind": "remove", "food": None, "places": [{"date": "2026-12-01", "item": 1}]}
    day = apply_week_change(asked, change).days[1]
    assert [item.food for item in day.items] == ["sandwich-ham", "milk-1-percent"]
    assert [(one.item, one.share) for one in day.uneaten] == [(1, 0.5)]
