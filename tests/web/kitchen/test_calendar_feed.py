"""A plan's days as a file, and at an address of its own that opens the calendar and nothing else, until it is revoked."""

import logging
import re
from datetime import date
from typing import Any

import pytest
from starlette.testclient import TestClient

from service.jobs.household.access.calendar_feeds import list_feeds
from tests.web.kitchen.plans import day, planned
from tests.web.kitchens import Browser, Kitchen
from tests.web.reading import Page

ADDRESS = re.compile(r"http://testserver(/calendar/([A-Za-z0-9_-]{43})\.ics)")


def made(browser: Browser, **typed: str) -> tuple[Page, str]:
    """The page with a new address, and the address without the host."""
    page = browser.send(browser.get("/devices/calendars/new"), "/devices/calendars/new", **typed)
    found = ADDRESS.search(page.html)
    assert found is not None
    return page, found[1]


def feeds(kitchen: Kitchen) -> list[dict[str, Any]]:
    """The addresses as the job lists them."""
    with kitchen.store.reading() as connection:
        return list_feeds(connection, kitchen.id)


def outside(kitchen: Kitchen) -> TestClient:
    """A calendar program on another machine, signed in nowhere (RFC 5737)."""
    return TestClient(kitchen.app(), client=("192.0.2.9", 50_000))


def test_a_plan_is_kept_as_a_calendar_without_health(new_kitchen: Kitchen, on: date) -> None:
    plan = planned(new_kitchen, on)
    answer = new_kitchen.browser().client.get(f"/plans/{plan}/calendar.ics")
    assert answer.headers["content-type"] == "text/calendar; charset=utf-8"
    assert "SUMMARY:Prep day" in answer.text
    assert "To make: 6 x fruit salad" in answer.text
    assert "SUMMARY:Move to the fridge tonight" in answer.text
    assert "Read the packets of whole wheat bread." in answer.text
    assert "Birch" not in answer.text
    assert "peanut butter sandwich" in answer.text
    assert "look for" not in answer.text


def test_an_address_is_shown_once_and_opens_the_calendar_alone(new_kitchen: Kitchen, on: date) -> None:
    planned(new_kitchen, on)
    browser = new_kitchen.browser()
    page, path = made(browser, name="phone")
    assert "It says what is done on which day, and nothing about health." in page.text
    assert path not in browser.get("/devices").html
    assert "Never read yet." in browser.get("/devices").text
    reader = outside(new_kitchen)
    answer = reader.get(path)
    assert answer.status_code == 200
    assert answer.headers["content-type"] == "text/calendar; charset=utf-8"
    assert answer.headers["cache-control"] == "no-store"
    assert "X-WR-CALNAME:our week" in answer.text
    assert "look for" not in answer.text
    assert reader.head(path).status_code == 200
    key = path.split("/")[2].removesuffix(".ics")
    for other in ("/stock", "/plans", "/devices", "/v1/plans", "/v1/export"):
        for headers in ({"Authorization": f"Bearer {key}"}, {"Cookie": f"packed_lunch_device={key}"}):
            assert reader.get(other, headers=headers, follow_redirects=False).status_code in (303, 401, 404)
    assert "Last read" in browser.get("/devices").text


def test_health_stands_in_it_only_where_that_was_ticked(new_kitchen: Kitchen, on: date) -> None:
    planned(new_kitchen, on)
    page, path = made(new_kitchen.browser(), name="phone", health="yes", language="es")
    assert "It also says for whom packets are read" in page.text
    told = outside(new_kitchen).get(path).text.replace("\r\n ", "")
    assert "Birch" in told
    assert "SUMMARY:Día de preparar" in told


@pytest.mark.parametrize("key", ["x", "x" * 43, "%00", "..%2F..%2Fstock", "x" * 5000])
def test_a_wrong_key_opens_nothing(new_kitchen: Kitchen, on: date, key: str) -> None:
    planned(new_kitchen, on)
    answer = outside(new_kitchen).get(f"/calendar/{key}.ics", follow_redirects=False)
    assert answer.status_code in (303, 401, 404)
    assert "our week" not in answer.text


def test_a_revoked_address_is_gone_and_so_is_its_row(new_kitchen: Kitchen, on: date) -> None:
    planned(new_kitchen, on)
    browser = new_kitchen.browser()
    _page, path = made(browser, name="phone")
    _page, other = made(browser, name="wall")
    feed = feeds(new_kitchen)[0]["id"]
    page = browser.send(browser.get("/devices"), f"/devices/calendars/{feed}/revoke")
    assert "phone" not in page.text
    assert [one["name"] for one in feeds(new_kitchen)] == ["wall"]
    reader = outside(new_kitchen)
    assert reader.get(path).status_code == 404
    assert reader.get(other).status_code == 200


def test_it_follows_the_newest_plan_of_today_else_the_next(new_kitchen: Kitchen, on: date) -> None:
    _page, path = made(new_kitchen.browser(), name="phone")
    reader = outside(new_kitchen)
    assert "BEGIN:VEVENT" not in reader.get(path).text  # no plan yet: an empty calendar
    later = {"days": [day(on, 8)], "prep_days": [day(on, 7)]}
    planned(new_kitchen, on, "next week", **later)
    assert "X-WR-CALNAME:next week" in reader.get(path).text
    planned(new_kitchen, on, "this week")
    assert "X-WR-CALNAME:this week" in reader.get(path).text
    planned(new_kitchen, on, "this week anew")
    planned(new_kitchen, on, "week after", days=[day(on, 15)], prep_days=[day(on, 14)])
    assert "X-WR-CALNAME:this week anew" in reader.get(path).text


def test_the_key_is_in_no_log(
    new_kitchen: Kitchen, on: date, caplog: pytest.LogCaptureFixture, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whether the calendar is read, the key is wrong, or something of ours breaks: the log has the route, not the key."""
    from service.web.kitchen import calendar_routes

    planned(new_kitchen, on)
    _page, path = made(new_kitchen.browser(), name="phone")
    key = path.split("/")[2].removesuffix(".ics")
    reader = TestClient(new_kitchen.app(), raise_server_exceptions=False)
    with caplog.at_level(logging.DEBUG):
        assert reader.get(path).status_code == 200
        assert reader.get(path.replace(key, "y" * 43)).status_code == 404

        def broken(*_given: Any, **_named: Any) -> None:
            raise RuntimeError(path)

        monkeypatch.setattr(calendar_routes, "calendar_file", broken)
        assert reader.get(path).status_code == 500
    told = [one for one in caplog.records if not one.name.startswith("httpx")]
    assert key not in "\n".join(one.getMessage() for one in told)
    assert any("unexpected RuntimeError" in one.getMessage() for one in told)
    assert [one.__dict__["route"] for one in told if one.name == "packed_lunch.requests"][-1] == "/calendar/{key}.ics"


def test_faults_of_a_new_address_stand_at_their_field(new_kitchen: Kitchen) -> None:
    browser = new_kitchen.browser()
    page = browser.send(browser.get("/devices/calendars/new"), "/devices/calendars/new", status=422, name="")
    assert "name" in {one for one, _value in page.form("/devices/calendars/new").fields}
    assert feeds(new_kitchen) == []
