"""Promise: every job is done by keyboard alone, and the focus stays where the work is (WCAG 2.2: 2.1.1, 2.4.3, 2.4.7, 2.4.11)."""

import re

import pytest
from playwright.sync_api import Browser, Page, expect

from service.jobs.household.access.households import today
from service.store.database import Store
from tests.browser.houses import PHONE, TABLET, House, house_of
from tests.browser.keys import MOST_STEPS, Keys
from tests.web.kitchens import empty_kitchen


def has_focus_inside_main(page: Page) -> bool:
    """Whether the focus is in the work, not lost to the top of the page."""
    return bool(page.evaluate("document.getElementById('main').contains(document.activeElement)"))


def test_the_first_key_leads_past_the_navigation(house: House) -> None:
    page = house.device()
    page.keyboard.press("Tab")
    expect(page.get_by_role("link", name="Skip to the page")).to_be_focused()
    page.keyboard.press("Enter")
    page.wait_for_url("**/#main")
    page.keyboard.press("Tab")
    assert has_focus_inside_main(page)


@pytest.mark.parametrize("viewport", [PHONE, TABLET], ids=["phone", "tablet"])
def test_what_has_the_focus_is_in_sight_and_nothing_lies_over_it(house: House, viewport: dict[str, int]) -> None:
    """WCAG 2.2, 2.4.11 and 2.4.7: from the first link of a page to the last, by Tab."""
    page = house.device(viewport=viewport)
    offer = house.kitchen.set_out("usual mornings", today())
    rowan = house.kitchen.children["Rowan"]
    for path in (f"/take/{rowan}", f"/set-out/{offer}?helps=yes", "/packets/new?food=hummus", "/children/new", "/week"):
        page.goto(house.address + path)
        steps = 0
        while Keys(page).step():
            steps += 1
            assert steps < MOST_STEPS
        assert steps > 10, path


def test_the_first_five_minutes(store: Store, store_url: str, browser: Browser) -> None:
    """From nothing to an offer that is checked."""
    kitchen = empty_kitchen(store, store_url)
    with house_of(kitchen, browser) as house:
        page = house.device()
        keys = Keys(page)
        expect(page.get_by_role("heading", name="Who are the lunches for?")).to_be_visible()
        keys.type("Nickname", "Ash")
        keys.to(page.get_by_label("Month", exact=True))
        page.keyboard.type("May")
        expect(page.get_by_label("Month", exact=True)).to_have_value("05")
        keys.to(page.get_by_label("Year", exact=True))
        page.keyboard.type(f"{today().year - 8}")
        expect(page.get_by_label("Year", exact=True)).to_have_value(f"{today().year - 8}")
        keys.to(page.get_by_role("radio").first)
        page.keyboard.press("ArrowUp")
        expect(page.get_by_role("radio").last).to_be_checked()
        keys.button("Add this child")
        expect(page.locator("#faults")).to_have_count(0)
        keys.link("Go on: what they must not eat")
        expect(page.get_by_role("heading", name="What must they not eat?")).to_be_visible()
        keys.press(page.get_by_label("peanut", exact=True), "Space")
        keys.button("Go on: what you set out")
        expect(page.get_by_role("heading", name="What do you usually set out?")).to_be_visible()
        keys.button("See how the lunches come out")
        follows = page.locator("#follows")
        expect(follows.get_by_role("heading", name="Ash", exact=True)).to_be_visible()
        expect(follows).to_contain_text("ready")
    with store.reading() as connection:
        from service.store.household.kinds import CHILD
        from service.store.household.records import page as stored

        children = stored(connection, CHILD, kitchen.id, None, 5)
    assert [one.body["nickname"] for one in children] == ["Ash"]
    assert [one["allergen"] for one in children[0].body["avoids"]] == ["peanut"]


