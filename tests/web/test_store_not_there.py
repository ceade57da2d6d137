"""Promise: where the store does not answer, the API says so as a problem and a page in words, both 503 with Retry-After; and both go on after."""

import gc
import sqlite3
import warnings
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Engine, event

from service.store import database
from service.store.migrate import open_store
from tests.api.problems_seen import problem_of
from tests.postgres import postgres_running
from tests.web.kitchens import OURS, Browser, Kitchen, empty_kitchen

ALICE = {"nickname": "Alice", "standard": "us-school-lunch", "age_group": "grades-k-5"}
JUICE = {"name": "pear juice", "ingredients": "Pears.", "serving": "1 cup", "grams": "200"}


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Kitchen]:
    """A household in a SQLite file, whose store gives up after tenths of a second."""
    monkeypatch.setattr(database, "BUSY_MS", 300)
    monkeypatch.setattr(database, "READER_BUSY_MS", 100)
    url = f"sqlite:///{tmp_path / 'store.sqlite3'}"
    with closing(open_store(url)) as store, closing(empty_kitchen(store, url)) as made:
        yield made


def api_says(answer: Any, path: str, code: str) -> None:
    """A problem that says what is wrong with the store, what to do, and when to come again."""
    told = problem_of(answer, 503, "store-fault", path)
    assert [one["code"] for one in told["errors"]] == [code]
    assert int(answer.headers["retry-after"]) >= 1


def page_says(browser: Browser) -> None:
    """The page that was last answered says so, and when to come again."""
    assert "What is stored cannot be reached just now" in browser.last.text
    assert int(browser.last.headers["retry-after"]) >= 1


@contextmanager
def written_to(home: Kitchen) -> Iterator[None]:
    """Another program writes to the file."""
    file = home.url.removeprefix("sqlite:///")
    with closing(sqlite3.connect(file, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        yield


@contextmanager
def kept_by_another(home: Kitchen) -> Iterator[None]:
    """Another program has the whole file to itself; only before anybody else opens it."""
    for one in home.opened:
        one.close()
    home.store.engine.dispose()
    with closing(sqlite3.connect(home.url.removeprefix("sqlite:///"), isolation_level=None)) as other:
        other.execute("PRAGMA locking_mode=EXCLUSIVE")
        other.execute("BEGIN EXCLUSIVE")
        yield


@contextmanager
def without_room(home: Kitchen) -> Iterator[None]:
    """The file may not grow any more: SQLite says the same of that as of a full disk (sqlite.org/rescode.html#full)."""

    def no_more_pages(connection: Any, *_: object) -> None:
        connection.execute("PRAGMA max_page_count=1")

    engines: list[Engine] = [one.store().engine for one in home.opened]
    for engine in engines:
        engine.dispose()
        event.listen(engine, "connect", no_more_pages)
    yield
    for engine in engines:
        event.remove(engine, "connect", no_more_pages)
        engine.dispose()


def test_a_locked_store_is_read_and_not_written(home: Kitchen) -> None:
    """What was typed can be sent again."""
    browser = home.browser()
    form = browser.get("/foods/new")
    with written_to(home):
        api_says(browser.client.post("/v1/children", json=ALICE, headers=OURS), "/v1/children", "store-locked")
        again = browser.send(form, "/foods/new", status=503, **JUICE)
        page_says(browser)
        assert "pear juice" in again.text
        assert browser.client.get("/v1/children").status_code == 200
    browser.send(again, "/foods/new")
    assert "pear juice" in browser.get("/foods?q=pear+juice").text
    assert browser.client.post("/v1/children", json=ALICE, headers=OURS).status_code == 201


def test_a_store_that_another_program_keeps_is_told_at_the_gate(home: Kitchen) -> None:
    """Where a device is looked up; what stores nothing is answered."""
    browser = home.browser()
    with kept_by_another(home):
        api_says(browser.client.get("/v1/children"), "/v1/children", "store-locked")
        browser.get("/", 503)
        page_says(browser)
        assert browser.client.get("/v1/health", headers={"Cookie": ""}).status_code == 200


def test_a_full_disk_is_told_with_its_remedy(home: Kitchen) -> None:
    """And reading goes on."""
    browser = home.browser()
    form = browser.get("/foods/new")
    with without_room(home):
        answers = (
            browser.client.post("/v1/children", json={**ALICE, "nickname": f"Alice {number}"}, headers=OURS)
            for number in range(300)
        )
        refused = next(one for one in answers if one.status_code != 201)
        api_says(refused, "/v1/children", "disk-full")
        assert "Make room on the disk" in refused.json()["errors"][0]["remedy"]
        browser.send(form, "/foods/new", status=503, **JUICE | {"ingredients": "Pears. " * 1_000})
        page_says(browser)
        assert browser.client.get("/v1/children").status_code == 200


@pytest.mark.postgres
def test_postgresql_that_was_killed_is_told_and_found_again() -> None:
    """Neither the API nor pages need a new start of the service."""
    with postgres_running() as server:
        url = server.new_database()
        with closing(open_store(url)) as store, closing(empty_kitchen(store, url)) as home:
            browser = home.browser()
            server.kill()
            api_says(browser.client.get("/v1/children"), "/v1/children", "store-no-answer")
            browser.get("/", 503)
            page_says(browser)
            server.start()
            assert browser.client.get("/v1/children").status_code == 200
            browser.get("/more")
    with warnings.catch_warnings():  # the driver's connections that the kill broke were given up without being closed
        warnings.simplefilter("ignore", ResourceWarning)
        gc.collect()
