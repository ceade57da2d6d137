"""Promise: from a Sunday to the second Friday, what was planned, made, taken, bought and banned adds up in the weeks' sheets.

Three children, two devices. The days are the two weeks to come: all of them are still open, whatever day it is.
"""

import re
from datetime import date, timedelta

from playwright.sync_api import Page, expect

from tests.browser.houses import A_MOMENT, TABLET, House
from tests.browser.test_school_week import buys_on, cell, next_week, takes, the_week_adds_up, week_of

POT = "rice and bean pot"


def two_weeks() -> tuple[list[date], list[date]]:
    """The school days of next week and of the week after."""
    first = next_week()
    return first, [day + timedelta(7) for day in first]


def plans(tablet: Page, house: House) -> str:
    """Two weeks from Monday on, as the form has them ready; the plan's address."""
    tablet.goto(house.address + "/plans/new")
    tablet.get_by_label("From", exact=True).fill(next_week()[0].isoformat())
    tablet.get_by_label("For how long").select_option(label="2 weeks")
    tablet.get_by_label("for a trip").uncheck()
    tablet.get_by_label("Rowan, days a week at most").select_option("1")
    tablet.get_by_role("button", name="Make a plan").click()
    tablet.wait_for_url(re.compile(r"/plans/[0-9a-f-]{36}(#|\?|$)"), timeout=2 * A_MOMENT)
    return tablet.url.partition("#")[0].partition("?")[0]


def plans_again(tablet: Page, plan: str) -> None:
    """After something was changed: the rest is planned anew, and what moved is said."""
    tablet.goto(plan)
    tablet.get_by_role("button", name="Plan again").first.click()
    expect(tablet.locator("#moved")).to_be_visible(timeout=2 * A_MOMENT)


def buys_and_makes(tablet: Page, house: House, plan: str) -> None:
    """The first thing on the shopping list is bought, the first batch is made, and both are in the stock."""
    tablet.goto(plan + "/shopping")
    line = tablet.locator("ul.shop > li").first
    name = line.locator("strong").inner_text()
    line.get_by_role("button", name=re.compile("^Bought")).click()
    expect(
        tablet.locator("ul.shop > li", has_text=name).first.get_by_role("button", name=re.compile("^Not bought"))
    ).to_be_visible()
    tablet.goto(plan + "/prep")
    step = tablet.locator("article.step", has_text=POT).first
    step.get_by_role("button", name=re.compile("^Made")).click()
    expect(tablet.locator("article.step", has_text=POT).first).to_contain_text("made")
    tablet.goto(house.address + "/stock")
    expect(tablet.locator("#now")).to_contain_text(name)
    expect(tablet.locator("#now")).to_contain_text(POT)


def labels(tablet: Page, plan: str) -> bytes:
    """The labels of what is in the stock, as a PDF."""
    tablet.goto(plan + "/labels")
    tablet.locator("input[inputmode=numeric]").first.fill("2")
    with tablet.expect_download() as download:
        tablet.get_by_role("button", name="Make the labels (PDF)").click()
    return download.value.path().read_bytes()


def is_ill(tablet: Page, house: House, child: str, day: date) -> None:
    """A child has no lunch on a day."""
    tablet.goto(f"{house.address}/week/{house.kitchen.children[child]}/{day}")
    tablet.get_by_label("No lunch").check()
    tablet.get_by_role("button", name="Save this day").click()
    expect(tablet.get_by_role("heading", name=f"{child}: week of")).to_be_visible()


def bans(tablet: Page, house: House, child: str, allergen: str) -> None:
    """From today on the class of a child allows no such food."""
    tablet.goto(f"{house.address}/children/{house.kitchen.children[child]}")
    tablet.get_by_label("What the class or school does not allow").fill(allergen)
    with tablet.expect_navigation():
        tablet.get_by_role("button", name="Save").first.click()
    expect(tablet.locator("main")).to_contain_text(allergen)


def reads_the_beans(tablet: Page, house: House) -> None:
    """The one packet of the pot that was not read: no wheat stands on it."""
    tablet.goto(house.address + "/packets/new?food=beans-black-cooked")
    tablet.get_by_label("List of ingredients", exact=True).fill("Black beans, water.")
    tablet.get_by_label("No warning is printed, or it is in the text above").check()
    tablet.get_by_role("button", name="Show what it means").click()
    tablet.get_by_role("button", name="Save", exact=True).click()
    tablet.wait_for_url(re.compile("/packets/[0-9a-f-]{36}(#|$)"))


def thaws_one(tablet: Page, house: House) -> None:
    """A frozen portion goes into the fridge, where it keeps for days, no longer for weeks."""
    tablet.goto(house.address + "/stock")
    frozen = tablet.locator("section[aria-labelledby=place-freezer] .card", has_text=POT).first
    frozen.get_by_role("button", name=re.compile("to the fridge", re.IGNORECASE)).click()
    fridge = tablet.locator("section[aria-labelledby=place-fridge]")
    expect(fridge).to_contain_text(POT)


def test_from_a_sunday_to_the_second_friday(house: House) -> None:
    first, second = two_weeks()
    tablet, phone = house.device(viewport=TABLET), house.device()
    buys_on(tablet, house, "Rowan", first[2])
    plan = plans(tablet, house)
    expect(tablet.locator(f"#day-{first[2]}")).to_contain_text("Rowan buys at school")
    buys_and_makes(tablet, house, plan)
    assert labels(tablet, plan).startswith(b"%PDF-")
    plans_again(tablet, plan)
    tablet.get_by_role("button", name="Set these days out").click()
    expect(tablet.locator("main")).to_be_visible()

    is_ill(tablet, house, "Linden", first[1])
    thaws_one(tablet, house)
    for day in first:
        for child in house.kitchen.children:
            if (child, day) not in {("Linden", first[1]), ("Rowan", first[2])}:
                takes(phone, house, child, day)
    logs_as_bought(tablet, house, "Rowan", first[2])

    bans(tablet, house, "Linden", "wheat")
    phone.goto(f"{house.address}/take/{house.kitchen.children['Linden']}?day={second[0]}")
    expect(phone.get_by_role("heading", name="Linden's lunch")).to_be_visible()
    for main in ("ham sandwich", "wrap", POT):
        expect(phone.locator(".tile", has_text=main)).to_have_count(0)
    reads_the_beans(tablet, house)
    expect(phone.locator("button.tile", has_text=POT)).to_be_visible()
    plans_again(tablet, plan)
    for day in second:
        for child in house.kitchen.children:
            takes(phone, house, child, day)

    for days in (first, second):
        tablet.goto(house.address + week_of(days[0]))
        the_week_adds_up(tablet, house, days)
    tablet.goto(house.address + week_of(first[0]))
    expect(cell(tablet, "Linden", first, first[1])).to_contain_text("No lunch")
    expect(cell(tablet, "Rowan", first, first[2])).to_contain_text("Bought")


def logs_as_bought(tablet: Page, house: House, child: str, day: date) -> None:
    """The meal of the school is what a child had."""
    tablet.goto(f"{house.address}/week/{house.kitchen.children[child]}/{day}")
    tablet.get_by_label("Bought at school").check()
    tablet.get_by_role("button", name="Save this day").click()
    expect(tablet.get_by_role("heading", name=f"{child}: week of")).to_be_visible()
