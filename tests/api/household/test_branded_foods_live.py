"""Promise: the network is asked only for a household that has switched it on, after the index; its key is in no reply."""

import logging
from collections.abc import Iterator
from pathlib import Path

import pytest
from pydantic import TypeAdapter
from starlette.testclient import TestClient

from service.api.foods.branded_replies import BrandedFoods
from service.domain.errors import BadInput
from service.jobs.household.branded.live_source import live_source_state, switch_off, switch_on
from service.store.database import Store
from tests.api.clients import client
from tests.api.household.homes import Home, new_home
from tests.branded_foods import BISCUITS, invented_index
from tests.lookup.live.stub import CODE, KEY, Answer, Stub, hit, stub_server
from tests.refused import refused

SHAPE = TypeAdapter(BrandedFoods)
OF_CODE = f"/v1/branded-foods?gtin={CODE}"


@pytest.fixture
def stub() -> Iterator[Stub]:
    with stub_server() as served:
        served.answers(hit(7))
        yield served


@pytest.fixture
def kitchen(store_url: str, stub: Stub, tmp_path: Path) -> Iterator[TestClient]:
    """A service whose live source is the stub."""
    with client(
        database_url=store_url,
        branded_foods_file=str(invented_index()),
        food_data_url=stub.url,
        food_data_cache=str(tmp_path / "kept.sqlite3"),
    ) as service:
        yield service


def on(store: Store, home: Home, key: str = KEY) -> None:
    with store.writing() as connection:
        switch_on(connection, home.id, key)


def test_it_is_off_until_it_is_switched_on_and_off_again_after(home: Home, store: Store, stub: Stub) -> None:
    assert home.ask("GET", OF_CODE).json()["items"] == []
    on(store, home)
    assert [one["source"] for one in home.ask("GET", OF_CODE).json()["items"]] == ["live"]
    asked = len(stub.asked)
    with store.writing() as connection:
        assert switch_off(connection, home.id) == {"on": False, "since": None}
    assert home.ask("GET", OF_CODE).json() == {"items": [], "index": {"release": "2024-06-13"}, "live": None}
    assert (asked, len(stub.asked)) == (2, 2)


def test_the_index_comes_first_and_other_households_and_nobody_ask_nothing(
    home: Home, neighbours: Home, kitchen: TestClient, store: Store, stub: Stub
) -> None:
    on(store, home)
    (food,) = home.ask("GET", f"/v1/branded-foods?gtin={BISCUITS}").json()["items"]
    assert food["source"] == "index"
    assert neighbours.ask("GET", OF_CODE).json()["items"] == []
    assert kitchen.get(OF_CODE).json()["live"] is None
    assert stub.asked == []


def test_a_network_that_does_not_answer_is_said(home: Home, store: Store, stub: Stub) -> None:
    on(store, home)
    stub.always(Answer({}, 403))

    answer = home.ask("GET", OF_CODE)

    SHAPE.validate_python(answer.json())
    assert (answer.status_code, answer.json()["items"]) == (200, [])
    assert answer.json()["live"]["problem_message"]["code"] == "live.key-refused"


def test_the_key_is_in_no_reply_no_export_and_no_log(
    home: Home, store: Store, stub: Stub, caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.DEBUG):
        on(store, home)
        answers = [
            home.ask("GET", path)
            for path in (OF_CODE, "/v1/branded-foods?q=oat+bars", "/v1/household", "/v1/export", "/v1/keys")
        ]
        answers.append(home.ask("GET", "/v1/export", accept="application/zip"))
    assert KEY in stub.keys
    assert all(KEY.encode() not in one.content for one in answers)
    assert KEY not in caplog.text
    with store.reading() as connection:
        assert KEY not in str(live_source_state(connection, home.id))


@pytest.mark.parametrize("key", ["", "short", "with a space in it", "line\nbreak-0123", "é" * 20, "k" * 201])
def test_what_cannot_be_a_key_is_refused_without_repeating_it(home: Home, store: Store, key: str) -> None:
    with refused(BadInput, match="cannot be a key") as fault, store.writing() as connection:
        switch_on(connection, home.id, key)
    assert key == "" or key not in str(fault.value)
    with store.reading() as connection:
        assert not live_source_state(connection, home.id)["on"]


def test_a_household_that_is_gone_leaves_no_key(kitchen: TestClient, store: Store) -> None:
    from sqlalchemy import select

    from service.store.access.households import remove_household
    from service.store.tables import live_source_keys

    home = new_home(kitchen, store)
    on(store, home)
    with store.writing() as connection:
        remove_household(connection, home.id)
    with store.reading() as connection:
        assert connection.execute(select(live_source_keys)).all() == []
