"""What is set out, in a browser with script: both columns follow a change, what was focused stays so, and paper is as promised."""

import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from service.jobs.household.access.households import today
from service.jobs.household.access.sign_in_links import NewLink, make_link
from service.jobs.household.settings import edit_settings
from service.store.database import Store
from tests.served import GENEROUS, served
from tests.web.kitchens import Kitchen, demo_kitchen

A_MOMENT = GENEROUS * 1000
"""Milliseconds that a busy machine is given."""
KEPT = b'{"holding": {"insulated": true, "cold_sources": 2, "minutes_until_eaten": 240}}'
TWELVE_POINT = 16
"""12 pt in the pixels of CSS: 96 to the inch, 72 points to the inch (CSS Values and Units, section 6.2)."""
SMALLEST = """() => Math.min(...[...document.querySelectorAll('main *')]
  .filter((one) => one.checkVisibility() && [...one.childNodes].some((node) => node.nodeType === 3 && node.data.trim()))
  .map((one) => parseFloat(getComputedStyle(one).fontSize)))"""


@pytest.fixture
def backend() -> str:
    """One database is enough for what a browser does."""
    return "sqlite"


@pytest.fixture
def kitchen(store: Store, store_url: str) -> Kitchen:
    """The invented family, which has said how lunches are kept, its usual mornings set out today."""
    made = demo_kitchen(store, store_url, today())
    with store.writing() as connection:
        edit_settings(connection, made.id, KEPT)
    return made


@pytest.fixture
def address(kitchen: Kitchen) -> Iterator[str]:
    """Where the pages are."""
    with served(PACKED_LUNCH_DATABASE_URL=kitchen.url) as server:
        yield f"http://127.0.0.1:{server.port}"


Device = Callable[[], Page]
"""Signs a new device in that may do everything, and gives its page."""


@pytest.fixture
def device(browser: Browser, kitchen: Kitchen, address: str) -> Iterator[Device]:
    """New devices; closed before the server stops, which waits for what they listen to."""
    contexts = []

    def signed_in() -> Page:
        with kitchen.store.writing() as connection:
            link = make_link(connection, kitchen.id, NewLink(rights="keep"))
        contexts.append(browser.new_context(viewport={"width": 1280, "height": 900}))
        page = contexts[-1].new_page()
        page.set_default_timeout(A_MOMENT)
        page.goto(address + link.path)
        page.click("button.button-main")
        page.wait_for_url(address + "/")
        return page

    yield signed_in
    for context in contexts:
        context.close()


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
    expect(follows).to_contain_text("12 of 18 ready", timeout=A_MOMENT)
    page.focus("#g1-i3-remove")
    page.keyboard.press("Enter")
    expect(follows).to_contain_text("12 of 12 ready", timeout=A_MOMENT)
    expect(page.locator("#offer")).not_to_contain_text("rice and bean pot")
    page.click("#g2-add")
    expect(page.locator("#q")).to_be_focused(timeout=A_MOMENT)
    page.keyboard.type("banana")
    page.keyboard.press("Enter")
    expect(page.locator(".search li").first).to_contain_text("banana", timeout=A_MOMENT)
    page.focus("#found-1")
    page.keyboard.press("Enter")
    expect(page.locator("#group-2 ~ ul")).to_contain_text("banana", timeout=A_MOMENT)
    assert page.evaluate("window.sameDocument")
    assert faults == []


def test_two_quick_changes_are_both_made(device: Device, kitchen: Kitchen, address: str) -> None:
    offer = kitchen.set_out("usual mornings", today())
    page = device()
    page.goto(f"{address}/set-out/{offer}")
    page.evaluate("for (const id of ['g2-i1-remove', 'g3-i1-remove']) document.getElementById(id).click()")
    expect(page.locator("#group-2 ~ ul li")).to_have_count(2, timeout=A_MOMENT)
    expect(page.locator("#group-3 ~ ul li")).to_have_count(1, timeout=A_MOMENT)
    expect(page.locator("#conflict")).to_have_count(0)


def test_what_would_help_is_found_by_itself_and_one_press_does_it(
    device: Device, kitchen: Kitchen, address: str
) -> None:
    offer = kitchen.set_out("usual mornings", today())
    page = device()
    page.goto(f"{address}/set-out/{offer}")
    change = page.locator(".change").first
    change.wait_for(timeout=A_MOMENT)
    promised = re.search(r"Then (\d+ of \d+) are ready", change.inner_text())
    assert promised is not None
    change.locator("button").click()
    expect(page.locator("#follows")).to_contain_text(f"{promised[1]} ready", timeout=A_MOMENT)


def test_a_change_that_another_device_overtook_is_shown_with_it(device: Device, kitchen: Kitchen, address: str) -> None:
    offer = kitchen.set_out("usual mornings", today())
    mine, theirs = device(), device()
    for page in (mine, theirs):
        page.goto(f"{address}/set-out/{offer}")
    theirs.click("#g2-i3-remove")
    expect(theirs.locator("#group-2 ~ ul li")).to_have_count(2, timeout=A_MOMENT)
    mine.click("#g2-i1-remove")
    conflict = mine.locator("#conflict")
    expect(conflict).to_contain_text("Remove apple from fruit.", timeout=A_MOMENT)
    expect(conflict).to_be_focused()
    conflict.locator("button").click()
    expect(mine.locator("#group-2 ~ ul li")).to_have_count(1, timeout=A_MOMENT)


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_paper_one_sheet_for_the_fridge_and_four_cards_a_page(
    device: Device, kitchen: Kitchen, address: str, paper: str, tmp_path: Path
) -> None:
    offer = kitchen.set_out("usual mornings", today())
    for number in range(2):
        body = {"nickname": f"Child {number}", "standard": "us-school-lunch", "birth_month": "2017-03"}
        kitchen.keep("children", body)
    page = device()
    for where, pages, across in (("/set-out/fridge", 1, True), (f"/set-out/{offer}/cards", 2, False)):
        page.goto(address + where)
        page.emulate_media(media="print")
        assert page.evaluate(SMALLEST) >= TWELVE_POINT, where
        file = tmp_path / "printed.pdf"
        page.pdf(path=file, format=paper, landscape=across)
        assert len(re.findall(rb"/Type\s*/Page\b", file.read_bytes())) == pages, where
        page.emulate_media(media="screen")
