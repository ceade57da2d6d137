"""An offer made right for everyone, in a browser: asked for from the offer, looked at, done, and undone again."""

import re

import pytest
from playwright.sync_api import Page, expect

from service.jobs.household.access.households import today
from service.jobs.household.kinds import CHILDREN
from service.jobs.household.records import edit_record
from tests.browser.axe import violations
from tests.browser.houses import PHONE, TABLET, House
from tests.web.kitchens import Kitchen


def asked_for(house: House, viewport: dict[str, int], *, more: bool = False) -> tuple[Page, str]:
    """The page of the offer of today, from which the offer is asked to be made right; and the address of the offer."""
    offer = house.kitchen.set_out("usual mornings", today())
    page = house.device(viewport=viewport)
    address = f"{house.address}/set-out/{offer}"
    page.goto(address)
    if more:
        page.get_by_label("Look among more everyday foods of the same kinds too").check()
    with page.expect_navigation():
        page.click("#right")
    expect(page.get_by_role("heading", name="Make this offer right for everyone")).to_be_visible()
    return page, address


def foods_of(kitchen: Kitchen, offer: str) -> list[tuple[str, float]]:
    """What stands in an offer, with the amounts."""
    from service.jobs.household.kinds import OFFERS
    from service.jobs.household.records import show_record

    with kitchen.store.reading() as connection:
        body = show_record(connection, OFFERS, kitchen.id, offer).body
    return [(item["food"], item["quantity"], item["portions"]) for group in body["groups"] for item in group["items"]]  # type: ignore[misc]


@pytest.mark.parametrize("viewport", [PHONE, TABLET], ids=["phone", "tablet"])
def test_shares_and_changes_are_shown_then_done_and_taken_back(morning: House, viewport: dict[str, int]) -> None:
    page, address = asked_for(morning, viewport)
    offer = address.rsplit("/", 1)[1]
    before = foods_of(morning.kitchen, offer)
    expect(page.locator("main")).to_contain_text("with these changes every lunch is right")
    for name in morning.kitchen.children:
        row = page.locator("main li.apart").filter(has_text=name)
        assert re.search(r"\d+ of \d+ ready", row.inner_text())
    assert violations(page) == []
    with page.expect_navigation():
        page.click("#make-right")
    expect(page.locator("#follows")).to_contain_text("ready")
    after = foods_of(morning.kitchen, offer)
    assert after != before
    with page.expect_navigation():
        page.get_by_role("button", name="Undo").click()
    assert foods_of(morning.kitchen, offer) == before


@pytest.mark.parametrize("viewport", [PHONE, TABLET], ids=["phone", "tablet"])
def test_what_stands_in_the_way_is_shown_with_what_helps(morning: House, viewport: dict[str, int]) -> None:
    with morning.kitchen.store.writing() as connection:
        parts = b'{"avoids": [{"allergen": "milk"}]}'
        child = morning.kitchen.children["Linden"]
        edit_record(connection, CHILDREN, morning.kitchen.id, child, lambda _v: None, parts, None)
    page, _address = asked_for(morning, viewport)
    expect(page.locator("main")).to_contain_text("No choice of these foods is right for everyone")
    expect(page.locator("main")).to_contain_text("Linden may have none of the foods in drink.")
    assert violations(page) == []
    with page.expect_navigation():
        page.get_by_role("button", name="Look again with more everyday foods").click()
    assert violations(page) == []
