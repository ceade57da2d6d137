"""Two plans that are not over share what is at home: the one that begins first has what it needs of it, the later one what is left."""

import json
from datetime import date
from typing import Any

import pytest

from service.jobs.household.from_plan.planned import plan_stored
from tests.web.kitchen.plans import SALAD, SANDWICH, day, planned, stock_of
from tests.web.kitchens import Browser, Kitchen

SAME = {"Sec-Fetch-Site": "same-origin"}


def listed(browser: Browser, plan: str) -> dict[str, Any]:
    """The shopping list of a plan as data."""
    answer = browser.client.get(f"/plans/{plan}/shopping.json")
    assert answer.status_code == 200, answer.text
    found: dict[str, Any] = json.loads(answer.content)
    return found


def to_buy(reply: dict[str, Any], food: str) -> float:
    """Grams of a food that the list has, as they are eaten."""
    lines = [line for one in reply["days"] for kind in one["kinds"] for line in kind["lines"]]
    return round(sum(one["exact_grams"] for one in lines if one["id"].partition(":")[2] == food), 1)


def at_home(reply: dict[str, Any], food: str) -> float:
    """Grams of a food that the list counts as at home."""
    return round(sum(one["grams"] for one in reply["taken"] if one["food"] == food), 1)


def later_plan(kitchen: Kitchen, on: date, first: int = 8) -> str:
    """The same plan as ``planned``, some days later, with its batches made the day before."""
    days = [day(on, first + one) for one in range(3)]
    return planned(kitchen, on, f"later {first}", days=days)


def test_what_is_at_home_counts_for_one_plan_only(new_kitchen: Kitchen, on: date) -> None:
    """By hand: each plan makes 6 portions of 300 g apple for 4, 450 g. Of 600 g that are there the first takes 450, the later 150: 300 to buy."""
    new_kitchen.keep(
        "stock",
        {"food": "apple", "place": "cupboard", "bought_on": on.isoformat(), "portions": 6, "portion_grams": 100},
    )
    first = planned(new_kitchen, on)
    browser = new_kitchen.browser()
    alone = listed(browser, first)
    assert at_home(alone, "apple") == 450
    later = later_plan(new_kitchen, on)
    assert listed(browser, first) == alone
    reply = listed(browser, later)
    assert at_home(reply, "apple") == 150
    bought_for_eaten = to_buy(reply, "apple") / 300
    assert 1 <= bought_for_eaten < 1.2  # with the core
    assert any(one["code"] == "shopping.plan-first" for one in reply["note_messages"])
    assert (
        "comes first: what it needs of what is at home is not counted here"
        in browser.get(f"/plans/{later}/shopping").text
    )
    assert not any(one["code"] == "shopping.plan-first" for one in alone["note_messages"])
    own_page = browser.get(f"/plans/{later}").text
    assert "comes first: what it needs of what is at home is not counted here" in own_page
    assert "comes first" not in browser.get(f"/plans/{first}").text


def test_what_came_home_for_one_plan_is_not_at_home_for_the_other(new_kitchen: Kitchen, on: date) -> None:
    """Ticked, made and eaten: all the way through the later list stays as it was, but for what is bought beyond the need."""
    first = planned(new_kitchen, on)
    browser = new_kitchen.browser()
    later = later_plan(new_kitchen, on)
    before = listed(browser, later)
    assert at_home(before, "apple") == 0
    page = browser.get(f"/plans/{first}/shopping")
    tick = next(
        one.data() for one in page.forms if one.action.endswith("/bought") and "apple" in dict(one.fields)["line"]
    )
    browser.client.post(f"/plans/{first}/shopping/bought", data=tick, headers=SAME)
    bought = sum(one["grams"] for one in browser.client.get("/v1/stock").json()["items"] if one["food"] == "apple")
    assert bought >= 450
    over = round(bought - 450, 1)
    assert at_home(listed(browser, later), "apple") == over
    prep = browser.get(f"/plans/{first}/prep")
    salad = new_kitchen.children[SALAD]
    made = next(one.data() for one in prep.forms if one.action.endswith("/made") and salad in dict(one.fields)["line"])
    browser.client.post(f"/plans/{first}/prep/made", data=made, headers=SAME)
    assert at_home(listed(browser, later), "apple") == over
    assert to_buy(listed(browser, later), "pear") == to_buy(before, "pear")


def test_of_two_that_begin_on_one_day_the_first_stored_comes_first(new_kitchen: Kitchen, on: date) -> None:
    new_kitchen.keep(
        "stock",
        {"food": "pear", "place": "cupboard", "bought_on": on.isoformat(), "portions": 20, "portion_grams": 178},
    )
    first, second = planned(new_kitchen, on), planned(new_kitchen, on, "a trial")
    browser = new_kitchen.browser()
    needed = at_home(listed(browser, first), "pear")
    assert needed > 0
    left = 20 * 178 - needed
    assert at_home(listed(browser, second), "pear") == round(min(left, needed), 1)


