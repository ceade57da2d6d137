"""Promise: what no link leads to keeps the rules too: a form with faults, an edit overtaken, no network, what a form is answered with.

Rules: WCAG 2.2 A and AA and best practice, held by axe, in the light, in the dark, with large words and on paper.
"""

from collections.abc import Callable, Iterator

import pytest
from playwright.sync_api import Browser, Page, expect

from service.jobs.household.access.households import today
from service.jobs.household.access.store import open_household_store
from tests.browser.houses import PHONE, TABLET, House, house_of
from tests.browser.looking import SMALL, SMALLEST_TILE, Looking
from tests.browser.walks import in_every_light
from tests.web.kitchens import demo_kitchen

EMPTY_FORMS = {
    "/children/new": True,
    "/foods/new": True,
    "/dishes/new": True,
    "/prices/new": True,
    "/packets/new?food=hummus": True,
    "/devices/new": False,
}
"""Forms by their addresses; whether they cannot be sent empty. A device needs no name."""


@pytest.fixture(scope="module")
def family(tmp_path_factory: pytest.TempPathFactory, browser: Browser) -> Iterator[House]:
    """The invented family on a school morning."""
    url = f"sqlite:///{tmp_path_factory.mktemp('house') / 'store.sqlite3'}"
    store = open_household_store(url)
    kitchen = demo_kitchen(store, url, today())
    kitchen.set_out("usual mornings", today())
    try:
        with house_of(kitchen, browser) as house:
            yield house
    finally:
        store.close()


def sent(page: Page, name: str) -> None:
    """Press a button whose form leads to another page, and wait for that."""
    with page.expect_navigation():
        page.locator("main").get_by_role("button", name=name).first.click()


def width(page: Page) -> int:
    """So many pixels: what the tests of two screens call their own."""
    assert page.viewport_size is not None
    return page.viewport_size["width"]


def overtaken(page: Page, house: House) -> None:
    """An edit of a child that another device was quicker with."""
    where = f"{house.address}/children/{house.kitchen.children['Rowan']}"
    other = house.device()
    words = f"{width(page)} things"
    for one, what in ((page, "mine"), (other, "theirs")):
        one.goto(where)
        one.locator("#dislikes").fill(f"{what} {words}")
    sent(other, "Save")
    sent(page, "Save")
    expect(page.locator("#conflict")).to_be_focused()


def offer_overtaken(page: Page, house: House) -> None:
    """A change of what is set out that another device was quicker with."""
    page.goto(house.address + "/set-out")
    page.get_by_role("link", name="for a trip").first.click()
    page.get_by_role("heading", name="for a trip", level=1).wait_for()
    other = house.device()
    other.goto(page.url)
    other.locator("#new").wait_for()
    other.locator("#offer-more").click()
    other.locator("#offer-name").fill(f"for a trip {width(page)}")
    other.locator("#offer-rename").click()
    expect(other.get_by_role("heading", level=1)).to_contain_text(str(width(page)))
    page.locator("#g1-i1-remove").click()
    expect(page.locator("#conflict")).to_be_focused()


def packet_read(page: Page, house: House) -> None:
    """The reading of a packet that names what a child must not have."""
    page.goto(house.address + "/packets/new?food=hummus")
    page.get_by_label("List of ingredients", exact=True).fill("Chickpeas, sesame paste, peanut flour, E999, salt.")
    sent(page, "Show what it means")
    expect(page.locator("main")).to_contain_text("Linden")


def menu_looked_at(page: Page, house: House) -> None:
    """A table of the school's menu before it is kept."""
    page.goto(house.address + "/bought")
    page.locator("#table").fill(f"date,name,contains\n{today()},Pasta bake,milk")
    sent(page, "Look at it first")
    expect(page.locator("tbody")).to_contain_text("Pasta bake")


def menu_refused(page: Page, house: House) -> None:
    """A table with a fault in it."""
    page.goto(house.address + "/bought")
    page.locator("#table").fill("date,name\n2026-13-01,Pasta bake")
    sent(page, "Look at it first")
    expect(page.locator("#table-faults")).to_be_visible()


def link_made(page: Page, house: House) -> None:
    """A link with its code for another device."""
    page.goto(house.address + "/devices/new")
    sent(page, "Show the link")
    expect(page.locator("main svg")).to_be_visible()


def not_to_be_packed(page: Page, house: House) -> None:
    """A day with a food that its child must not have."""
    page.goto(f"{house.address}/week/{house.kitchen.children['Linden']}/{today()}")
    page.locator("#q").fill("peanut butter")
    sent(page, "Find")
    page.locator("input[name=add]").first.check()
    sent(page, "Save this day")
    expect(page.get_by_role("alert")).to_contain_text("This must not be packed for Linden")


