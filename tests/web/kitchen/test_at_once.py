"""Many devices that tick one line, or make one batch, at the same moment: it is in the stock once."""

import threading
from collections.abc import Callable
from datetime import date

import pytest

from service.domain.errors import NotThere
from service.jobs.household.stock.for_plans import ToBring, bring_in, brought_in, take_back
from service.jobs.household.stock.requests import StockEntry
from service.store.household.stock import entries_of, events_of_entry
from tests.refused import refused
from tests.web.kitchen.plans import planned
from tests.web.kitchens import Kitchen

DEVICES = 6
LINE = "buy:apple:1"


def at_once(do: Callable[[], None]) -> None:
    """The same from all devices, begun together."""
    ready, failed = threading.Barrier(DEVICES), []

    def one() -> None:
        ready.wait()
        try:
            do()
        except Exception as fault:
            failed.append(fault)

    threads = [threading.Thread(target=one) for _ in range(DEVICES)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert failed == []


def test_a_line_is_there_once_and_taken_back_once(new_kitchen: Kitchen, on: date) -> None:
    store, household = new_kitchen.store, new_kitchen.id
    plan = planned(new_kitchen, on)
    entry = StockEntry(food="apple", place="fridge", portions=3, portion_grams=182, bought_on=on)

    def tick() -> None:
        with store.writing() as connection:
            bring_in(connection, household, plan, LINE, [ToBring(entry, 500_001)])

    def untick() -> None:
        with store.writing() as connection:
            take_back(connection, household, plan, LINE)

    for _again in range(3):
        at_once(tick)
        with store.reading() as connection:
            (there,) = brought_in(connection, household, plan)[LINE]
            assert there.body["grams"] == 500.001
        at_once(untick)
        with store.reading() as connection:
            assert brought_in(connection, household, plan) == {}
            assert len(events_of_entry(connection, household, there.id)) == 2
            assert sum(one.body["grams"] for one in entries_of(connection, household)) == 0


@pytest.mark.parametrize("plan", ["no-id", "01900000-0000-7000-8000-00000000dead"])
def test_of_a_plan_that_is_not_here_nothing_is_kept(new_kitchen: Kitchen, on: date, plan: str) -> None:
    entry = StockEntry(food="apple", place="fridge", portions=3, bought_on=on)
    with refused(NotThere, match="is not a plan here"), new_kitchen.store.writing() as connection:
        bring_in(connection, new_kitchen.id, plan, LINE, [ToBring(entry)])
