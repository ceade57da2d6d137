"""Promise: what is remembered of an offer goes by the mark of every table that it was read from, and is made once."""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from typing import Any

import pytest
from sqlalchemy import event

from service.jobs.household.access.households import today
from service.jobs.household.offers import set_out_for as job
from service.jobs.household.remembered import Remembered
from service.store.database import Store
from tests.web.kitchens import Kitchen, demo_kitchen

READS = re.compile(r"\b(?:FROM|JOIN)\s+(\w+)", re.IGNORECASE)


@pytest.fixture
def nothing_remembered(monkeypatch: pytest.MonkeyPatch) -> None:
    """As in a server that was just started."""
    monkeypatch.setattr(job, "_remembered", Remembered[job.SetOut](4))


@contextmanager
def _statements(store: Store) -> Iterator[list[str]]:
    seen: list[str] = []

    def note(_connection: Any, _cursor: Any, statement: str, *_others: Any) -> None:
        seen.append(statement)

    event.listen(store.engine, "before_cursor_execute", note)
    try:
        yield seen
    finally:
        event.remove(store.engine, "before_cursor_execute", note)


def _asked(kitchen: Kitchen, offer: str, on: date) -> job.SetOut:
    with kitchen.store.reading() as connection:
        return job.set_out_for(connection, kitchen.id, kitchen.children["Rowan"], offer, on)


def test_it_reads_no_table_that_its_mark_leaves_out(store: Store, store_url: str, nothing_remembered: None) -> None:
    kitchen = demo_kitchen(store, store_url, today())
    offer = kitchen.set_out("usual mornings", today())
    with _statements(store) as seen:
        _asked(kitchen, offer, today())
    marked, *others = [one for one in seen if "FROM" in one]
    of_mark = set(READS.findall(marked))
    assert of_mark == {"households", *(kind.table.name for kind in job.FOLLOWS_FROM)}
    assert {table for one in others for table in READS.findall(one)} <= of_mark
    assert len(others) >= 4, "the offer, the child, the household, the packets"


def test_asked_again_only_the_mark_is_read(store: Store, store_url: str, nothing_remembered: None) -> None:
    kitchen = demo_kitchen(store, store_url, today())
    offer = kitchen.set_out("usual mornings", today())
    first = _asked(kitchen, offer, today())
    with _statements(store) as seen:
        assert _asked(kitchen, offer, today()) is first
    assert len([one for one in seen if "FROM" in one]) == 1


def test_what_fails_is_not_remembered_and_the_oldest_goes_first() -> None:
    kept = Remembered[str](most=2)

    def fails() -> str:
        raise LookupError

    with pytest.raises(LookupError):
        kept.get("a", fails)
    assert [kept.get(key, lambda key=key: key) for key in "aba"] == ["a", "b", "a"]  # type: ignore[misc]
    kept.get("c", lambda: "c")  # b was not asked for longest
    assert kept.get("a", fails) == "a"
    with pytest.raises(LookupError):
        kept.get("b", fails)
