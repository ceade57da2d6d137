"""Promise: a school week of three children on two devices at once adds up, and a packet that is read ends its prompts everywhere.

The parent's tablet stays open on the week while the children take their lunches on the family's phone, day after day.
"""

import re
from datetime import date, timedelta
from decimal import Decimal

import pytest
from playwright.sync_api import Locator, Page, expect

from service.jobs.foods.by_id import food_by_id
from service.jobs.household.access.households import today
from tests.browser.houses import TABLET, House
from tests.browser.taking import lunch, take_one_of_each

MEAL = "Bean chili with rice"
HALF_A_CENT = Decimal("0.005")
"""By so much each amount is rounded, and so is their sum."""
AMOUNT = re.compile(r"\$(\d+\.\d\d)")


def next_week() -> list[date]:
    """The five school days of next week: all of them still to come, whatever day it is."""
    monday = today() + timedelta(7 - today().weekday())
    return [monday + timedelta(days) for days in range(5)]


def week_of(day: date) -> str:
    """The address of a day's week."""
    year, week, _day = day.isocalendar()
    return f"/week?week={year}-W{week:02}"


def cell(tablet: Page, child: str, days: list[date], day: date) -> Locator:
    """A child's day on the page of the week."""
    card = tablet.locator("section.card", has=tablet.get_by_role("link", name=child, exact=True))
    return card.locator("ol.days > li").nth(days.index(day))


def set_out_all_week(tablet: Page, house: House, days: list[date]) -> None:
    """Tick the five days on the page of an offer."""
    tablet.goto(house.address + "/set-out")
    tablet.get_by_role("link", name="usual mornings").first.click()
    for day in days:
        tablet.locator(f"#day-{day}").check()
    tablet.locator("#days-keep").click()
    and_today = today().isoweekday() <= len(days)  # the page has the days from Monday to Friday
    expect(tablet.locator("#days input[name=was]")).to_have_count(len(days) + and_today)


def buys_on(tablet: Page, house: House, child: str, day: date) -> None:
    """The school's meal of a day is typed, and that the child buys it."""
    tablet.goto(house.address + week_of(day).replace("/week", "/bought"))
    tablet.locator(f"#name-{day}").fill(MEAL)
    tablet.locator(f"input[name=buys-{day}][value='{house.kitchen.children[child]}']").check()
    tablet.get_by_role("button", name="Save both weeks").click()
    expect(tablet.locator("main")).to_contain_text("For Linden it is not known whether peanut is in it.")
    expect(tablet.locator(f"input[name=buys-{day}]:checked")).to_have_count(1)


def takes(phone: Page, house: House, child: str, day: date) -> str:
    """A child takes its lunch of a day; the name of its first item."""
    phone.goto(f"{house.address}/take/{house.kitchen.children[child]}?day={day}")
    take_one_of_each(phone)
    phone.get_by_role("button", name="Done").click()
    expect(phone.get_by_role("heading", name=f"{child}, your lunch is packed.")).to_be_visible()
    expect(phone.locator("#finish")).to_have_count(
        0
    )  # the page that Done leads to: the heading may have come before it
    return phone.locator("li.tile .tile-name").first.inner_text()


def short(name: str) -> str:
    """A food as the week calls it: without what follows the comma."""
    return name.partition(",")[0]


def amounts(words: str) -> list[Decimal]:
    """The sums of money in a text."""
    return [Decimal(one) for one in AMOUNT.findall(words)]


