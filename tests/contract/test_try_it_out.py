"""Promise: with the demo family kept and an index of branded foods built, every operation of the documentation page works as offered.

The page fills in the first example of the body and of each parameter; a reader gives the demo family's key and presses the
button. The document is walked in the same way, each operation on a store of its own, so that none needs another.
"""

import json
import shutil
from datetime import date
from pathlib import Path
from typing import Any
from urllib.parse import quote

import pytest

from service.api.docs.openapi import openapi_document, routes
from service.jobs.household.demo import DemoHousehold, keep_demo_household
from service.store.migrate import open_store
from tests.api.clients import client
from tests.branded_foods import invented_index

DAYS = (date(2026, 12, 9), date(2027, 9, 15))
"""Days on which the demo family is kept: its weeks hold the days that the examples name, or come after."""
OPERATIONS = [route.operation_id for route in routes()]
"""Of the whole document; it is made by the tests, since that takes seconds."""


@pytest.fixture(scope="module", params=DAYS, ids=str)
def demo(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, DemoHousehold]:
    """A file with the demo family, and what is known of it."""
    file = tmp_path_factory.mktemp("demo") / "store.sqlite3"
    store = open_store(f"sqlite:///{file}")
    kept = keep_demo_household(store, request.param)
    store.close()
    return file, kept


def first_value(place: dict[str, Any]) -> Any:
    """The value that the page fills in: the first example, or None."""
    return next((one["value"] for one in place.get("examples", {}).values()), None)


def documented(operation_id: str) -> tuple[str, str, dict[str, Any]]:
    """Method, address template and description of an operation."""
    ((method, template, operation),) = (
        (method.upper(), template, operation)
        for template, methods in openapi_document()["paths"].items()
        for method, operation in methods.items()
        if operation["operationId"] == operation_id
    )
    return method, template, operation


@pytest.mark.parametrize("operation_id", OPERATIONS)
def test_the_operation_works_as_offered(demo: tuple[Path, DemoHousehold], tmp_path: Path, operation_id: str) -> None:
    """Answered 2xx; no header that may be sent only once is filled in, and nothing that is needed is left empty."""
    method, template, operation = documented(operation_id)
    file, kept = demo
    shutil.copyfile(file, tmp_path / "store.sqlite3")
    given: dict[str, dict[str, str]] = {"path": {}, "query": {}, "header": {}}
    for parameter in operation.get("parameters", []):
        value = first_value(parameter)
        assert value is None or parameter["name"] != "Idempotency-Key"
        assert value is not None or not parameter.get("required"), f"{parameter['name']} is left empty"
        if value is not None:
            given[parameter["in"]][parameter["name"]] = str(value)
    headers = {**given["header"], "Authorization": f"Bearer {kept.key}"}
    content = b""
    if "requestBody" in operation:
        media, body = next(iter(operation["requestBody"]["content"].items()))
        headers["Content-Type"] = media
        content = json.dumps(first_value(body)).encode()
    path = template.format(**{name: quote(value, safe="") for name, value in given["path"].items()})
    index = str(invented_index())
    with client(database_url=f"sqlite:///{tmp_path / 'store.sqlite3'}", branded_foods_file=index) as service:
        answer = service.request(method, path, params=given["query"], headers=headers, content=content)
    assert answer.is_success, answer.text
