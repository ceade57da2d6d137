"""What a child does with its page, for tests that need a lunch to be taken."""

from datetime import date
from typing import Any

from playwright.sync_api import Page, expect

from service.jobs.household.access.households import today
from tests.browser.houses import House


def take_one_of_each(page: Page, *, last: bool = False) -> None:
    """Tap the first tile of each group that is not dimmed, or the last, and wait until the lunch can be finished."""
    groups = page.locator("fieldset.choice")
    expect(groups.first).to_be_visible()
    for place in range(groups.count()):
        tiles = groups.nth(place).locator("button.tile:enabled")
        (tiles.last if last else tiles.first).click()
        expect(groups.nth(place).locator("button[aria-pressed=true]")).to_have_count(1)
    expect(page.locator("#still")).to_have_text("You can finish now.")
    expect(page.get_by_role("button", name="Done")).to_be_enabled()


def lunch(house: House, child: str, on: date | None = None) -> dict[str, Any] | None:
    """What is logged of a child's day."""
    return house.kitchen.lunch(house.kitchen.children[child], on or today())
