"""A school morning in real browsers: tapped, by keyboard alone, without script, and on two devices."""

import pytest
from playwright.sync_api import expect

from tests.browser.axe import violations
from tests.browser.houses import TABLET, House
from tests.browser.looking import SMALL, SMALLEST_TILE
from tests.browser.taking import lunch, take_one_of_each


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
            with page.expect_navigation():
                page.keyboard.press("Enter")
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
    assert page.evaluate(SMALL, SMALLEST_TILE) == []
    take_one_of_each(page)
    page.get_by_role("button", name="Done").click()
    expect(page.get_by_role("button", name="Change it")).to_be_visible()
    assert not violations(page)
    assert page.evaluate(SMALL, SMALLEST_TILE) == []


def test_a_lunch_that_another_device_logs_or_takes_back_is_so_on_this_one_too(house: House) -> None:
    """With its button: what is packed cannot be finished again, and what was taken back can."""
    one, other = (house.device("take", house.kitchen.children["Rowan"]) for _device in range(2))
    take_one_of_each(one)
    one.get_by_role("button", name="Done").click()
    expect(other.get_by_role("heading", name="Rowan, your lunch is packed.")).to_be_visible()
    expect(other.get_by_role("button", name="Done")).to_have_count(0)
    other.get_by_role("button", name="Change it").click()
    expect(one.locator("#still")).to_contain_text("Still to take")
    take_one_of_each(one)
    one.get_by_role("button", name="Done").click()
    expect(one.get_by_role("heading", name="Rowan, your lunch is packed.")).to_be_visible()