def test_a_school_week_of_three_children_on_two_devices_at_once(house: House) -> None:
    """The phone may do everything: a device that only packs takes for today, and this week is still to come."""
    days = next_week()
    tablet, phone = house.device(viewport=TABLET), house.device()
    set_out_all_week(tablet, house, days)
    buys_on(tablet, house, "Rowan", days[2])
    tablet.goto(house.address + week_of(days[0]))
    expect(cell(tablet, "Rowan", days, days[2])).to_contain_text(f"Buys at school, not logged yet: {MEAL}")
    for day in days:
        for child in house.kitchen.children:
            if (child, day) == ("Rowan", days[2]):
                continue
            expect(cell(tablet, child, days, day)).to_contain_text("Not logged")
            first = takes(phone, house, child, day)
            expect(cell(tablet, child, days, day)).to_contain_text(short(first))

    phone.get_by_role("button", name="Change it").click()
    expect(phone.locator("#still")).to_contain_text("Still to take")
    last = list(house.kitchen.children)[-1]
    expect(cell(tablet, last, days, days[4])).to_contain_text("Not logged")
    phone.goto(f"{house.address}/take/{house.kitchen.children[last]}?day={days[4]}")
    take_one_of_each(phone, last=True)
    phone.get_by_role("button", name="Done").click()
    expect(phone.get_by_role("button", name="Change it")).to_be_visible()
    for name in phone.locator("li.tile .tile-name").all_inner_texts():
        expect(cell(tablet, last, days, days[4])).to_contain_text(short(name))

    phone.goto(f"{house.address}/week/{house.kitchen.children['Rowan']}/{days[2]}")
    phone.get_by_label("Bought at school").check()
    phone.get_by_role("button", name="Save this day").click()
    expect(phone.get_by_role("heading", name="Rowan: week of")).to_be_visible()
    expect(cell(tablet, "Rowan", days, days[2])).to_contain_text(f"Bought: {MEAL}")
    the_week_adds_up(tablet, house, days)


def the_week_adds_up(tablet: Page, house: House, days: list[date]) -> None:
    """What the page shows of each day is what is stored of it; so are the numbers of lunches, and their costs add up."""
    expect(tablet.locator("#week")).not_to_contain_text("Not logged")
    costs: list[Decimal] = []
    for child in house.kitchen.children:
        stored = [lunch(house, child, day) for day in days]
        kinds = [str(one["kind"]) for one in stored if one is not None]
        assert len(kinds) == 5
        for day, one in zip(days, stored, strict=True):
            assert one is not None
            for food in [item["food"] for item in one["items"] if len(item["food"]) < 36]:
                expect(cell(tablet, child, days, day)).to_contain_text(short(food_by_id(food).name))
        card = tablet.locator("section.card", has=tablet.get_by_role("link", name=child, exact=True))
        expect(card).to_contain_text(f"{kinds.count('packed')} packed lunches: ")
        if kinds.count("bought"):
            expect(card).to_contain_text("1 bought lunch: ")
        costs += amounts(card.locator(".says").first.inner_text())
    said = tablet.locator(".after p", has_text="All children together").inner_text()
    assert abs(amounts(said)[0] - sum(costs)) <= HALF_A_CENT * (len(costs) + 1)
    assert sum(costs) > 0


@pytest.mark.parametrize(("ingredients", "has_it"), [("Black beans, water.", 1), ("Black beans, peanut flour.", 0)])
def test_a_packet_that_is_read_ends_its_prompts_everywhere(house: House, ingredients: str, has_it: int) -> None:
    """Today's page, the packets, what is set out; another device's page follows by itself, and so do the child's own tiles."""
    offer = house.kitchen.set_out("usual mornings", today())
    tablet, other = house.device(viewport=TABLET), house.device()
    phone = house.device("take", house.kitchen.children["Linden"])
    prompt = "a[href='/packets/new?food=beans-black-cooked']"
    pot = phone.locator("button.tile", has_text="rice and bean pot")
    pages = (f"/set-out/{offer}", "/packets", "/")
    for path in pages:
        tablet.goto(house.address + path)
        expect(tablet.locator(prompt).first, path).to_be_attached()
    expect(other.locator(prompt)).to_have_count(1)
    expect(pot).to_have_count(1)

    tablet.locator(prompt).click()
    tablet.get_by_label("List of ingredients", exact=True).fill(ingredients)
    tablet.get_by_label("No warning is printed, or it is in the text above").check()
    tablet.get_by_role("button", name="Show what it means").click()
    tablet.get_by_role("button", name="Save", exact=True).click()
    tablet.wait_for_url(re.compile("/packets/[0-9a-f-]{36}(#|$)"))

    expect(other.locator(prompt)).to_have_count(0)
    expect(pot).to_have_count(has_it)
    for path in pages:
        tablet.goto(house.address + path)
        expect(tablet.locator(prompt), path).to_have_count(0)