def test_a_plan_that_is_over_needs_nothing(new_kitchen: Kitchen, on: date) -> None:
    new_kitchen.keep(
        "stock",
        {"food": "apple", "place": "cupboard", "bought_on": on.isoformat(), "portions": 6, "portion_grams": 100},
    )
    planned(new_kitchen, on, "over", days=[day(on, one) for one in (-9, -8, -7)], prep_days=[day(on, -10), day(on, 0)])
    browser = new_kitchen.browser()
    assert at_home(listed(browser, later_plan(new_kitchen, on)), "apple") == 450


def test_a_new_plan_is_given_what_others_leave(new_kitchen: Kitchen, on: date) -> None:
    """By hand: 20 pears of 178 g, of which the first plan needs some; 6 sandwiches that it made, of which it needs 3 for Ash."""
    first = planned(new_kitchen, on)
    new_kitchen.keep(
        "stock",
        {"food": "pear", "place": "cupboard", "bought_on": on.isoformat(), "portions": 20, "portion_grams": 178},
    )
    browser = new_kitchen.browser()
    needed = at_home(listed(browser, first), "pear")
    page = browser.get(f"/plans/{first}/prep")
    made = next(
        one.data() for one in page.forms if one.action.endswith("/made") and SANDWICH in dict(one.fields)["line"]
    )
    browser.client.post(f"/plans/{first}/prep/made", data=made, headers=SAME)
    portion = next(one["portion_grams"] for one in stock_of(browser) if one["food"] == SANDWICH)
    foods = {"pear", SANDWICH}
    offer = {"name": "either", "groups": [{"id": "all", "items": [{"food": one} for one in sorted(foods)]}]}
    asked = {
        "name": "from the offer",
        "days": [day(on, 8)],
        "children": [new_kitchen.children["Ash"]],
        "offers": [{"id": "either", "offer": new_kitchen.keep("offers", offer)}],
    }
    answer = browser.client.post("/v1/plans", json=asked, headers=SAME)
    assert answer.status_code == 201, answer.text
    stored = next(one for one in browser.client.get("/v1/plans").json()["items"] if one["name"] == "from the offer")
    stock = {one["food"]: one["grams"] for one in stored["asked"]["stock"]}
    assert stock["pear"] == 20 * 178 - needed
    with_sandwich = stock.get(SANDWICH, 0)
    assert with_sandwich == pytest.approx(6 * portion - sum(one["grams"] for one in needs_of(new_kitchen, first)))


def needs_of(kitchen: Kitchen, plan: str) -> list[dict[str, Any]]:
    """What a plan needs of its sandwiches."""
    with kitchen.store.reading() as connection:
        reply = plan_stored(connection, kitchen.id, plan).reply()
    return [one for one in reply["needs"] if one["food"] == SANDWICH]


def test_what_a_later_plan_buys_is_kept_for_it(new_kitchen: Kitchen, on: date) -> None:
    first, later = planned(new_kitchen, on), later_plan(new_kitchen, on)
    browser = new_kitchen.browser()
    before = listed(browser, first)
    page = browser.get(f"/plans/{later}/shopping")
    tick = next(
        one.data() for one in page.forms if one.action.endswith("/bought") and "apple" in dict(one.fields)["line"]
    )
    browser.client.post(f"/plans/{later}/shopping/bought", data=tick, headers=SAME)
    assert listed(browser, first) == before
    assert to_buy(listed(browser, later), "apple") == to_buy(before, "apple")


def test_the_list_of_a_later_plan_stays_as_its_batch_is_made_of_what_the_first_needs(
    new_kitchen: Kitchen, on: date
) -> None:
    """By hand: of 600 g of apple the first plan needs 450 and the later one counts 150; when it takes 450, the first has 300 more to buy."""
    new_kitchen.keep(
        "stock",
        {"food": "apple", "place": "cupboard", "bought_on": on.isoformat(), "portions": 6, "portion_grams": 100},
    )
    first, later = planned(new_kitchen, on), later_plan(new_kitchen, on)
    browser, salad = new_kitchen.browser(), new_kitchen.children[SALAD]
    before = listed(browser, later)
    page = browser.get(f"/plans/{later}/prep")
    made = next(one.data() for one in page.forms if one.action.endswith("/made") and salad in dict(one.fields)["line"])
    browser.client.post(f"/plans/{later}/prep/made", data=made, headers=SAME)
    assert at_home(before, "apple") == at_home(listed(browser, later), "apple") == 150
    assert at_home(listed(browser, first), "apple") == 150
