"""Promise: whatever is restored or imported, no page and no answer of the API fails afterwards.

Values of a backup and of an export are changed at random, and a backup is signed again. Each is either refused, naming the
field, with the store as it was; or taken in, and then every page and every GET of the API is asked for.
"""

import json
import os
import random
from collections.abc import Iterator
from contextlib import closing
from datetime import date
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import pytest
from fastapi.routing import APIRoute
from starlette.testclient import TestClient

from service.domain.errors import LunchError
from service.jobs.household.access.access_keys import NewKey, make_key
from service.jobs.household.access.store import back_up, open_household_store
from service.jobs.household.transfer.export_household import read_household
from service.jobs.household.transfer.import_household import export_of, import_household
from service.jobs.household.transfer.json import as_value
from service.jobs.household.transfer.restore import restore
from service.jobs.household.transfer.restored_rows import look_over_rows
from service.reference.fault_words import fault_sentence
from service.store.backup import Row
from service.store.backup_file import BackupReader, see_nulls, values_of
from service.store.database import Store
from tests.store.changed_backups import changed, places_in, rows_of, some_change, write_signed
from tests.store.filled import everything
from tests.web.test_every_page import NOT_PAGES, PAGES
from tests.web.walking import PARAMETER, FullKitchen, full_kitchen

ROUNDS = int(os.environ.get("ROUNDS_OF_CHANGES", "1"))
"""How often all is changed and walked; more of them by hand."""
CHANGES = 150
"""Changes that are tried in a round."""


@pytest.fixture
def home(store: Store, store_url: str, on: date) -> Iterator[FullKitchen]:
    """A household that has something of everything."""
    with closing(full_kitchen(store, store_url, "Hazel", on)) as made:
        yield made


def failures(kitchen: FullKitchen, secret: str, on: date) -> dict[str, str]:
    """Every page and GET of the API that is answered with a fault of ours, with what was said."""
    return {address: said[:300] for address, (status, said) in answers(kitchen, secret, on).items() if status >= 500}


def answers(kitchen: FullKitchen, secret: str, on: date) -> dict[str, tuple[int, str]]:
    """The status of every page and GET of the API, and what was said."""
    app = kitchen.app()
    parent = kitchen.browser()
    pages = TestClient(app, raise_server_exceptions=False, cookies=parent.client.cookies)
    api = TestClient(app, raise_server_exceptions=False, headers={"Authorization": f"Bearer {secret}"})
    found = {}
    for route in PAGES:
        if route.path in NOT_PAGES or route.path.startswith("/sign"):
            continue
        for address in route.addresses(
            [*kitchen.all_ids, "apple"] if len(route.parameters) == 1 else kitchen.all_ids[:4], on
        ):
            answer = pages.get(address, headers={"Accept": "text/html"}, follow_redirects=False)
            found[address] = (answer.status_code, answer.text)
    for route in app.routes:
        if not isinstance(route, APIRoute) or "GET" not in route.methods or not route.path.startswith("/v1"):
            continue
        for one in kitchen.all_ids if PARAMETER.search(route.path) else [""]:
            address = PARAMETER.sub(one, route.path)
            query = {"week": f"{on.isocalendar().year}-W{on.isocalendar().week:02}", "date": on.isoformat()}
            for asked in ({}, query):
                answer = api.get(address, params=asked)
                found[f"{address}?{urlencode(asked)}"] = (answer.status_code, answer.text)
    return found


def _accepted(rows: list[Any], shape: Any) -> bool:
    """Whether the look over these rows refuses none, and they are rows at all."""
    try:
        made = [Row(n, name, values_of(shape[name], row)) for n, (name, row) in enumerate(rows, 2)]
        for row in made:
            see_nulls(row.table, row.values)
    except (ValueError, TypeError, AttributeError, OverflowError):
        return False
    return not look_over_rows(made)


@pytest.mark.parametrize("seed", range(ROUNDS))
def test_a_backup_that_was_changed_is_refused_or_can_be_used(
    home: FullKitchen, on: date, tmp_path: Path, seed: int
) -> None:
    """Signed again: what is restored can be looked at on every page, and what is refused has changed nothing."""
    chance = random.Random(seed)  # noqa: S311 - which values to change
    with home.store.writing() as connection:
        _key, secret = make_key(connection, home.id, NewKey(name="all", rights="keep"))
    back_up(home.store, str(tmp_path / "whole"))
    head, rows = rows_of(tmp_path / "whole")
    before = everything(home.store)
    taken = list(rows)
    told: list[str] = []
    for _ in range(CHANGES):
        number, row, place = some_change(taken, chance)
        tried = [*taken[:number], row, *taken[number + 1 :]]
        if taken[number][0] == "access_keys":
            continue
        if _accepted(tried, head["tables"]):
            taken = tried
            told.append(f"{row[0]} {place} {json.dumps(row)[:200]}")
        elif chance.random() < 0.1:
            write_signed(tmp_path / "refused", head, tried)
            with pytest.raises(LunchError) as fault:
                restore(home.store, str(tmp_path / "refused"), replace=True)
            assert "nothing was restored" in fault_sentence(fault.value)
            assert everything(home.store) == before
    assert len(told) > 5
    write_signed(tmp_path / "changed", head, taken)
    restore(home.store, str(tmp_path / "changed"), replace=True)
    assert failures(home, secret, on) == {}, told


@pytest.mark.parametrize("seed", range(ROUNDS))
def test_an_export_that_was_changed_is_refused_or_can_be_used(
    home: FullKitchen, on: date, tmp_path: Path, seed: int
) -> None:
    """The same of an export, taken into a store of its own."""
    chance = random.Random(seed)  # noqa: S311 - which values to change
    whole = as_value(read_household(home.store, home.id))
    told: list[Any] = []
    for _ in range(CHANGES):
        place = chance.choice(list(places_in(whole)))
        _number, (_name, value), _place = some_change([["", [chance.choice(list(whole.values()))]]], chance)
        tried = changed(whole, place, value[0] if value else None)
        try:
            export_of("changed.json", json.dumps(tried).encode())
        except LunchError:
            continue
        whole = tried
        told.append(place)
    url = f"sqlite:///{tmp_path / 'other.sqlite3'}"
    with (
        closing(open_household_store(url)) as other,
        closing(FullKitchen(other, url, home.id, ids=home.ids)) as kitchen,
    ):
        import_household(other, export_of("changed.json", json.dumps(whole).encode()))
        with other.writing() as connection:
            _key, secret = make_key(connection, home.id, NewKey(name="all", rights="keep"))
        assert failures(kitchen, secret, on) == {}, told


def test_an_unchanged_backup_is_not_refused(home: FullKitchen, tmp_path: Path) -> None:
    """Of everything that the pages and the API store, nothing is refused."""
    back_up(home.store, str(tmp_path / "whole"))
    lines = list(BackupReader(tmp_path / "whole").lines())
    assert {name for name, _row in lines} > {"lunches", "plans", "stock", "calendar_feeds"}
    before = everything(home.store)
    assert restore(home.store, str(tmp_path / "whole"), replace=True).left_out == []
    assert everything(home.store) == before