def test_an_offer_is_changed_and_a_suggestion_is_taken(house: House) -> None:
    """What has changed is put in its place without a new page, and the focus stays in the work."""
    page = house.device()
    keys = Keys(page)
    keys.link("Set out")
    keys.press(page.get_by_role("link", name="for a trip").first)
    expect(page.get_by_role("heading", name="for a trip", level=1)).to_be_visible()
    keys.press(page.locator("#kept").get_by_label("Yes"), "Space")
    keys.type("How many cold packs or frozen drinks go along?", "2")
    keys.type("How many hours until the lunch is eaten?", "4")
    keys.press(page.locator("#kept").get_by_role("button", name="Save"))
    expect(page.locator("#follows [id^='change-']").first).to_be_visible()
    foods = page.locator("#offer .item").count()
    keys.press(page.locator("#g2-i2-remove"))
    expect(page.locator("#offer .item")).to_have_count(foods - 1)
    assert has_focus_inside_main(page)
    before = page.locator("#offer").inner_text()
    keys.press(page.locator("#follows [id^='change-']").first)
    expect(page.locator("#offer")).not_to_have_text(before, use_inner_text=True)
    assert has_focus_inside_main(page)


def test_a_packet_is_read_and_asks_no_more(house: House) -> None:
    page = house.device()
    keys = Keys(page)
    keys.link("Read the packet of black beans, cooked, no salt, for Linden")
    keys.type("List of ingredients", "Black beans, water.")
    keys.press(page.get_by_label("No warning is printed, or it is in the text above"), "Space")
    keys.button("Show what it means")
    expect(page.get_by_role("button", name="Save", exact=True)).to_be_visible()
    expect(page).to_have_url(re.compile("#reading$"))
    keys.press(page.get_by_role("button", name="Save", exact=True))
    page.wait_for_url(re.compile("/packets/[0-9a-f-]{36}(#|$)"))
    keys.link("Today")
    expect(page.get_by_role("heading", name="Now")).to_be_visible()
    expect(page.get_by_role("link", name="Read the packet of black beans")).to_have_count(0)


def test_a_lunch_is_taken_with_the_focus_on_the_tile_that_was_pressed(house: House) -> None:
    page = house.device("take", house.kitchen.children["Juniper"])
    keys = Keys(page)
    for place in range(page.locator("fieldset.choice").count()):
        group = page.locator("fieldset.choice").nth(place)
        tile = group.locator("button.tile:enabled").first
        name = str(tile.get_attribute("id"))
        keys.press(tile, "Space")
        expect(group.locator("button[aria-pressed=true]")).to_have_count(1)
        expect(page.locator(f"[id='{name}']")).to_be_focused()
    expect(page.locator("#still")).to_have_text("You can finish now.")
    keys.button("Done")
    expect(page.get_by_role("heading", name="Juniper, your lunch is packed.")).to_be_visible()


def test_what_came_back_is_noted_in_the_week(house: House) -> None:
    page = house.device()
    keys = Keys(page)
    keys.link("Week")
    keys.press(page.get_by_role("link", name="Rowan", exact=True).first)
    day = page.locator("details", has=page.locator("form.came-back")).first
    keys.press(day.locator("summary"))
    keys.choose(day.locator("select").first, "half")
    keys.press(day.get_by_role("button"))
    expect(page.locator("main")).to_contain_text("Half came back:")


@pytest.mark.parametrize("path", ["/children/new", "/prices/new"])
def test_after_a_fault_the_list_of_faults_is_read_first(house: House, path: str) -> None:
    page = house.device()
    page.goto(house.address + path)
    keys = Keys(page)
    page.eval_on_selector_all("main form", "all => all.forEach((one) => { one.noValidate = true; })")
    keys.press(page.locator("main .button-main"))
    expect(page.locator("#faults")).to_be_focused()
    link = page.locator("#faults a").first
    there = str(link.get_attribute("href"))
    keys.press(link)
    page.wait_for_url(f"**{there}")
    page.keyboard.press("Tab")
    assert has_focus_inside_main(page)
