"""A packet is scanned: the scanner types digits and Enter; the form comes filled in, is compared and kept. In every light, by keys alone.

Rules: WCAG 2.2 A and AA and best practice, held by axe.
"""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect

from service.jobs.household.access.households import today
from service.jobs.household.access.store import open_household_store
from tests.branded_foods import BISCUITS, invented_index
from tests.browser.houses import PHONE, TABLET, House, house_of
from tests.browser.looking import Looking
from tests.browser.walks import in_every_light
from tests.web.kitchens import demo_kitchen

FOODS = ("hummus", "cheddar", "yogurt", "rice")
"""A food for each run: on one day a food has one packet."""


@pytest.fixture(scope="module")
def family(tmp_path_factory: pytest.TempPathFactory, browser: Browser) -> Iterator[House]:
    """The invented family with an index of invented branded foods."""
    url = f"sqlite:///{tmp_path_factory.mktemp('house') / 'store.sqlite3'}"
    store = open_household_store(url)
    index = str(invented_index())
    try:
        with house_of(demo_kitchen(store, url, today()), browser, PACKED_LUNCH_BRANDED_FOODS_FILE=index) as house:
            yield house
    finally:
        store.close()


@pytest.mark.parametrize("screen", [PHONE, TABLET], ids=["phone", "tablet"])
@pytest.mark.parametrize("script", [True, False], ids=["script", "no script"])
def test_a_packet_is_scanned_compared_and_kept(family: House, screen: dict[str, int], script: bool) -> None:
    page = family.device(viewport=screen, java_script_enabled=script)
    looking = Looking(page, family.address)
    page.goto(family.address + "/packets")
    page.get_by_role("searchbox", name="A new packet: its code or name").focus()
    page.keyboard.type(BISCUITS.removeprefix("00"))
    page.keyboard.press("Enter")
    page.wait_for_url("**/packets/look-up?**")
    main = page.locator("main")
    expect(main).to_contain_text("OAT BISCUITS (MADE UP)")
    if script:
        assert list(in_every_light(looking)) == []
    page.get_by_role("link", name="Fill in its form").click()
    page.wait_for_url("**/packets/new?gtin=**")
    page.locator("#find").fill(FOODS[2 * script + (screen == TABLET)])
    page.keyboard.press("Enter")
    page.wait_for_url("**/packets/new?gtin=*&find=*")
    main.locator("ul.plain a").first.click()
    page.wait_for_url("**/packets/new?food=**")
    expect(page.locator("#ingredients")).to_have_value("OATS, SUGAR, PALM OIL, SALT, BUTTER (MILK).")
    expect(main).to_contain_text("Compare every line with the packet in your hand")
    if script:
        assert list(in_every_light(looking)) == []
    press(page, "Show what it means")
    press(page, "Save")
    expect(page.locator("#faults")).to_contain_text("Compare what was filled in")
    if script:
        assert list(in_every_light(looking, 422)) == []
    page.locator("#filled-compared").check()
    press(page, "Save")
    expect(main).to_contain_text("012345678905")


def press(page: Page, name: str) -> None:
    """Press a button whose form leads to another page, and wait for that."""
    with page.expect_navigation():
        page.locator("main").get_by_role("button", name=name, exact=True).first.click()
