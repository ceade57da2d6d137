"""Promise: the page of food data switches the live source on and off, and never shows the key."""

from pathlib import Path

import pytest

from tests.branded_foods import invented_index
from tests.lookup.live.stub import KEY
from tests.web.kitchens import Kitchen


def test_it_is_off_then_on_then_off_and_the_key_is_never_shown(kitchen: Kitchen) -> None:
    browser = kitchen.browser()
    page = browser.get("/food-data")
    assert "This is off." in page.text
    assert "There is no copy yet." in page.text

    page = browser.send(page, "/food-data/live", "Switch it on", api_key=f"  {KEY} ")
    assert browser.address == "/food-data"
    assert "This has been on since" in page.text
    assert KEY not in browser.last.text

    page = browser.send(page, "/food-data/live/off", "Switch it off and delete the key")
    assert "This is off." in page.text


@pytest.mark.parametrize("typed", ["", "short", f"{KEY} {KEY}", f"<{KEY}>"])
def test_what_cannot_be_a_key_is_refused_and_not_repeated(kitchen: Kitchen, typed: str) -> None:
    browser = kitchen.browser()
    page = browser.send(browser.get("/food-data"), "/food-data/live", "Switch it on", status=422, api_key=typed)
    assert "Copy the whole key" in page.text
    assert KEY not in browser.last.text
    assert "This is off." in page.text


def test_the_copy_on_this_machine_is_named_by_its_day(kitchen: Kitchen, tmp_path: Path) -> None:
    assert "as of 13 June 2024" in kitchen.browser(branded_foods_file=str(invented_index())).get("/food-data").text
    damaged = tmp_path / "index.sqlite3"
    damaged.write_bytes(b"no database")
    assert "cannot be read" in kitchen.browser(branded_foods_file=str(damaged)).get("/food-data").text


def test_a_device_that_packs_may_not(kitchen: Kitchen) -> None:
    kitchen.browser("pack").get("/food-data", 403)
