"""A week's summary in a store of 1,000 households with 40 weeks each, against the same in a store of one (PostgreSQL)."""

import time
from collections.abc import Iterator
from datetime import date, timedelta
from statistics import median

from service.jobs.household.demo import DemoHousehold
from service.store.database import Store
from service.store.household.kinds import LUNCH, PRICE
from service.store.household.lunches import bodies_of_days
from service.store.household.records import page
from service.store.migrate import open_store
from tests.benchmarks.figure import Figure
from tests.benchmarks.many_households import many_families, one_family, plans, week_of, whole_tables_read
from tests.postgres import postgres_running

HOUSEHOLDS, WEEKS, ROUNDS = 1_000, 40, 40

WEEK = "2026-W46"


def _week(store: Store, family: DemoHousehold) -> None:
    week_of(store, family.household, family.children["Rowan"], WEEK)


def _week_read(store: Store, family: DemoHousehold) -> None:
    """What a week reads, without the summing up, which takes most of the time."""
    with store.reading() as connection:
        monday = date.fromisocalendar(2026, 46, 1)
        child = family.children["Rowan"]
        bodies_of_days(connection, family.household, child, monday - timedelta(weeks=11), monday + timedelta(6))
        page(connection, PRICE, family.household, None, 1_000)


def _lunch_page(store: Store, family: DemoHousehold) -> None:
    """The first page of the household's lunches and one further on."""
    with store.reading() as connection:
        first = page(connection, LUNCH, family.household, None, 50)
        page(connection, LUNCH, family.household, first[-1].id, 50)


JOBS = {"a week's summary": _week, "a week's records": _week_read, "two pages of lunches": _lunch_page}


def figures() -> Iterator[Figure]:
    """The ratio of medians, taken in turns, for each of the jobs; how many tables the plans read from end to end."""
    with postgres_running(durable=True) as server:
        small, large = open_store(server.new_database()), open_store(server.new_database())
        families = [one_family(store, WEEKS) for store in (small, large)]
        many_families(small, 1)
        many_families(large, HOUSEHOLDS)
        for name, job in JOBS.items():
            times: list[list[float]] = [[], []]
            for _ in range(ROUNDS):
                for place, (store, family) in enumerate(zip((small, large), families, strict=True)):
                    began = time.perf_counter()
                    job(store, family)
                    times[place].append(time.perf_counter() - began)
            alone, among = (median(some) for some in times)
            yield Figure(
                f"{name} among 1,000 households",
                among / alone,
                1.5,
                at_most=True,
                detail=f"{among * 1000:.1f} ms against {alone * 1000:.1f} ms alone",
            )
            with plans(large) as found:
                job(large, families[1])
            whole = whole_tables_read(found)
            yield Figure(f"{name}: tables read whole", len(whole), 0, at_most=True, detail=", ".join(whole) or "none")
            for plan in found:
                print("    " + plan.replace("\n", "\n    "))
        small.close()
        large.close()
