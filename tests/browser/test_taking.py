"""A school morning in real browsers: tapped, by keyboard alone, without script, on two devices, and without a network."""

from datetime import date

import pytest
from playwright.sync_api import Page, expect

from service.jobs.household.access.households import today
from tests.browser.axe import violations
from tests.browser.houses import TABLET, House


def take_one_of_each(page: Page) -> None:
    """Tap the first tile of each group that is not dimmed."""
    for place in range(page.locator("fieldset.choice").count()):
        tile = page.locator("fieldset.choice").nth(place).locator("button.tile:enabled").first
        tile.click()
        expect(page.locator("fieldset.choice").nth(place).locator("button[aria-pressed=true]")).to_have_count(1)


def lunch(house: House, child: str, on: date | None = None) -> dict[str, object] | None:
    """What is logged of a child's day."""
    return house.kitchen.lunch(house.kitchen.children[child], on or today())


def test_a_child_taps_its_lunch_together_and_can_change_it(house: House) -> None:
    page = house.device("take", house.kitchen.children["Juniper"])
    assert not violations(page)
    take_one_of_each(page)
    expect(page.locator("#still")).to_have_text("You can finish now.")
    assert not violations(page)
    page.get_by_role("button", name="Done").click()
    expect(page.get_by_role("heading", name="Juniper, your lunch is packed.")).to_be_visible()
    assert not violations(page)
    assert lunch(house, "Juniper") is not None
    page.get_by_role("button", name="Change it").click()
    expect(page.locator("#still")).to_contain_text("Still to take")
    assert lunch(house, "Juniper") is None


def test_another_tile_of_a_group_of_one_takes_the_place_of_the_first(house: House) -> None:
    page = house.device("take", house.kitchen.children["Rowan"])
    fruit = page.locator("fieldset.choice", has_text="fruit")
    fruit.locator("button.tile").nth(0).click()
    fruit.locator("button.tile").nth(1).click()
    expect(fruit.locator("button.tile").nth(1)).to_have_attribute("aria-pressed", "true")
    expect(fruit.locator("button[aria-pressed=true]")).to_have_count(1)


def test_it_works_without_script_and_by_keyboard_alone(house: House) -> None:
    page = house.device("take", house.kitchen.children["Rowan"], java_script_enabled=False)
    for _step in range(40):
        page.keyboard.press("Tab")
        focused = page.locator("*:focus")
        if not focused.count():  # the browser's own parts had their turn
            continue
        if focused.get_attribute("class") and "done" in str(focused.get_attribute("class")):
            break
        group = focused.locator("xpath=ancestor::fieldset")
        if group.count() and not group.locator("button[aria-pressed=true]").count():
            page.keyboard.press("Enter")
            page.wait_for_load_state()
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Rowan, your lunch is packed.")).to_be_visible()
    assert lunch(house, "Rowan") is not None


def test_two_devices_see_each_others_takings(house: House) -> None:
    parent = house.device(viewport=TABLET)
    assert not violations(parent)
    card = parent.locator(".card", has_text="Linden")
    expect(card).to_contain_text("not yet")
    child = house.device("take", house.kitchen.children["Linden"])
    take_one_of_each(child)
    child.get_by_role("button", name="Done").click()
    expect(child.get_by_role("button", name="Change it")).to_be_visible()
    expect(card).to_contain_text("packed")


def test_a_lunch_without_a_network_is_sent_later_once(house: House) -> None:
    page = house.device("take", house.kitchen.children["Linden"])
    take_one_of_each(page)
    expect(page.get_by_role("button", name="Done")).to_be_enabled()
    page.context.set_offline(True)
    page.get_by_role("button", name="Done").click()
    expect(page.locator("#waiting")).to_be_visible()
    assert lunch(house, "Linden") is None
    page.context.set_offline(False)
    expect(page.get_by_role("heading", name="Linden, your lunch is packed.")).to_be_visible()
    assert lunch(house, "Linden") is not None


@pytest.mark.parametrize(
    "look",
    [
        {"color_scheme": "dark"},
        {"viewport": TABLET},
        {"device_scale_factor": 2, "viewport": {"width": 195, "height": 422}},
    ],
)
def test_every_look_keeps_the_rules_of_accessibility(house: House, look: dict[str, object]) -> None:
    page = house.device("take", house.kitchen.children["Juniper"], **look)
    assert not violations(page)
    for tile in page.locator("button.tile").all():
        box = tile.bounding_box()
        assert box is not None
        assert min(box["width"], box["height"]) >= 44


def test_signing_out_ends_it(house: House) -> None:
    page = house.device()
    page.context.clear_cookies()
    page.goto(house.address + "/")
    expect(page.get_by_role("heading", name="Sign in this device")).to_be_visible()
