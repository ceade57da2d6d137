"""Promise: the commands say of a packet whether its statement could be read, and what to do if not.

Expected: counts of words by hand; the text is Russian, which is none of the languages that labels are read in.
"""

import json
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from typer.testing import CliRunner

from service.cli.main import app
from service.jobs.household.kinds import CHILDREN
from service.jobs.household.records import keep_record
from service.jobs.household.requests import KeptChild
from service.settings import settings
from service.store.access.households import create_household
from service.store.database import Store

RUSSIAN = "Сахар, пшеничная мука, молоко"
TODAY = datetime.now(UTC).date().isoformat()
PACKET = {"food": "hummus", "read_on": TODAY, "ingredients": RUSSIAN}
SAID = "4 of 4 words unknown"
Run = Callable[..., str]


@pytest.fixture
def run(store_url: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Iterator[Run]:
    """Runs a command on a store of this test's own, a request in a file as its last word; gives what it printed."""
    monkeypatch.setenv("PACKED_LUNCH_DATABASE_URL", store_url)
    monkeypatch.setenv("COLUMNS", "200")
    settings.cache_clear()

    def one(*words: str, body: Any = None, code: int = 0) -> str:
        if body is not None:
            file = tmp_path / "request.json"
            file.write_text(json.dumps(body), encoding="utf-8")
            words = (*words, str(file))
        done = CliRunner().invoke(app, words)
        assert done.exit_code == code, done.output
        return " ".join(done.stdout.split())

    yield one
    settings.cache_clear()


@pytest.fixture
def child(store: Store) -> UUID:
    asked = {"nickname": "Rowan", "standard": "us-school-lunch", "birth_month": "2016-05"}
    with store.writing() as connection:
        household = create_household(connection, {})
        child = KeptChild.model_validate({**asked, "avoids": [{"allergen": "milk"}]})
        return keep_record(connection, CHILDREN, household, child, None).record.id


@pytest.mark.usefixtures("child")
def test_a_packet_that_could_not_be_read_says_so_when_stored_and_listed(run: Run) -> None:
    assert SAID in run("packets", "add", body=PACKET)
    assert SAID in run("packets", "list")
    to_read = run("packets", "to-read")
    assert SAID in to_read
    assert "hummus" in to_read
    assert "Rowan: milk" in to_read


@pytest.mark.usefixtures("child")
def test_one_that_was_read_says_nothing(run: Run) -> None:
    read = {**PACKET, "ingredients": "Chickpeas, tahini, lemon juice, salt."}
    assert "words unknown" not in run("packets", "add", body=read)
    assert "*" not in run("packets", "list")
    assert "words unknown" not in run("packets", "to-read")


def test_an_offer_and_a_week_say_it(run: Run) -> None:
    items = [{"food": "hummus"}, {"food": "apple"}]
    child = {"nickname": "Rowan", "age_years": 9, "avoids": [{"allergen": "milk"}]}
    packets = {"packets": [PACKET]}
    offer = {"on": TODAY, "offer": {"groups": [{"id": "dip", "items": items}]}, **packets}
    assert SAID in run("offer", body={**offer, "children": [{**child, "standard": "us-school-lunch"}]}, code=1)
    year, week, _day = datetime.now(UTC).date().isocalendar()
    days = [{"date": TODAY, "kind": "packed", "items": items}]
    asked = {"week": f"{year}-W{week:02}", "standard": "us-school-lunch", "child": child, "days": days, **packets}
    assert SAID in run("week", body=asked, code=1)
