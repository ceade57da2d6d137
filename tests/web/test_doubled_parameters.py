"""Promise: a parameter that can be only one and is given twice is refused at every address: nobody can know which of the two is meant."""

from collections.abc import Iterator
from contextlib import closing
from typing import get_origin

import pytest
from fastapi.routing import APIRoute
from starlette.testclient import TestClient

from service.api.docs.openapi import openapi_document
from service.store.access.households import create_household, create_key
from service.store.database import Store
from service.web.app import create_app
from service.web.routers import ROUTES
from tests.api.clients import settings_of
from tests.web.kitchens import empty_kitchen

KINDS = {
    "get": None,
    "delete": None,
    "post": "application/json",
    "put": "application/json",
    "patch": "application/merge-patch+json",
}
NONE_READ = {"/problems/{slug}"}
"""Reads no parameter at all."""
TAKEN = {
    (route.path, parameter.alias)
    for route in ROUTES
    if isinstance(route, APIRoute) and "GET" in route.methods
    for parameter in route.dependant.query_params
    if get_origin(parameter.field_info.annotation) is not list
}
"""Pages and their parameters that can be only one."""


@pytest.fixture
def service(store_url: str) -> Iterator[TestClient]:
    """The whole application."""
    with TestClient(create_app(settings_of(database_url=store_url)), follow_redirects=False) as one:
        yield one


def test_every_address_of_the_api_refuses_it(service: TestClient, store: Store) -> None:
    """Whatever the parameter, also where none is read: 422, before anything is looked for."""
    with store.writing() as connection:
        key = create_key(connection, create_household(connection, {}), "all", "keep")[1]
    answered = {}
    for path, methods in openapi_document()["paths"].items():
        for method in methods:
            media = "application/fhir+json" if path.endswith("/avoids") else KINDS[method]
            headers = {"Authorization": f"Bearer {key}"} | (
                {} if media is None else {"Content-Type": media, "If-Match": "*"}
            )
            address = path.replace("{", "").replace("}", "") + "?limit=1&limit=2"
            answered[method, path] = service.request(
                method, address, headers=headers, content=b"{}" if media else None
            ).status_code
    assert {one for one, status in answered.items() if status != 422 and one[1] not in NONE_READ} == set()
    assert len(answered) > 80


def test_every_page_refuses_it(store: Store, store_url: str) -> None:
    """404, as for any other address that is none."""
    assert len(TAKEN) > 5
    with closing(empty_kitchen(store, store_url)) as kitchen:
        client = kitchen.browser().client
        for path, name in TAKEN:
            address = path.replace("{", "").replace("}", "")
            twice = f"{address}?{name}=2026-12-01&{name}=2026-12-02"
            answer = client.get(twice, headers={"Accept": "text/html"}, follow_redirects=False)
            assert answer.status_code == 404, (path, name)
