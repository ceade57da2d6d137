"""What is set out, in a browser with script: both columns follow a change, what was focused stays so."""

import re
from collections.abc import Callable, Iterator

import pytest
from playwright.sync_api import Browser, Page, expect

from service.jobs.household.access.households import today
from service.jobs.household.settings import edit_settings
from service.store.database import Store
from tests.browser.houses import TABLET, House, house_of
from tests.web.kitchens import Kitchen, demo_kitchen

KEPT = b'{"holding": {"insulated": true, "cold_sources": 2, "minutes_until_eaten": 240}}'


@pytest.fixture
def kitchen(store: Store, store_url: str) -> Kitchen:
    """The invented family, which has said how lunches are kept, its usual mornings set out today."""
    made = demo_kitchen(store, store_url, today())
    with store.writing() as connection:
        edit_settings(connection, made.id, KEPT)
    return made


@pytest.fixture
def house(kitchen: Kitchen, browser: Browser) -> Iterator[House]:
    """That family, served."""
    with house_of(kitchen, browser) as one:
        yield one


@pytest.fixture
def address(house: House) -> str:
    """Where the pages are."""
    return house.address


Device = Callable[[], Page]
"""Signs a new device in that may do everything, and gives its page."""


@pytest.fixture
def device(house: House) -> Device:
    """New devices."""
    return lambda: house.device(viewport=TABLET)


def test_both_columns_follow_a_change_and_what_was_focused_stays_so(
    device: Device, kitchen: Kitchen, address: str
) -> None:
    offer = kitchen.set_out("usual mornings", today())
    page = device()
    faults: list[str] = []
    page.on("pageerror", lambda fault: faults.append(str(fault)))
    page.on("console", lambda said: faults.append(said.text) if said.type == "error" else None)
    page.goto(f"{address}/set-out/{offer}")
    page.evaluate("window.sameDocument = true")
    follows = page.locator("#follows")
    expect(follows).to_contain_text("12 of 18 ready")
    page.focus("#g1-i3-remove")
    page.keyboard.press("Enter")
    expect(follows).to_contain_text("12 of 12 ready")
    expect(page.locator("#offer")).not_to_contain_text("rice and bean pot")
    page.click("#g2-add")
    expect(page.locator("#q")).to_be_focused()
    page.keyboard.type("banana")
    page.keyboard.press("Enter")
    expect(page.locator(".search li").first).to_contain_text("banana")
    page.focus("#found-1")
    page.keyboard.press("Enter")
    expect(page.locator("#group-2 ~ ul")).to_contain_text("banana")
    assert page.evaluate("window.sameDocument")
    assert faults == []


def test_two_quick_changes_are_both_made(device: Device, kitchen: Kitchen, address: str) -> None:
    offer = kitchen.set_out("usual mornings", today())
    page = device()
    page.goto(f"{address}/set-out/{offer}")
    page.evaluate("for (const id of ['g2-i1-remove', 'g3-i1-remove']) document.getElementById(id).click()")
    expect(page.locator("#group-2 ~ ul li")).to_have_count(2)
    expect(page.locator("#group-3 ~ ul li")).to_have_count(1)
    expect(page.locator("#conflict")).to_have_count(0)


def test_what_would_help_is_found_by_itself_and_one_press_does_it(
    device: Device, kitchen: Kitchen, address: str
) -> None:
    offer = kitchen.set_out("usual mornings", today())
    page = device()
    page.goto(f"{address}/set-out/{offer}")
    change = page.locator(".change").first
    change.wait_for()
    promised = re.search(r"Then (\d+ of \d+) are ready", change.inner_text())
    assert promised is not None
    change.locator("button").click()
    expect(page.locator("#follows")).to_contain_text(f"{promised[1]} ready")


def test_a_change_that_another_device_overtook_is_shown_with_it(device: Device, kitchen: Kitchen, address: str) -> None:
    offer = kitchen.set_out("usual mornings", today())
    mine, theirs = device(), device()
    for page in (mine, theirs):
        page.goto(f"{address}/set-out/{offer}")
    theirs.click("#g2-i3-remove")
    expect(theirs.locator("#group-2 ~ ul li")).to_have_count(2)
    mine.click("#g2-i1-remove")
    conflict = mine.locator("#conflict")
    expect(conflict).to_contain_text("Remove apple from fruit.")
    expect(conflict).to_be_focused()
    conflict.locator("button").click()
    expect(mine.locator("#group-2 ~ ul li")).to_have_count(1)
