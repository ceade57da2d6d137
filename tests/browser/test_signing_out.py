"""Promise: a device that is signed out shows nothing more, whoever signs it out; no page of before comes back."""

from playwright.sync_api import Page, expect

from tests.browser.houses import TABLET, House


def is_signed_out(page: Page, house: House) -> None:
    """It comes to the page that says how to sign in, and neither a page nor the JSON API has anything for it."""
    for path in ("/", "/children", "/week"):
        page.goto(house.address + path)
        expect(page.get_by_role("heading", name="Sign in this device")).to_be_visible()
        expect(page.locator("body")).not_to_contain_text("Rowan")
    assert page.evaluate("fetch('/v1/children').then((answer) => answer.status)") == 401


def test_a_device_signs_itself_out_and_the_page_before_does_not_come_back(house: House) -> None:
    page = house.device()
    page.goto(house.address + "/devices")
    page.get_by_role("button", name="Sign out this device").click()
    expect(page.get_by_role("heading", name="Sign in this device")).to_be_visible()
    assert page.context.cookies() == []
    page.go_back()
    expect(page.get_by_role("heading", name="Sign in this device")).to_be_visible()
    is_signed_out(page, house)


def test_one_device_is_signed_out_from_another(house: House) -> None:
    """What was open on it does not go on: its next tap leads to signing in, and nothing is logged."""
    rowan = house.kitchen.children["Rowan"]
    parent, phone, stays = house.device(viewport=TABLET), house.device("take", rowan), house.device()
    parent.goto(house.address + "/devices")
    shown = parent.locator("article", has_text="It shows what Rowan takes, and nothing else.")
    shown.get_by_role("button", name="Sign out").click()
    expect(shown).to_have_count(0)
    phone.locator("button.tile").first.click()
    expect(phone.get_by_role("heading", name="Sign in this device")).to_be_visible()
    is_signed_out(phone, house)
    stays.goto(house.address + "/")
    expect(stays.get_by_role("heading", name="Rowan")).to_be_visible()


def test_all_others_are_signed_out_at_once(house: House) -> None:
    parent = house.device()
    others = [house.device(), house.device("pack"), house.device("take", house.kitchen.children["Linden"])]
    parent.goto(house.address + "/devices")
    parent.get_by_role("button", name="Sign out all other devices").click()
    expect(parent.locator("main")).to_contain_text("1 device is signed in.")
    for page in others:
        is_signed_out(page, house)
    parent.goto(house.address + "/children")
    expect(parent.get_by_role("link", name="Rowan")).to_be_visible()


def test_a_link_that_was_used_signs_in_nobody_else(house: House) -> None:
    """The link of a lost device is of no use: it worked once."""
    from service.jobs.household.access.sign_in_links import NewLink, make_link

    with house.kitchen.store.writing() as connection:
        link = make_link(connection, house.kitchen.id, NewLink(rights="keep"))
    first, second = house.stranger(), house.stranger()
    for page in (first, second):
        page.goto(house.address + link.path)
        page.get_by_role("button", name="Use this device").click()
    expect(first.get_by_role("heading", name="Rowan")).to_be_visible()
    expect(second.get_by_role("alert")).to_contain_text("This link has been used")
    is_signed_out(second, house)
