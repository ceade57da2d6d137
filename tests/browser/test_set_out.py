"""What is set out, in a browser with script: both columns follow a change, what was focused stays so."""

import re
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from service.jobs.household.access.households import today
from service.jobs.household.kinds import CHILDREN
from service.jobs.household.records import edit_record
from service.jobs.weeks.requests import week_of
from tests.browser.houses import TABLET, House
from tests.browser.test_paper import SMALLEST, TWELVE_POINT
from tests.web.kitchens import Kitchen


@pytest.fixture
def kitchen(morning: House) -> Kitchen:
    """The family whose pages are looked at."""
    return morning.kitchen


@pytest.fixture
def address(morning: House) -> str:
    """Where the pages are."""
    return morning.address


Device = Callable[[], Page]
"""Signs a new device in that may do everything, and gives its page."""


@pytest.fixture
def device(morning: House) -> Device:
    """New devices."""
    return lambda: morning.device(viewport=TABLET)


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


def test_what_another_device_changes_is_said_and_shown_when_asked_and_what_is_typed_stays(
    device: Device, kitchen: Kitchen, address: str
) -> None:
    offer = kitchen.set_out("usual mornings", today())
    mine, theirs = device(), device()
    for page in (mine, theirs):
        page.goto(f"{address}/set-out/{offer}")
    mine.click("#g2-i1-more")
    mine.fill("#g2-i1-quantity", "3")
    mine.fill("#new", "dips")
    theirs.click("#g2-i3-remove")
    expect(theirs.locator("#group-2 ~ ul li")).to_have_count(2)
    expect(mine.locator("#changed")).to_be_visible()
    expect(mine.locator("#group-2 ~ ul > li")).to_have_count(3)
    mine.click("#changed-show")
    expect(mine.locator("#group-2 ~ ul > li")).to_have_count(2)
    expect(mine.locator("#changed")).to_be_hidden()
    expect(mine.locator("#g2-i1-quantity")).to_have_value("3")
    expect(mine.locator("#new")).to_have_value("dips")
    expect(theirs.locator("#changed")).to_be_hidden()


def test_what_a_child_avoids_from_now_on_is_said_on_an_open_offer(
    device: Device, kitchen: Kitchen, address: str
) -> None:
    offer = kitchen.set_out("usual mornings", today())
    page = device()
    page.goto(f"{address}/set-out/{offer}")
    with kitchen.store.writing() as connection:
        parts = b'{"avoids": [{"allergen": "milk"}]}'
        edit_record(connection, CHILDREN, kitchen.id, kitchen.children["Rowan"], lambda _v: None, parts, None)
    expect(page.locator("#changed")).to_be_visible()
    page.click("#changed-show")
    expect(page.locator("#follows")).to_contain_text("Not for Rowan:")


LONG_NAMES = ("Maximiliane-Annelore Featherstonehaugh I", "Bartholomew-Montgomery")
LONG_GROUPS = {
    "something filling for the middle of the day": (
        "sandwich-cheese", "sandwich-turkey-cheese", "sandwich-ham",
        "sandwich-egg-salad", "sandwich-tuna-salad", "sandwich-sunflower-jam",
    ),
    "fruit, washed and cut the evening before": ("apple", "banana", "clementine", "grapes", "pear", "strawberries"),
    "vegetables from the market": ("carrots-raw", "cucumber", "pepper-red-raw", "cherry-tomatoes"),
    "drink": ("milk-1-percent", "water", "milk-lactose-free"),
}  # fmt: skip


def a_great_deal(kitchen: Kitchen) -> str:
    """Five children, two of them with the longest nicknames, and an offer of its own with many foods on each day; the first."""
    for name, avoids in zip(LONG_NAMES, ([], [{"allergen": "milk"}, {"allergen": "wheat"}]), strict=True):
        kitchen.keep(
            "children",
            {"nickname": name, "standard": "us-school-lunch", "birth_month": "2017-03", "avoids": avoids},
        )
    monday = today() - timedelta(days=today().weekday())
    offers = []
    for number in range(5):
        groups = [{"id": name, "items": [{"food": one} for one in foods]} for name, foods in LONG_GROUPS.items()]
        name = f"what is set out on mornings like these, number {number}"
        offers.append(kitchen.keep("offers", {"name": name, "groups": groups}))
        kitchen.set_out(name, monday + timedelta(days=number))
    return offers[0]


def printed(page: Page, file: Path, paper: str, *, across: bool) -> int:
    """How many pages the page that is shown comes to on paper, nothing on it under 12 pt."""
    page.emulate_media(media="print")
    assert page.evaluate(SMALLEST) >= TWELVE_POINT
    page.pdf(path=file, format=paper, landscape=across)
    page.emulate_media(media="screen")
    return len(re.findall(rb"/Type\s*/Page\b", file.read_bytes()))


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_paper_of_a_family_of_five_with_long_names_and_many_foods(
    device: Device, kitchen: Kitchen, address: str, paper: str, tmp_path: Path
) -> None:
    """One sheet for the fridge and one for the week; cards that are too long go two to a page; a child's week is one sheet."""
    offer = a_great_deal(kitchen)
    page, file = device(), tmp_path / "printed.pdf"
    rowan, before = kitchen.children["Rowan"], week_of(today() - timedelta(days=7))
    for where, pages, across in (
        ("/set-out/fridge", 1, True),
        (f"/set-out/{offer}/cards", 3, False),
        (f"/week?week={before}", 1, True),
        (f"/week/{rowan}?week={before}", 1, False),
    ):
        page.goto(address + where)
        assert (where, printed(page, file, paper, across=across)) == (where, pages)