def nothing_found(page: Page, house: House) -> None:
    """A search without an answer."""
    page.goto(house.address + "/foods?q=zzzzzz")
    expect(page.locator("main")).to_contain_text("zzzzzz")


def old_form(page: Page, house: House) -> None:
    """A form of a page that was open for too long."""
    page.goto(house.address + "/children/new")
    page.locator("#nickname").fill("Hazel")
    page.locator("main input[name=token]").first.evaluate("one => { one.value = 'old'; }")
    sent(page, "Save")
    expect(page.locator("main")).to_contain_text("Hazel")


STATES: dict[Callable[[Page, House], None], int] = {
    overtaken: 409,
    offer_overtaken: 409,
    packet_read: 200,
    menu_looked_at: 200,
    menu_refused: 422,
    link_made: 200,
    not_to_be_packed: 409,
    nothing_found: 200,
    old_form: 403,
}
"""What leads to each state, and the status that its page is answered with."""


@pytest.mark.parametrize("viewport", [PHONE, TABLET], ids=["phone", "tablet"])
def test_what_forms_are_answered_with(family: House, viewport: dict[str, int]) -> None:
    looking = Looking(family.device(viewport=viewport), family.address)
    wrong = []
    for state, status in STATES.items():
        looking.said.clear()
        state(looking.page, family)
        looking.settle()
        wrong += [f"{state.__name__}: {one}" for one in in_every_light(looking, status)]
    assert "\n".join(wrong) == ""


@pytest.mark.parametrize("viewport", [PHONE, TABLET], ids=["phone", "tablet"])
def test_forms_that_are_sent_empty_say_what_is_missing(family: House, viewport: dict[str, int]) -> None:
    """The list of faults is focused, so that it is read out at once, and each of its links leads to a field."""
    looking = Looking(family.device(viewport=viewport), family.address)
    page, wrong = looking.page, []
    for path, needs in EMPTY_FORMS.items():
        assert looking.open(path) == 200
        page.eval_on_selector_all("main form", "all => all.forEach((one) => { one.noValidate = true; })")
        with page.expect_navigation():
            page.locator("main form[method=post] button.button-main").first.click()
        if needs:
            expect(page.locator("#faults"), path).to_be_focused()
            for link in page.locator("#faults a").all():
                assert page.locator(f"[id='{str(link.get_attribute('href'))[1:]}']").count() == 1
        wrong += [f"{path}: {one}" for one in in_every_light(looking, 422)]
    assert "\n".join(wrong) == ""


@pytest.mark.parametrize("viewport", [PHONE, TABLET], ids=["phone", "tablet"])
def test_the_taking_page_in_its_states(family: House, viewport: dict[str, int]) -> None:
    """Nothing taken, tiles that cannot be taken now, no network, whole, packed; every target 44 px, since a child taps."""
    looking = Looking(family.device("take", family.kitchen.children["Juniper"], viewport=viewport), family.address)
    page, wrong = looking.page, []
    assert looking.open("/") == 200

    def look(state: str) -> None:
        wrong.extend(f"{state}: {one}" for one in in_every_light(looking))
        wrong.extend(f"{state}: target under {SMALLEST_TILE} px: {one}" for one in page.evaluate(SMALL, SMALLEST_TILE))

    look("nothing taken")
    page.locator("button.tile:enabled").first.click()
    expect(page.locator("#still")).not_to_contain_text("main")
    look("one taken")
    page.context.set_offline(True)
    page.locator("fieldset.choice").last.locator("button.tile:enabled").first.click()
    expect(page.locator("#waiting")).to_be_visible()
    looking.said.clear()  # the browser says itself that there is no network
    look("no network")
    page.context.set_offline(False)
    expect(page.locator("#waiting")).to_be_hidden()
    looking.said.clear()
    groups = page.locator("fieldset.choice")
    for place in range(groups.count()):
        if not groups.nth(place).locator("button[aria-pressed=true]").count():
            groups.nth(place).locator("button.tile:enabled").first.click()
    expect(page.get_by_role("button", name="Done")).to_be_enabled()
    look("whole")
    page.get_by_role("button", name="Done").click()
    expect(page.get_by_role("button", name="Change it")).to_be_visible()
    look("packed")
    page.get_by_role("button", name="Change it").click()
    expect(page.locator("#still")).to_contain_text("Still to take")
