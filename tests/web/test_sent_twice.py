"""Promise: a form that is sent twice (a second tap, or back and send again) is carried out once, and answered as the first time.

Nothing is doubled, and no device is told that another one was faster. What another device changed meanwhile is still seen.
"""

from datetime import date, timedelta
from typing import Any

import pytest

from tests.web.kitchen.plans import planned
from tests.web.kitchens import OURS, Browser, Kitchen
from tests.web.reading import Page

STORED = ("children", "foods", "recipes", "offers", "packets", "prices", "lunches", "plans", "stock", "school-days")
BAR = {"name": "choc bar", "serving": {"name": "bar", "grams": 30}, "facts": {"energy_kcal": 150}}
HUMMUS = {"food": "hummus", "ingredients": "chickpeas, tahini"}


def stored(browser: Browser) -> dict[str, Any]:
    """All that is stored, with the versions."""
    return {one: browser.client.get(f"/v1/{one}?limit=200").json()["items"] for one in STORED}


def sent_twice(browser: Browser, page: Page, action: str, button: str = "", **typed: Any) -> Page:
    """The answer to the second of two like forms; the first one changed something, the second one nothing."""
    form = next(one for one in page.forms if one.method == "post" and one.action.startswith(action))
    data = form.data(button, **typed)
    before = stored(browser)
    first = browser.client.post(form.action, data=data, headers=OURS)
    assert first.status_code == 200, first.text[-2000:]
    between = stored(browser)
    assert between != before
    browser.last = browser.client.post(form.action, data=data, headers=OURS)
    assert browser.last.status_code == 200, browser.last.text[-2000:]
    assert browser.last.url == first.url
    assert stored(browser) == between
    return Page(browser.last.text)


@pytest.fixture
def offer(kitchen: Kitchen) -> str:
    """The address of an offer that no day has."""
    groups = [
        {"id": "main", "items": [{"food": "sandwich-cheese"}, {"food": "sandwich-ham"}]},
        {"id": "fruit", "items": [{"food": "apple"}, {"food": "pear"}]},
    ]
    return "/set-out/" + kitchen.keep("offers", {"name": "for a walk", "groups": groups})


@pytest.mark.parametrize(
    ("action", "typed"),
    [
        ("rename", {"name": "for a hike"}),
        ("amount", {"quantity": "2"}),
        ("take", {"at_least": "1", "at_most": "2"}),
        ("rename-group", {"name": "bread"}),
        ("remove", {}),
        ("remove-group", {}),
        ("rule", {"with": "main~sandwich-ham", "then_group": "fruit", "at_least": "2", "at_most": "2"}),
        ("discard", {}),
    ],
)
def test_a_change_of_an_offer(kitchen: Kitchen, offer: str, action: str, typed: dict[str, Any]) -> None:
    browser = kitchen.browser()
    sent_twice(browser, browser.get(offer), f"{offer}/{action}", **typed)


def test_a_food_more_in_an_offer(kitchen: Kitchen, offer: str) -> None:
    browser = kitchen.browser()
    sent_twice(browser, browser.get(f"{offer}?into=fruit&q=banana"), f"{offer}/add", "banana")


@pytest.mark.parametrize(
    ("collection", "body", "field"),
    [("foods", BAR, "name"), ("children", None, "nickname"), ("packets", HUMMUS, "ingredients")],
)
def test_an_edit_and_a_removal(
    kitchen: Kitchen, on: date, collection: str, body: dict[str, Any] | None, field: str
) -> None:
    kept: dict[str, Any] | None = {**body, "read_on": on.isoformat()} if collection == "packets" and body else body
    one = f"/{collection}/" + (kitchen.children["Rowan"] if kept is None else kitchen.keep(collection, kept))
    browser = kitchen.browser()
    if collection == "packets":
        page = browser.send(browser.get(f"{one}/edit"), f"{one}/edit", "Show", ingredients="chickpeas, salt")
        sent_twice(browser, page, f"{one}/edit", "Save")
    else:
        sent_twice(browser, browser.get(one), one, **{field: "another"})
    sent_twice(browser, browser.get(f"{one}/remove"), f"{one}/remove")


def test_a_dish(kitchen: Kitchen) -> None:
    browser = kitchen.browser()
    dish = next(address for address, words in browser.get("/dishes").links if words == "fruit salad")
    sent_twice(browser, browser.get(dish), dish, "Save", name="salad of fruit")


def test_what_stays_as_it_is_in_a_plan_and_its_removal(new_kitchen: Kitchen, on: date) -> None:
    plan = f"/plans/{planned(new_kitchen, on)}"
    browser = new_kitchen.browser()
    sent_twice(browser, browser.get(plan), f"{plan}/lock")
    sent_twice(browser, browser.get(f"{plan}/day/{on + timedelta(1)}"), f"{plan}/day/", school="no")
    sent_twice(browser, browser.get(plan), f"{plan}/remove")


def test_a_lunch_that_is_logged_corrected_and_came_back(kitchen: Kitchen, on: date) -> None:
    day, child = f"/week/{kitchen.children['Rowan']}/{on}", kitchen.children["Rowan"]
    browser = kitchen.browser()
    sent_twice(browser, browser.get(day), day, "Save this day", kind="bought", **{"menu-name": "pasta"})
    sent_twice(browser, browser.get(day), day, "Save this day", kind="packed", add=["apple", "sandwich-cheese"])
    week = browser.get(f"/week/{child}")
    sent_twice(browser, week, f"/week/{child}/came-back/{on}", **{"item-0": "half"})


def test_a_meal_of_the_school(kitchen: Kitchen, on: date) -> None:
    kitchen.forget_lunches(on)
    day = f"/bought/day/{on + timedelta(60)}"
    browser = kitchen.browser()
    sent_twice(browser, browser.get(day), day, name="pasta bake")
    sent_twice(browser, browser.get(day), day, name="pasta bake", contains="milk")
    sent_twice(browser, browser.get(day), day, name="")


def test_an_offer_that_is_made_or_copied_is_there_once(small_kitchen: Kitchen, on: date) -> None:
    """With no name typed, each of two would have found a name of its own."""
    browser = small_kitchen.browser()
    sent_twice(browser, browser.get("/start/foods"), "/start/foods", packs="2", hours="4", insulated="yes")
    assert len(stored(browser)["offers"]) == 1
    sent_twice(browser, browser.get("/set-out"), "/set-out/new")
    assert len(stored(browser)["offers"]) == 2


def of_another_device(kitchen: Kitchen, offer: str) -> None:
    theirs = kitchen.browser()
    theirs.send(theirs.get(offer), f"{offer}/rename-group", name="for a swim")


@pytest.mark.parametrize(
    ("action", "typed"),
    [("take", {"at_most": "2"}), ("remove", {}), ("remove-group", {}), ("rename-group", {"name": "rolls"})],
)
def test_what_another_device_changed_is_still_seen(
    kitchen: Kitchen, offer: str, action: str, typed: dict[str, Any]
) -> None:
    mine = kitchen.browser()
    page = mine.get(offer)
    of_another_device(kitchen, offer)
    both = mine.send(page, f"{offer}/{action}", status=409, **typed)
    assert "This was changed on another device meanwhile" in both.text
    assert "for a swim" in both.text
