"""The sheets of a plan in a browser: two devices tick one list, a batch is made, both are printed, every page is looked at.

What is printed is read back by a library for PDF files (ISO 32000), not by the browser that made it.
"""

from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from service.jobs.household.access.households import today
from service.store.database import Store
from tests.browser.axe import violations
from tests.browser.houses import PHONE, TABLET, House, house_of
from tests.browser.looking import Looking
from tests.browser.test_paper import PAPERS, SMALLEST, TWELVE_POINT, close, holds, printed
from tests.browser.walks import in_every_light
from tests.web.kitchen.plans import SALAD, planned
from tests.web.kitchens import empty_kitchen

MILK = "1 % milk"
A_HEADING_APART = 24


@pytest.fixture
def home(store: Store, store_url: str, browser: Browser) -> Iterator[House]:
    """A small household with a plan, served."""
    with closing(empty_kitchen(store, store_url)) as kitchen:
        kitchen.children["plan"] = planned(kitchen, today())
        with house_of(kitchen, browser) as one:
            yield one


def sheet(home: House, name: str) -> str:
    """The address of a sheet of the plan."""
    return f"{home.address}/plans/{home.kitchen.children['plan']}/{name}"


def entries(page: Page, home: House) -> list[tuple[str, float]]:
    """What there is in the stock: food and portions."""
    items = page.request.get(f"{home.address}/v1/stock").json()["items"]
    return [(one["food"], one["portions"]) for one in items if one["grams"] > 0]


def test_two_devices_tick_one_line(home: House) -> None:
    """Both have the list open; one ticks, the other is shown it without doing anything; the line is there once."""
    phone, tablet = home.device(), home.device(viewport=TABLET)
    for page in (phone, tablet):
        page.goto(sheet(home, "shopping"))
    pressed = phone.locator("li", has_text=MILK)
    with phone.expect_navigation():
        pressed.get_by_role("button", name=f"Bought {MILK}").first.click()
    expect(phone.locator("li", has_text=MILK).get_by_text("bought, in the fridge")).to_be_visible()
    expect(tablet.locator("li", has_text=MILK).get_by_text("bought, in the fridge")).to_be_visible()
    assert [food for food, _portions in entries(phone, home)] == ["milk-1-percent"]
    with tablet.expect_navigation():
        tablet.get_by_role("button", name=f"Not bought {MILK}").click()
    expect(phone.locator("li", has_text=MILK).get_by_role("button", name="Bought").first).to_be_visible()
    assert entries(phone, home) == []


def test_the_same_press_from_two_old_pages_makes_one_entry(home: House) -> None:
    """Neither page is told of the other: each was kept from asking."""
    pages = [home.device(), home.device()]
    for page in pages:
        page.route("**/events**", lambda route: route.abort())
        page.goto(sheet(home, "shopping"))
    for page in pages:
        line = page.locator("li", has_text=MILK)
        line.get_by_text("To the fridge; other amount or place").click()
        line.get_by_label("Amount, in g").fill("2000")
        with page.expect_navigation():
            line.get_by_role("button", name=f"Bought {MILK}").last.click()
        expect(page.locator("li", has_text=MILK).get_by_text("bought, in the fridge")).to_be_visible()
    items = pages[0].request.get(f"{home.address}/v1/stock").json()["items"]
    assert [one["grams"] for one in items] == [2000]


def test_a_batch_is_made_by_one_press_and_taken_back(home: House) -> None:
    page = home.device()
    page.goto(sheet(home, "prep"))
    batch = page.get_by_role("article", name="fruit salad")
    batch.get_by_label("450 g apple").check()
    batch.get_by_label("In which container").fill("small boxes")
    with page.expect_navigation():
        batch.get_by_role("button", name="Made: put it in the stock").click()
    expect(page.get_by_role("article", name="fruit salad").get_by_text("✓ made")).to_be_visible()
    salad = home.kitchen.children[SALAD]
    assert entries(page, home) == [(salad, 4), (salad, 2)]
    page.goto(f"{home.address}/stock")
    expect(page.get_by_text("small boxes")).to_have_count(2)
    page.goto(sheet(home, "prep"))
    with page.expect_navigation():
        page.get_by_role("button", name="Not made").click()
    assert entries(page, home) == []


