"""Promise: what is deleted cannot be found in the files of the store any more, while the service runs and after.

Every file in the folder of the store is searched byte by byte, its write-ahead log and the folder for temporary files too.
Only on SQLite, whose files are the store's own; for PostgreSQL see ``tests/store/test_wiping.py``.
"""

import tempfile
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import NamedTuple

import pytest
from starlette.testclient import TestClient
from typer.testing import CliRunner

from service.cli.main import app
from service.jobs.household.access.store import back_up
from service.jobs.household.transfer.restore import restore
from service.settings import settings
from service.store.database import Store
from service.store.migrate import open_store
from tests.api.clients import client
from tests.api.household.homes import (
    Home,
    child_body,
    food_body,
    lunch_body,
    new_home,
    offer_body,
    packet_body,
    plan_body,
    recipe_body,
    school_day_body,
    stock_body,
)

NICKNAME, DISLIKED, ALLERGEN = "Quillwyn", "brimblesauce", "macadamia"
LABEL, PACKET = "zephyrgrain flour", "ondolberry syrup"
OF_THE_CHILD = (NICKNAME, DISLIKED, ALLERGEN)
FIRST = date(2026, 9, 7)
LUNCHES = 24


class Files:
    """The folder of a store, and that for temporary files."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def holding(self, *words: str) -> dict[str, list[str]]:
        """The files that hold one of the words, in any spelling."""
        found: dict[str, list[str]] = {}
        for file in sorted(one for one in self.folder.rglob("*") if one.is_file()):
            content = file.read_bytes().lower()
            for word in words:
                if word.lower().encode() in content:
                    found.setdefault(file.name, []).append(word)
        return found


class House(NamedTuple):
    """A household, and the ids of what it stores."""

    home: Home
    ids: dict[str, str]


@pytest.fixture
def files(tmp_path: Path, sqlite_template: Path, monkeypatch: pytest.MonkeyPatch) -> Files:
    for name in ("store", "store/temporary"):
        (tmp_path / name).mkdir()
    temporary = str(tmp_path / "store" / "temporary")
    monkeypatch.setattr(tempfile, "tempdir", temporary)
    monkeypatch.setenv("SQLITE_TMPDIR", temporary)
    (tmp_path / "store" / "store.sqlite3").write_bytes(sqlite_template.read_bytes())
    return Files(tmp_path / "store")


@pytest.fixture
def url(files: Files) -> str:
    return f"sqlite:///{files.folder / 'store.sqlite3'}"


@pytest.fixture
def store(url: str) -> Iterator[Store]:
    """Another process, so to say, that has the store open all the time."""
    one = open_store(url)
    yield one
    one.close()


@pytest.fixture
def service(url: str) -> Iterator[TestClient]:
    with client(database_url=url) as one:
        yield one


@pytest.fixture
def house(service: TestClient, store: Store) -> House:
    """Two households: one whose child is to go, with a plan, an offer, school days, a device and lunches, and a sibling; another
    whose rows lie between.
    """
    home, other = (new_home(service, store) for _ in range(2))
    made: dict[str, str] = {}
    for one in (home, other):
        food = one.kept("/v1/foods", food_body("oat bar"))
        name = NICKNAME if one is home else "Hazel"
        more = {"dislikes": [DISLIKED], "avoids": [{"allergen": ALLERGEN}]} if one is home else {}
        child = one.kept("/v1/children", child_body(name, **more))
        sibling = one.kept("/v1/children", child_body("Rowan"))
        offer = one.kept("/v1/offers", offer_body(food))
        one.kept("/v1/school-days", school_day_body(child))
        one.kept("/v1/stock", stock_body("apple"))
        one.kept("/v1/plans", {"name": "weeks", **plan_body(child, offer)})
        made |= {f"{name} child": child, f"{name} sibling": sibling, f"{name} food": food}
    for number in range(LUNCHES):
        day = (FIRST + timedelta(number)).isoformat()
        for one, name in ((home, NICKNAME), (other, "Hazel")):
            body = lunch_body(made[f"{name} child"], day, made[f"{name} food"])
            one.ask("POST", "/v1/lunches", body, idempotency_key=f'"{name}-{number}"')
    return House(home, made)


def delete(home: Home, path: str) -> None:
    answer = home.ask("DELETE", path, if_match=home.ask("GET", path).headers["ETag"])
    assert answer.status_code == 204, answer.text


def pages(store: Store) -> int:
    with store.reading() as connection:
        return int(connection.exec_driver_sql("PRAGMA page_count").scalar_one())


def test_a_child_by_the_api(house: House, files: Files, store: Store, service: TestClient) -> None:
    """Its name, what it avoids and dislikes; the file gets smaller; what others store is still there."""
    assert set().union(*files.holding(*OF_THE_CHILD).values()) == set(OF_THE_CHILD)
    before = pages(store)
    delete(house.home, f"/v1/children/{house.ids[f'{NICKNAME} child']}")
    assert files.holding(*OF_THE_CHILD) == {}
    assert pages(store) < before - 20
    assert (files.folder / "store.sqlite3-wal").exists()
    assert files.holding("Hazel")
    assert len(house.home.ask("GET", "/v1/children").json()["items"]) == 1
    service.__exit__(None, None, None)
    assert files.holding(*OF_THE_CHILD) == {}
    service.__enter__()


def test_a_household_by_the_command(house: House, files: Files, url: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """While a server has the store open."""
    monkeypatch.setenv("PACKED_LUNCH_DATABASE_URL", url)
    settings.cache_clear()
    done = CliRunner().invoke(app, ["household", "remove", str(house.home.id), "--yes"])
    settings.cache_clear()
    assert done.exit_code == 0, done.output
    assert "can still be found" not in done.output
    assert files.holding(*OF_THE_CHILD, str(house.home.id), house.home.id.hex) == {}
    assert files.holding("Hazel")


@pytest.mark.parametrize("collection", ["foods", "packets", "recipes"])
def test_what_a_label_says(house: House, files: Files, collection: str) -> None:
    """An own food, a packet, and a recipe with the address it is from."""
    food = house.home.kept("/v1/foods", food_body("bread", ingredients=f"{LABEL}, salt"))
    packet = house.home.kept("/v1/packets", packet_body("hummus") | {"ingredients": f"{PACKET}, oats"})
    recipe = house.home.kept("/v1/recipes", recipe_body(house.ids[f"{NICKNAME} food"], "gallowtart"))
    word, record = {"foods": (LABEL, food), "packets": (PACKET, packet), "recipes": ("gallowtart", recipe)}[collection]
    assert files.holding(word)
    delete(house.home, f"/v1/{collection}/{record}")
    assert files.holding(word) == {}


def test_what_was_removed_for_its_age_goes_with_the_child(house: House, files: Files, store: Store) -> None:
    """Its lunches of long ago wait to be put back: not any more."""
    from service.jobs.household.retention.purging import purge
    from service.jobs.household.retention.removed import removed_shown

    purge(store, FIRST + timedelta(500), sure=True)
    with store.reading() as connection:
        (lunches,) = [one for one in removed_shown(connection, house.home.id) if one["kind"] == "lunches"]
    assert lunches["count"] == LUNCHES
    delete(house.home, f"/v1/children/{house.ids[f'{NICKNAME} child']}")
    assert files.holding(*OF_THE_CHILD, house.ids[f"{NICKNAME} child"]) == {}


def test_one_who_reads_delays_it(house: House, files: Files, store: Store) -> None:
    """The deletion is stored all the same; what it left goes when the service stops."""
    reader = store.engine.connect()
    reader.exec_driver_sql("SELECT count(*) FROM lunches").all()
    delete(house.home, f"/v1/children/{house.ids[f'{NICKNAME} child']}")
    assert files.holding(*OF_THE_CHILD)
    assert len(house.home.ask("GET", "/v1/children").json()["items"]) == 1
    reader.close()
    house.home.service.app.state.households.close()
    assert files.holding(*OF_THE_CHILD) == {}


def test_a_restore_leaves_nothing_of_what_was_there(house: House, files: Files, store: Store, tmp_path: Path) -> None:
    """An empty store is put in its place; nor does the file for temporary files have any of it."""
    empty = open_store(f"sqlite:///{tmp_path / 'empty.sqlite3'}")
    back_up(empty, str(tmp_path / "empty.backup"))
    empty.close()
    restore(store, str(tmp_path / "empty.backup"), replace=True)
    assert files.holding(*OF_THE_CHILD) == {}
