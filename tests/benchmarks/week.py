"""A week's summary against a lunch check with default settings: both in process, in turns, the middle of the rounds."""

import time
from collections.abc import Callable, Iterator
from typing import Any

import orjson

from service.jobs.lunch.check_lunch import check_lunch
from service.jobs.requests.lunches import LunchCheckRequest
from service.jobs.weeks.requests import WeekRequest
from service.jobs.weeks.sum_up_week import sum_up_week
from tests.benchmarks.figure import Figure

ROUNDS, REPEATS = 15, 4
STANDARDS = ("us-school-lunch", "gb-sct-school-lunch", "gb-eng-school-food-2014")
CHILD = {"age_years": 8, "avoids": [{"allergen": "peanut"}]}
HOLDING = {"insulated": True, "cold_sources": 2, "minutes_until_eaten": 240}


def item(food: str, quantity: float, unit: str, **more: Any) -> dict[str, Any]:
    return {"food": food, "quantity": quantity, "unit": unit, **more}


USUAL = [
    item("bread-whole-wheat", 2, "slice"),
    item("cheese-cheddar", 28, "g"),
    item("carrots-baby-raw", 60, "g", form="strip"),
    item("apple", 1, "apple"),
    item("yogurt-plain-low-fat", 113, "g"),
    item("milk-1-percent", 1, "cup"),
]
OTHER = [
    item("sandwich-turkey-cheese", 1, "sandwich"),
    item("banana", 118, "g"),
    item("cucumber", 60, "g"),
    item("pretzels", 28, "g"),
    item("milk-1-percent", 1, "cup"),
]
DAYS = [
    {"date": date, "kind": "packed", "items": items, "holding": HOLDING}
    for date, items in zip(
        ("2026-11-30", "2026-12-01", "2026-12-02", "2026-12-03", "2026-12-04"),
        (USUAL, OTHER, USUAL, OTHER, USUAL),
        strict=True,
    )
]


def seconds(work: Callable[[], object]) -> float:
    """Of one run."""
    begun = time.perf_counter()
    for _ in range(REPEATS):
        work()
    return (time.perf_counter() - begun) / REPEATS


def week_of(standard: str) -> WeekRequest:
    body = {"standard": standard, "week": "2026-W49", "child": CHILD, "days": DAYS}
    return WeekRequest.model_validate_json(orjson.dumps(body))


def figures() -> Iterator[Figure]:
    """How many lunch checks' time a week's summary takes, changes and all, for three kinds of standard."""
    lunch = {
        "standard": "us-school-lunch",
        "on": "2026-12-01",
        "child": CHILD,
        "lunch": {"items": USUAL, "holding": HOLDING},
    }
    check = LunchCheckRequest.model_validate_json(orjson.dumps(lunch))
    for standard in STANDARDS:
        asked = week_of(standard)
        for _ in range(2):  # what is read once is read before
            check_lunch(check)
            reply = sum_up_week(asked)
        weeks, checks = [], []
        for _ in range(ROUNDS):
            checks.append(seconds(lambda: check_lunch(check)))
            weeks.append(seconds(lambda asked=asked: sum_up_week(asked)))  # type: ignore[misc]
        one, many = sorted(checks)[ROUNDS // 2], sorted(weeks)[ROUNDS // 2]
        detail = f"{many * 1e3:.1f} ms against {one * 1e3:.1f} ms, {len(reply['changes'])} changes"
        yield Figure(f"week by {standard}", many / one, 5.0, at_most=True, detail=detail)
