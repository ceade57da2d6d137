"""Promise: records kept before fields were added are read everywhere as if these had been left out when they were sent.

Every field that has what it has when it is left out is taken out of what is stored, at every depth; then each page and each GET of
the API answers what it answered before.
"""

import json
import re
from collections.abc import Iterator
from contextlib import closing
from datetime import date
from typing import Any

import pytest
from sqlalchemy import select, update

from service.jobs.household.access.access_keys import NewKey, make_key
from service.jobs.household.kinds import RESOURCES
from service.store.database import Store
from tests.web.test_changed_backups import answers
from tests.web.walking import FullKitchen, full_kitchen

ABOUT_WHO_ASKS = {"/care/keys", "/devices"}
"""Pages that say who has asked for pages."""


@pytest.fixture
def home(store: Store, store_url: str, on: date) -> Iterator[FullKitchen]:
    """A household that has something of everything."""
    with closing(full_kitchen(store, store_url, "Hazel", on)) as made:
        yield made


def stripped(model: Any, body: dict[str, Any]) -> dict[str, Any]:
    """A body without what it has by default."""
    kept = model.model_validate(body, strict=False)
    left: dict[str, Any] = kept.model_dump(mode="json", by_alias=True, exclude_defaults=True)
    return left


def strip(store: Store) -> int:
    """Take out of all records what they have by default; of how many something was taken."""
    changed = 0
    with store.writing() as connection:
        for resource in RESOURCES.values():
            table = resource.kind.table
            for row in connection.execute(select(table.c.id, table.c.body)).all():
                body = stripped(resource.kept_model, row.body)
                changed += body != row.body
                connection.execute(update(table).where(table.c.id == row.id).values(body=body))
    return changed


def words(answer: tuple[int, str]) -> tuple[int, Any]:
    """An answer without what is new each time: a form's token and key, the moment a calendar was made. Of JSON, what it says."""
    status, said = answer
    if said.startswith("{"):
        return status, json.loads(said)
    return status, re.sub(r'name="(token|repeat)" value="[^"]*"|DTSTAMP:\w+', "", said)


def test_records_that_lack_fields_are_read_as_whole(home: FullKitchen, on: date) -> None:
    """The same answers, whatever the order of fields."""
    with home.store.writing() as connection:
        _key, secret = make_key(connection, home.id, NewKey(name="all", rights="keep"))
    before = answers(home, secret, on)
    assert strip(home.store) >= len(RESOURCES)
    after = answers(home, secret, on)
    unlike = {one: after[one] for one in after if words(after[one]) != words(before[one])}
    assert unlike.keys() - ABOUT_WHO_ASKS == set()
