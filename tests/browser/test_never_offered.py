"""Law: whatever is set out and whatever is tapped, no tile of a child's page is a food that names what it must not have.

Drawn at random with a fixed seed: the offers, what the child avoids, and the taps. ``tests/web/taking`` holds the same of
many more offers without a browser.
"""

import json
import random

import pytest
from playwright.sync_api import Page

from service.jobs.household.access.households import today
from service.jobs.household.kinds import CHILDREN
from service.jobs.household.records import edit_record
from tests.browser.houses import House
from tests.web.taking.naming import AVOIDED, named, telling

ROUNDS = 6
CLEAR = "apple"
"""A food that names nothing, put into each offer: it is there, so the page is not just empty."""


def avoid(house: House, child: str, allergens: list[str]) -> None:
    """What the child must not have from now on."""
    parts = json.dumps({"avoids": [{"allergen": one} for one in allergens]}).encode()
    kitchen = house.kitchen
    with kitchen.store.writing() as connection:
        edit_record(connection, CHILDREN, kitchen.id, kitchen.children[child], lambda _version: None, parts, None)


def tiles(page: Page) -> set[str]:
    """The foods of all tiles that are there now, dimmed or not."""
    values = page.locator("button.tile").evaluate_all("all => all.map((one) => one.value)")
    return {str(value).split("~")[1] for value in values}


@pytest.mark.parametrize("seed", [1, 2])
def test_what_a_child_must_not_have_never_comes_onto_its_page(house: House, seed: int) -> None:
    chance = random.Random(seed)  # noqa: S311 - what is set out is no secret
    page = house.device("take", house.kitchen.children["Rowan"])
    left_out = 0
    for turn in range(ROUNDS):
        page.goto("about:blank")  # a page that is open loads itself anew for each change that follows
        avoided = set(chance.sample(AVOIDED, chance.randint(1, 3)))
        avoid(house, "Rowan", sorted(avoided))
        groups = [chance.sample(telling(), chance.randint(3, 8)) for _group in range(chance.randint(1, 3))]
        naming = [food for food in telling() if named()[food] & avoided]
        groups[0] = list(dict.fromkeys([CLEAR, *groups[0], *chance.sample(naming, min(3, len(naming)))]))
        forbidden = {food for foods in groups for food in foods if named()[food] & avoided}
        left_out += len(forbidden)
        name = f"offer {turn}"
        house.kitchen.keep("offers", {"name": name, "groups": [
            {"id": f"group {place}", "items": [{"food": food} for food in foods], "take": {"at_least": 0, "at_most": 2}}
            for place, foods in enumerate(groups)
        ]})  # fmt: skip
        house.kitchen.set_out(name, today())
        page.goto(house.address + "/")
        for _tap in range(3):
            shown = tiles(page)
            assert not shown & forbidden, (avoided, shown & forbidden)
            assert CLEAR in shown
            can = page.locator("button.tile:enabled")
            tapped = can.nth(chance.randrange(can.count()))
            before = page.url
            tapped.click()
            page.wait_for_url(lambda url, before=before: url != before)  # it holds what is taken
        assert not tiles(page) & forbidden
    assert left_out >= 3 * ROUNDS  # so many could have been there
