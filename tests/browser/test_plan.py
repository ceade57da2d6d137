"""Promise: a plan is made with one press, a day stays, another has no school, and planned again the page says what moved.

Rules: WCAG 2.2 A and AA and best practice, held by axe, in the light, in the dark, with large words and on paper.
"""

import re
from datetime import date, timedelta
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from service.jobs.household.access.households import today
from service.web.plan.form import next_monday
from tests.browser.houses import PHONE, TABLET, House
from tests.browser.looking import Looking
from tests.browser.test_paper import PAPERS, SMALLEST, TWELVE_POINT, holds, printed
from tests.browser.walks import in_every_light

A_PLAN = re.compile(r"/plans/[0-9a-f-]{36}(#.*)?$")


def looked_at(looking: Looking, expected: int = 200) -> None:
    """Nothing is wrong with the page as it is, in any light."""
    assert "\n".join(in_every_light(looking, expected)) == ""


def make_a_plan(page: Page, house: House, button: str = "Make a plan") -> None:
    """From today's page to the plan, as a person goes."""
    page.goto(house.address)
    page.get_by_role("link", name="More", exact=True).click()
    page.locator("main").get_by_role("link", name="Plans", exact=True).click()
    page.get_by_role("link", name="Make a plan").click()
    page.get_by_role("button", name=button, exact=True).click()
    page.wait_for_url(A_PLAN)


def day_of(page: Page, day: date) -> str:
    """What stands on a day."""
    return page.locator(f"#day-{day} a[href^='/set-out/']").inner_text()


@pytest.mark.parametrize("viewport", [PHONE, TABLET], ids=["phone", "tablet"])
def test_a_day_stays_another_goes_and_what_moved_is_said(house: House, viewport: dict[str, int]) -> None:
    looking = Looking(house.device(viewport=viewport), house.address)
    page = looking.page
    make_a_plan(page, house)
    looked_at(looking)
    monday = next_monday(today())
    stays, goes = monday + timedelta(2), monday + timedelta(1)
    stood = day_of(page, stays)

    page.locator(f"#day-{stays}").get_by_role("button", name="Keep this").first.click()
    expect(page.locator(f"#day-{stays}").get_by_role("button", name="Let it change")).to_be_visible()
    page.locator(f"#day-{goes}").get_by_role("link", name="Change this day").click()
    page.get_by_label("No school on this day").check()
    looked_at(looking)
    page.get_by_role("button", name="Save this day").click()
    expect(page.locator(f"#day-{goes}")).to_contain_text("No school")
    expect(page.locator("main")).to_contain_text("Something was changed since this was planned")
    looked_at(looking)

    page.get_by_role("button", name="Plan again").first.click()
    page.wait_for_url(re.compile("#moved$"))
    moved = page.locator("section", has=page.locator("#moved"))
    expect(moved).to_contain_text("is not planned any more")
    expect(page.locator("main")).not_to_contain_text("Something was changed")
    assert day_of(page, stays) == stood
    looked_at(looking)


@pytest.mark.parametrize("way", ["What is set out on each day", "A lunch for each child and day"])
def test_a_sheet_a_week_on_paper(house: House, tmp_path: Path, way: str) -> None:
    page = house.device(viewport=TABLET)
    page.goto(f"{house.address}/plans/new")
    page.get_by_label("For how long").select_option("2")
    page.get_by_text("More choices").click()
    page.get_by_label(way).check()
    if way.startswith("A lunch"):
        page.get_by_label("for a trip").uncheck()
    page.get_by_role("button", name="Make a plan", exact=True).click()
    page.wait_for_url(A_PLAN)
    page.emulate_media(media="print")
    assert page.evaluate(SMALLEST) >= TWELVE_POINT
    days = page.locator("ol.plan-days > li h3").all_inner_texts()
    assert len(days) == 10
    for paper in PAPERS:
        sheets = printed(page, tmp_path / "plan.pdf", paper)
        assert len(sheets) == 2
        for sheet, some in zip(sheets, (days[:5], days[5:]), strict=True):
            holds(sheet, *some, "usual mornings" if way.startswith("What") else "Juniper", "Read the label")


def test_it_says_that_it_is_planning_until_the_plan_is_there(house: House) -> None:
    """With script a line says so while the page is on its way, here for ever; it is not seen before."""
    page = house.device()
    page.goto(f"{house.address}/plans/new")
    expect(page.locator("#looking")).to_be_hidden()
    page.evaluate("document.addEventListener('submit', (event) => event.preventDefault())")
    page.locator("main form button.button-main").click()
    expect(page.locator("#looking")).to_be_in_viewport()


def test_without_script_the_plan_is_there_when_it_is_ready(house: House) -> None:
    page = house.device(java_script_enabled=False)
    make_a_plan(page, house)
    assert "How good it is" in page.locator("main").inner_text()
