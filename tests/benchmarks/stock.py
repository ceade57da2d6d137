"""The stock of a household: its summary with 300 entries against one with 30, and the day of an entry against a lunch check.

What a person waits for: the stock page and the evening's summary. With ten times as many entries it may take a little more than
ten times as long, never the square of it. Time is that of the processor in this process.
"""

import json
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from tempfile import TemporaryDirectory
from uuid import UUID

from service.domain.stock.keeping import use_by
from service.jobs.household.access.households import today
from service.jobs.household.access.store import open_household_store
from service.jobs.household.kinds import STOCK
from service.jobs.household.records import keep_record, read_asked
from service.jobs.household.settings import HouseholdSettings
from service.jobs.household.stock.summary import stock_summary
from service.jobs.lunch.check_lunch import check_lunch
from service.jobs.requests.lunches import LunchCheckRequest
from service.reference.foods.catalogue import packable_foods
from service.reference.stock.keeping import keeping_rules
from service.store.access.households import create_household
from service.store.household.records import Connection
from tests.benchmarks.designs import HOLDING, least_processor_seconds
from tests.benchmarks.figure import Figure

FEW, TIMES = 30, 10
MOST_TIMES, MOST_OF_A_CHECK = 15, 0.2
PLACES = ("fridge", "freezer", "cupboard")
ITEMS = ("sandwich-sunflower-jam", "apple", "carrots-raw", "milk-1-percent")


def figures() -> Iterator[Figure]:
    """How the summary grows with the stock; what the day of one entry costs."""
    with TemporaryDirectory() as folder:
        store = open_household_store(f"sqlite:///{Path(folder) / 'stock.db'}")
        try:
            with store.writing() as connection:
                small, large = (_household(connection, number) for number in (FEW, FEW * TIMES))
            with store.reading() as connection:
                _summary, few = least_processor_seconds(lambda: stock_summary(connection, small))
                summary, many = least_processor_seconds(lambda: stock_summary(connection, large))
        finally:
            store.close()
    assert summary["ends_first"]
    detail = f"{many * 1000:.0f} ms of the processor for {FEW * TIMES} entries, {few * 1000:.1f} ms for {FEW}"
    yield Figure("summary of ten times the stock", many / few, MOST_TIMES, at_most=True, detail=detail)
    dishes = [food for food in packable_foods() if food.made_of]
    rules, made_on = keeping_rules(), today()
    _days, of_all = least_processor_seconds(
        lambda: [use_by(food, "fridge", made_on, rules, prepared=True) for food in dishes]
    )
    check = LunchCheckRequest.model_validate_json(json.dumps(_check()))
    _told, once = least_processor_seconds(lambda: [check_lunch(check) for _ in range(20)])
    each, once = of_all / len(dishes), once / 20
    detail = f"{each * 1e6:.0f} us of the processor against {once * 1e6:.0f} us"
    yield Figure("until when a dish keeps / lunch check", each / once, MOST_OF_A_CHECK, at_most=True, detail=detail)


def _check() -> dict[str, object]:
    return {
        "on": today().isoformat(),
        "child": {"age_years": 8},
        "standard": "us-school-lunch",
        "lunch": {"items": [{"food": one} for one in ITEMS], "holding": HOLDING},
        "max_changes": 0,
    }


def _household(connection: Connection, entries: int) -> UUID:
    """A household with so many entries, of all foods in turn, made or bought in the last days."""
    household = create_household(connection, HouseholdSettings().model_dump(mode="json"))
    foods = [food.id for food in packable_foods()]
    for number in range(entries):
        day = (today() - timedelta(days=number % 5)).isoformat()
        body = {"food": foods[number % len(foods)], "place": PLACES[number % 3], "portions": 1 + number % 4}
        started = {"made_on" if number % 2 else "bought_on": day}
        keep_record(connection, STOCK, household, read_asked(STOCK, json.dumps({**body, **started}).encode()), None)
    return household
