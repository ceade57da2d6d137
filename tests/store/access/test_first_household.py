"""Promise: of several servers that first start at once on one empty store, one makes the household."""

import threading

from service.jobs.household.access.access_keys import make_first_key
from service.store.access.households import all_households, remove_household
from service.store.database import Store
from service.store.migrate import open_store


def test_one_household_is_made(store: Store, store_url: str) -> None:
    """Six at once, each with a store of its own, ten times: one is given a key, the others none."""
    others = [open_store(store_url) for _ in range(6)]
    for _ in range(10):
        start = threading.Barrier(len(others))
        secrets: list[str | Exception | None] = []

        def begin(
            one: Store, start: threading.Barrier = start, secrets: list[str | Exception | None] = secrets
        ) -> None:
            start.wait()
            try:
                secrets.append(make_first_key(one))
            except Exception as fault:
                secrets.append(fault)

        workers = [threading.Thread(target=begin, args=(one,)) for one in others]
        for worker in workers:
            worker.start()
        for worker in workers:
            worker.join()
        assert sorted(map(type, secrets), key=str) == sorted([str, *[type(None)] * 5], key=str), secrets
        with store.writing() as connection:
            ((household, _body),) = all_households(connection)
            remove_household(connection, household)
    for one in others:
        one.close()
