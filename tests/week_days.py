"""Short ways to ask for a week in tests: days from item lists, the week of 30 November 2026 unless another is named."""

from datetime import date, timedelta
from typing import Any

import orjson

from service.jobs.weeks.requests import WeekRequest, week_of
from service.jobs.weeks.sum_up_week import sum_up_week

MONDAY = date(2026, 11, 30)

Item = dict[str, Any]


def item(food: str, grams: float | None = None, **more: Any) -> Item:
    """An item in grams, or in its usual portion."""
    return {"food": food, **({} if grams is None else {"quantity": grams, "unit": "g"}), **more}


def packed(*items: Item, on: date, **more: Any) -> dict[str, Any]:
    """A packed day."""
    return {"date": on.isoformat(), "kind": "packed", "items": list(items), **more}


def packed_week(days: list[list[Item]], monday: date = MONDAY) -> list[dict[str, Any]]:
    """Packed days from Monday on."""
    return [packed(*items, on=monday + timedelta(days=place)) for place, items in enumerate(days)]


def bought(on: date, **menu: Any) -> dict[str, Any]:
    """A bought day, with a menu where something is said of it."""
    return {"date": on.isoformat(), "kind": "bought", **({"menu": menu} if menu else {})}


def week_body(days: list[dict[str, Any]], standard: str = "us-school-lunch", **more: Any) -> dict[str, Any]:
    """The body of a request."""
    body = {"standard": standard, "week": week_of(MONDAY), "child": {"age_years": 8}, "max_changes": 0, "days": days}
    return {**body, **more}


def asked(days: list[dict[str, Any]], standard: str = "us-school-lunch", **more: Any) -> WeekRequest:
    """The request as read."""
    return WeekRequest.model_validate_json(orjson.dumps(week_body(days, standard, **more)))


def summed(days: list[dict[str, Any]], standard: str = "us-school-lunch", **more: Any) -> dict[str, Any]:
    """The summary of days."""
    return sum_up_week(asked(days, standard, **more))


def statuses(reply: dict[str, Any]) -> dict[str, str]:
    """Finding id -> status, targets and frequencies."""
    return {one["id"]: one["status"] for one in [*reply["findings"], *reply["frequencies"]]}


def finding(reply: dict[str, Any], finding_id: str) -> dict[str, Any]:
    """One finding."""
    rows = [*reply["findings"], *reply["frequencies"], *reply["micronutrients"]]
    return next(one for one in rows if one["id"] == finding_id)
