"""Promise: shopping lists, prep sheets, labels and calendars are answered as JSON or as a file, whichever is accepted."""

import io
from typing import Any

import orjson
import pytest
import vobject
from pypdf import PdfReader
from starlette.testclient import TestClient

from tests.api.clients import BODY, PROBLEM
from tests.contract.example_files import FOLDER


def example(operation: str, case: str) -> Any:
    return orjson.loads((FOLDER / operation / f"{case}.request.json").read_bytes())


CASES = {
    "/v1/shopping-lists": (example("make-shopping-list", "three-days"), "text/csv"),
    "/v1/prep-sheets": (example("make-prep-sheet", "sunday"), "application/pdf"),
    "/v1/label-sheets": (example("make-label-sheet", "freezer"), "application/pdf"),
    "/v1/calendars": (example("make-calendar", "week"), "text/calendar"),
}


@pytest.mark.parametrize("path", CASES)
def test_a_file_is_answered_where_it_is_accepted_and_json_otherwise(service: TestClient, path: str) -> None:
    body, media = CASES[path]
    as_json = service.post(path, json=body)
    assert (as_json.status_code, as_json.headers["content-type"]) == (200, BODY)
    as_file = service.post(path, json=body, headers={"Accept": media})
    assert as_file.status_code == 200
    assert as_file.headers["content-type"].split(";")[0] == media
    assert as_file.headers["content-disposition"].startswith("attachment; filename=")
    refused = service.post(path, json=body, headers={"Accept": "image/png"})
    assert (refused.status_code, refused.headers["content-type"]) == (406, PROBLEM)
    if media == "application/pdf":
        assert PdfReader(io.BytesIO(as_file.content)).pages
    elif media == "text/calendar":
        assert len(list(vobject.readOne(as_file.text).vevent_list)) == len(as_json.json()["events"])
    else:
        lines = [one for day in as_json.json()["days"] for kind in day["kinds"] for one in kind["lines"]]
        assert len(as_file.text.splitlines()) == 1 + len(lines)


@pytest.mark.parametrize("path", CASES)
def test_a_fault_is_a_problem_whatever_is_accepted(service: TestClient, path: str) -> None:
    answer = service.post(path, json={"unknown": 1}, headers={"Accept": CASES[path][1]})
    assert (answer.status_code, answer.headers["content-type"]) == (422, PROBLEM)
    assert all(one["remedy"] for one in answer.json()["errors"])