def test_the_units_are_changed_by_a_link(home: House) -> None:
    page = home.device()
    page.goto(sheet(home, "prep"))
    page.get_by_role("link", name="US cups, spoons and ounces").click()
    page.wait_for_url("**/prep?units=us")
    expect(page.get_by_text("4 1/4 cups (slices)")).to_be_visible()


def test_both_sheets_are_printed_large_enough_and_whole(home: House, tmp_path: Path) -> None:
    """Every food and every amount; who must not have it; nothing to press; 12 pt and more, on A4 and Letter."""
    page = home.device(viewport=TABLET)
    page.emulate_media(media="print")
    for paper in PAPERS:
        page.goto(sheet(home, "shopping"))
        assert page.evaluate(SMALLEST) >= TWELVE_POINT
        sheets = printed(page, tmp_path / "shopping.pdf", paper)
        holds("".join(sheets), "apple", "pear", MILK, "1 × 3.785 kg", "Not for Birch: peanut.", "no price yet")
        assert close("Type in what it says") not in "".join(sheets)
        assert len(sheets) <= 2
        page.goto(sheet(home, "prep"))
        assert page.evaluate(SMALLEST) >= TWELVE_POINT
        first, *rest = printed(page, tmp_path / "prep.pdf", paper)
        holds(first, "450 g apple", "4 portions: in the freezer", "peanut butter sandwich", "Not for Birch: peanut.")
        holds("".join([first, *rest]), "ascorbic acid", "Keep the fridge at 4 °C")
        assert close("In which container") not in first
        assert len(rest) <= 1  # what is done stands on the first sheet; notes may be on another


@pytest.mark.parametrize("viewport", [PHONE, TABLET])
def test_every_sheet_is_in_order_in_every_light(home: House, viewport: dict[str, int]) -> None:
    """With a line and a batch ticked, and with faults: axe, room, targets, console, bytes; in the dark, large, on paper."""
    page = home.device(viewport=viewport)
    looking = Looking(page, home.address)
    plan = f"/plans/{home.kitchen.children['plan']}"
    page.goto(sheet(home, "shopping"))
    with page.expect_navigation():
        page.get_by_role("button", name=f"Bought {MILK}").first.click()
    page.goto(sheet(home, "prep"))
    with page.expect_navigation():
        page.get_by_role("button", name="Made: put it in the stock").first.click()
    for address in (
        f"{plan}/shopping",
        f"{plan}/prep",
        f"{plan}/labels",
        "/devices",
        "/devices/calendars/new",
        "/stock",
    ):
        assert looking.open(address) == 200
        assert list(in_every_light(looking)) == [], address
        assert list(looking.sent_too_much()) == [], address
    assert looking.open(f"{plan}/labels.pdf?sheet=a4-3x7&start=x") == 422
    assert list(in_every_light(looking, 422)) == []
    page.goto(f"{home.address}/devices/calendars/new")
    page.get_by_label("Who reads it").fill("wall")
    with page.expect_navigation():
        page.get_by_role("button", name="Show the address").click()
    assert violations(page) == []
    expect(page.get_by_role("img", name="A code to scan")).to_be_visible()


def test_what_can_be_added_to_the_stock_stands_apart_from_its_cards(home: House) -> None:
    """What can be added begins at least 24 px (three steps of ``styles.css``) under the last card."""
    home.kitchen.keep("stock", {"food": "apple", "place": "fridge", "portions": 4, "bought_on": today().isoformat()})
    page = home.device()
    page.goto(f"{home.address}/stock")
    add = page.get_by_role("heading", name="Add something")
    cards, title = page.locator("#now").bounding_box(), add.bounding_box()
    assert cards is not None
    assert title is not None
    assert title["y"] - (cards["y"] + cards["height"]) >= A_HEADING_APART
