"""Promise: wrong sign-in links and calendar addresses are counted as wrong keys are; right ones work throughout."""

from collections.abc import Iterator

import pytest
from starlette.testclient import TestClient

from service.jobs.household.access.calendar_feeds import NewFeed, make_feed
from service.jobs.household.access.sign_in_links import NewLink, make_link
from service.store.access.households import create_household
from service.store.database import Store
from service.web.app import create_app
from tests.api.clients import settings_of

PAGE = {"Sec-Fetch-Site": "same-origin", "Accept": "text/html"}


@pytest.fixture
def service(store_url: str, store: Store) -> Iterator[TestClient]:
    """The whole application on a store of its own."""
    with TestClient(create_app(settings_of(database_url=store_url)), follow_redirects=False) as one:
        yield one


def sign_in(service: TestClient, link: str) -> int:
    """What a link is answered."""
    return service.post("/sign-in", data={"link": link}, headers=PAGE).status_code


def test_wrong_links_are_told_to_wait_and_right_ones_sign_in(service: TestClient, store: Store) -> None:
    """Ten that begin alike, whatever their form; used links count as wrong ones."""
    with store.writing() as connection:
        household = create_household(connection, {})
        links = [make_link(connection, household, NewLink(rights="keep")).secret for _ in range(3)]
    assert [sign_in(service, "x" * 43) for _ in range(11)] == [403] * 10 + [429]
    assert sign_in(service, "x" * 6) == 429
    assert sign_in(service, links[0]) == 303
    assert sign_in(service, links[0]) == 403
    for number in range(40):
        last = sign_in(service, f"{number:043}")
    assert last == 429
    answer = service.post("/sign-in", data={"link": "y" * 43}, headers=PAGE)
    assert (answer.status_code, answer.headers["content-type"]) == (429, "text/html; charset=utf-8")
    assert 1 <= int(answer.headers["retry-after"]) <= 60
    assert sign_in(service, links[1]) == 303


def test_a_wrong_link_waits_for_no_writer(service: TestClient, store: Store) -> None:
    """It is looked for by reading: while another holds the store's writing it is refused at once."""
    with store.writing() as connection:
        create_household(connection, {})
        assert sign_in(service, "x" * 43) == 403


def test_wrong_calendar_addresses_are_told_to_wait(service: TestClient, store: Store) -> None:
    """404, then 429; the right one is read throughout, and while another writes."""
    with store.writing() as connection:
        household = create_household(connection, {})
        path = make_feed(connection, household, NewFeed(name="phone", language="en"))
    assert [service.get(f"/calendar/{'x' * 43}.ics").status_code for _ in range(11)] == [404] * 10 + [429]
    assert service.get(path).status_code == 200
    with store.writing() as connection:
        create_household(connection, {})
        assert service.get(path).status_code == 200
