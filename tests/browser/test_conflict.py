"""Promise: of two edits of one thing on two devices both are shown, what was typed is kept, and either can be had."""

import pytest
from playwright.sync_api import Page, expect

from tests.browser.houses import House
from tests.browser.taking import lunch, take_one_of_each

MINE, THEIRS = "all that wobbles", "all that is green"


def saved(page: Page) -> None:
    """Save the form, and wait for what it is answered with."""
    with page.expect_navigation():
        page.get_by_role("button", name="Save").click()


@pytest.mark.parametrize("choice", ["mine", "theirs"])
def test_a_child_that_was_changed_on_another_device_meanwhile(house: House, choice: str) -> None:
    where = f"{house.address}/children/{house.kitchen.children['Rowan']}"
    mine, theirs = house.device(), house.device()
    for page in (mine, theirs):
        page.goto(where)
    theirs.locator("#dislikes").fill(THEIRS)
    saved(theirs)
    mine.locator("#dislikes").fill(MINE)
    mine.locator("#vegetarian").check()
    saved(mine)
    both = mine.locator("#conflict")
    expect(both).to_be_focused()
    expect(both).to_contain_text(MINE)
    expect(both).to_contain_text(THEIRS)
    expect(mine.locator("#dislikes")).to_have_value(MINE)
    expect(mine.locator("#vegetarian")).to_be_checked()
    if choice == "mine":
        saved(mine)
        expect(mine.locator("#conflict")).to_have_count(0)
        expect(mine.locator("#dislikes")).to_have_value(MINE)
    else:
        both.get_by_role("link", name="Keep what is there now").click()
        expect(mine.locator("#conflict")).to_have_count(0)
        expect(mine.locator("#dislikes")).to_have_value(THEIRS)
    stored = house.device()
    stored.goto(where)
    expect(stored.locator("#dislikes")).to_have_value({"mine": MINE, "theirs": THEIRS}[choice])


def test_a_day_that_was_logged_on_another_device_meanwhile(house: House) -> None:
    """What was typed stands below what is there now, and is kept by pressing once more."""
    rowan = house.kitchen.children["Rowan"]
    mine, theirs = house.device(), house.device("take", rowan)
    day = str(theirs.locator("input[name=day]").first.get_attribute("value"))
    mine.goto(f"{house.address}/week/{rowan}/{day}")
    mine.locator("input[name=take]").first.check()
    take_one_of_each(theirs, last=True)
    theirs.get_by_role("button", name="Done").click()
    expect(theirs.get_by_role("button", name="Change it")).to_be_visible()
    mine.get_by_role("button", name="Save this day").click()
    said = mine.get_by_role("alert")
    expect(said).to_contain_text("It now holds:")
    for name in theirs.locator("li.tile .tile-name").all_inner_texts():
        expect(said).to_contain_text(name.partition(",")[0])
    expect(mine.locator("input[name=take]:checked")).to_have_count(1)
    mine.get_by_role("button", name="Save this day").click()
    expect(mine.get_by_role("heading", name="Rowan: week of")).to_be_visible()
    stored = lunch(house, "Rowan")
    assert stored is not None
    assert len(stored["items"]) == 1
