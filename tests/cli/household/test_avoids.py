"""Promise: the commands show a child's avoids as FHIR R4 that a general library reads, and take a list over.

The reader is ``fhir.resources`` (R4B: both resources as in R4); 227493005 is cashew nuts in HL7's own R4 example.
"""

import json
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from fhir.resources.R4B.bundle import Bundle
from typer.testing import CliRunner

from service.cli.main import app
from service.jobs.household.kinds import CHILDREN
from service.jobs.household.records import keep_record
from service.jobs.household.requests import KeptChild
from service.settings import settings
from service.store.access.households import create_household
from service.store.database import Store

CASHEW = {
    "resourceType": "AllergyIntolerance",
    "code": {"coding": [{"system": "http://snomed.info/sct", "code": "227493005"}]},
    "patient": {"reference": "Patient/example"},
}
Run = Callable[..., str]


@pytest.fixture
def run(store_url: str, store: Store, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Iterator[Run]:
    """Runs a command on a store with one child, Rowan, who avoids milk; gives what it printed."""
    asked = {"nickname": "Rowan", "standard": "us-school-lunch", "birth_month": "2016-05"}
    with store.writing() as connection:
        child = KeptChild.model_validate({**asked, "avoids": [{"allergen": "milk"}]})
        keep_record(connection, CHILDREN, create_household(connection, {}), child, None)
    monkeypatch.setenv("PACKED_LUNCH_DATABASE_URL", store_url)
    monkeypatch.setenv("COLUMNS", "200")
    settings.cache_clear()

    def one(*words: str, body: Any = None, code: int = 0) -> str:
        if body is not None:
            file = tmp_path / "list.json"
            file.write_text(json.dumps(body), encoding="utf-8")
            words = (*words, str(file))
        done = CliRunner().invoke(app, ["avoids", *words])
        assert done.exit_code == code, done.output
        return done.output

    yield one
    settings.cache_clear()


def test_a_list_is_added_and_shown(run: Run) -> None:
    assert "cashew, milk" in run("add", "rowan", body=CASHEW)
    shown = Bundle.model_validate_json(run("show", "Rowan", "--fhir"))
    assert {one.resource.code.text for one in shown.entry} == {"cashew", "milk"}
    assert "traces too" in run("show", "Rowan")


def test_a_list_replaces_and_what_is_gone_is_said(run: Run) -> None:
    assert "Not avoided any more: milk." in run("replace", "Rowan", body=CASHEW)


def test_what_is_not_known_is_refused(run: Run) -> None:
    unknown = {**CASHEW, "code": {"coding": [{"system": "http://snomed.info/sct", "code": "1"}]}}
    assert "http://snomed.info/sct|1" in run("add", "Rowan", body=unknown, code=2)
    assert "Rowan" in run("show", "Hazel", code=2)
    assert "milk" in run("show", "Rowan")
