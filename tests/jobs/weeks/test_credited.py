"""What a change to a week promises is what the week comes to: also where a day holds one food in several items."""

from collections.abc import Iterator
from typing import Any

import pytest

import service.jobs.weeks.changes as searched
from service.domain.foods.amounts import add_up
from service.domain.lunch.changing.changes import LunchChange
from service.domain.weeks.changes import after, rank_week_changes
from service.jobs.weeks.days import school_weeks
from service.jobs.weeks.requests import WeekRequest
from service.jobs.weeks.sum_up_week import sum_up_week
from tests.jobs.making_changes import apply_week_change

DATES = ["2026-11-30", "2026-12-01", "2026-12-02", "2026-12-03", "2026-12-04"]


def crackers(grams: float, food: str = "saltines") -> dict[str, Any]:
    return {"food": food, "unit": "g", "quantity": grams}


LUNCHES = [
    [crackers(12), crackers(12), "apple", {"food": "apple", "unit": "g", "quantity": 30}, "milk-1-percent"],
    [crackers(12), "carrots-baby-raw", crackers(20, "carrots-baby-raw"), "milk-1-percent"],
    [crackers(10, "grapes"), crackers(10, "grapes"), crackers(10, "grapes"), "sandwich-ham"],
]


def requests() -> Iterator[WeekRequest]:
    for lunches in (LUNCHES, LUNCHES[:1], LUNCHES[1:]):
        days = [
            {"date": on, "kind": "packed", "items": [one if isinstance(one, dict) else {"food": one} for one in items]}
            for on, items in zip(DATES, (lunches * 5)[:5], strict=True)
        ]
        body = {"standard": "us-school-lunch", "child": {"age_years": 8}, "week": "2026-W49", "days": days}
        yield WeekRequest.model_validate({**body, "max_changes": 3})


@pytest.mark.parametrize("asked", list(requests()), ids=["three lunches", "crackers", "carrots and grapes"])
def test_the_sums_of_a_change_are_those_of_the_week_after_it(
    asked: WeekRequest, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every change looked at, not only those reported: made in the request, and summed up again to the last part."""
    seen: list[tuple[LunchChange, list[Any], dict[str, Any]]] = []

    def keep_all(table: Any, days: Any, school_days: int, lengths: Any, before: Any, changes: Any, limit: int) -> Any:
        seen.extend((one, days, {}) for one in changes)
        return rank_week_changes(table, days, school_days, lengths, before, changes, limit)

    monkeypatch.setattr(searched, "rank_week_changes", keep_all)
    sum_up_week(asked)
    tried = 0
    week_before = school_weeks(asked, "us-school-meals", "grades-k-5")[-1]
    for change, days, _row in seen:
        days_of = [day for day in week_before.days if day.vector is not None]
        row = {
            "kind": change.kind,
            "places": [{"date": days_of[move.day].on.isoformat(), "item": move.item} for move in change.where],
            "food": None if change.into is None else change.into.food.id,
            "quantity": None if change.into is None else change.into.quantity,
            "unit": None if change.into is None else change.into.unit,
            "form": None,
        }
        made = school_weeks(apply_week_change(asked, row), "us-school-meals", "grades-k-5")[-1]
        for promised, found in zip(after(days, change), made.counted(), strict=True):
            assert add_up([promised.vector]).nominal == add_up([found.vector]).nominal, row
        tried += 1
    assert tried > 50
