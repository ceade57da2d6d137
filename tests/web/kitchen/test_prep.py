"""A plan's prep days: the order with cleanings, amounts in either units, where it goes; made once, and taken back."""

from datetime import date
from typing import Any

import pytest

from tests.web.kitchen.plans import SALAD, SANDWICH, day, planned, stock_of
from tests.web.kitchens import Browser, Kitchen
from tests.web.reading import Page


@pytest.fixture
def prep(new_kitchen: Kitchen, on: date) -> str:
    """The address of the prep days of a plan."""
    return f"/plans/{planned(new_kitchen, on)}/prep"


def batch(page: Page, food: str, action: str = "/prep/made") -> dict[str, Any]:
    """The form of a batch as it stands."""
    forms = [one for one in page.forms if one.action.endswith(action)]
    return next(one.data() for one in forms if food in dict(one.fields)["line"])


def test_the_sheet_says_what_how_much_and_where_it_goes(new_kitchen: Kitchen, prep: str) -> None:
    """450 g of apple: 300 g for 4 portions, 6 are made; a cup of slices weighs 109 g (usda-sr28 09003)."""
    page = new_kitchen.browser().get(prep)
    assert "Make 6 portions: fruit salad." in page.text
    assert "450 g apple" in page.text
    assert "About 25 minutes" in page.text
    assert "Not for Birch: peanut." in page.text
    assert "4 portions: in the freezer 2 portions: in the fridge" in page.text
    assert "To keep apple from browning" in page.text
    assert "[Cold food storage chart]" in page.text
    assert page.text.index("fruit salad. About") < page.text.index("peanut butter sandwich. Not")  # peanut comes last


def test_the_units_are_kept_in_the_address(new_kitchen: Kitchen, prep: str) -> None:
    browser = new_kitchen.browser()
    assert prep + "?units=us" in {link for link, _words in browser.get(prep).links}
    page = browser.get(prep + "?units=us")
    assert "4 1/4 cups (slices) apple" in page.text
    assert batch(page, SANDWICH)["units"] == ["us"]
    assert "450 g apple" in browser.get(prep + "?units=stone").text


def test_made_puts_the_portions_where_they_go_once(new_kitchen: Kitchen, prep: str) -> None:
    first, second = new_kitchen.browser(), new_kitchen.browser()
    salad = new_kitchen.children[SALAD]
    one, other = batch(first.get(prep), salad), batch(second.get(prep), salad)
    for browser, data in ((first, one), (first, one), (second, other)):
        answer = browser.client.post(
            prep + "/made", data={**data, "note": "small boxes"}, headers={"Sec-Fetch-Site": "same-origin"}
        )
        assert answer.status_code == 200
    made = sorted((one["place"], one["portions"], one["note"]) for one in stock_of(first) if one["food"] == salad)
    assert made == [("freezer", 4, "small boxes"), ("fridge", 2, "small boxes")]
    page = first.get(prep)
    assert "✓ made" in page.text
    back = batch(page, salad, "/prep/not-made")
    for _twice in range(2):
        first.client.post(prep + "/not-made", data=back, headers={"Sec-Fetch-Site": "same-origin"})
    assert [one for one in stock_of(first) if one["food"] == salad] == []
    assert "✓ made" not in first.get(prep).text


def test_a_portion_and_a_half_is_read_alike_wherever_it_is_told(new_kitchen: Kitchen, on: date) -> None:
    """By hand: a quarter of a batch of 6; 300 g of apple for 4 portions are 112.5 g for one and a half, told as 110 g; the half has a label, too."""
    plan = f"/plans/{planned(new_kitchen, on, batches=0.25)}"
    browser, salad = new_kitchen.browser(), new_kitchen.children[SALAD]
    assert "¼ batch of fruit salad, 1.5 portions: 0.5 to the freezer, 1 to the fridge" in browser.get(plan).text
    page = browser.get(plan + "/prep")
    assert "Make 1.5 portions: fruit salad." in page.text
    assert "110 g apple" in page.text
    fields = dict(browser.get(plan + "/labels").form(plan + "/labels.pdf").fields)
    assert sum(int(value) for name, value in fields.items() if salad in name) == 2
    browser.client.post(plan + "/prep/made", data=batch(page, salad), headers={"Sec-Fetch-Site": "same-origin"})
    assert sum(one["portions"] for one in stock_of(browser) if one["food"] == salad) == 1.5


def test_a_day_is_kept_as_a_pdf_on_either_paper(new_kitchen: Kitchen, on: date, prep: str) -> None:
    browser = new_kitchen.browser()
    for paper, size in (("a4", b"595.2756 841.8898"), ("letter", b"612 792")):
        answer = browser.client.get(f"{prep}/{on.isoformat()}.pdf", params={"paper": paper})
        assert answer.headers["content-type"] == "application/pdf"
        assert answer.content.startswith(b"%PDF-")
        assert size in answer.content
    assert browser.client.get(f"{prep}/2020-01-01.pdf").status_code == 404


def test_a_plan_that_makes_nothing_says_so(new_kitchen: Kitchen, on: date) -> None:
    plan = planned(new_kitchen, on, "nothing made", dishes=[], prep_days=[])
    assert "Nothing is made ahead in this plan" in new_kitchen.browser().get(f"/plans/{plan}/prep").text


def test_whoever_packs_sees_it_and_makes_nothing(new_kitchen: Kitchen, prep: str) -> None:
    page = new_kitchen.browser("pack").get(prep)
    assert [one.action for one in page.forms if one.method == "post"] == ["/language"]


def left_of(browser: Browser) -> dict[str, float]:
    """Grams in the stock by food."""
    found: dict[str, float] = {}
    for one in stock_of(browser):
        found[one["food"]] = round(found.get(one["food"], 0) + one["grams"], 3)
    return found


def test_a_batch_takes_what_is_in_it_and_gives_it_back(new_kitchen: Kitchen, on: date, prep: str) -> None:
    """By hand: 6 portions of a dish of 300 g apple and 150 g clementine for 4 are 450 g and 225 g; of clementines 200 g are there."""
    browser, salad = new_kitchen.browser(), new_kitchen.children[SALAD]
    bought = {"place": "fridge", "bought_on": on.isoformat(), "portion_grams": 100}
    new_kitchen.keep("stock", {**bought, "food": "apple", "portions": 3, "printed_date": day(on, 2)})
    new_kitchen.keep("stock", {**bought, "food": "apple", "portions": 4, "printed_date": day(on, 1)})
    new_kitchen.keep("stock", {**bought, "food": "clementine", "portions": 2})
    new_kitchen.keep("stock", {**bought, "food": "pear", "portions": 2})
    listed = browser.get(prep.replace("prep", "shopping")).text

    data, same = batch(browser.get(prep), salad), {"Sec-Fetch-Site": "same-origin"}
    for _twice in range(2):
        browser.client.post(prep + "/made", data=data, headers=same)
    left = left_of(browser)
    assert (left["apple"], left.get("clementine"), left["pear"]) == (250, None, 200)
    assert [one["printed_date"] for one in stock_of(browser) if one["food"] == "apple"] == [day(on, 2)]
    text = browser.get(prep).text
    assert "Taken from the stock for it: 450 g apple and 200 g clementine." in text
    assert "clementine: 25 g more went in than the stock had. Count what is there again." in text
    assert browser.get(prep.replace("prep", "shopping")).text == listed  # the plan needs it still
    ids = {one["place"] if one["food"] == salad else one["food"]: one["id"] for one in stock_of(browser)}
    assert (
        "4 added. Taken from the stock for it: 300 g apple and 150 g clementine."
        in browser.get(f"/stock/{ids['freezer']}").text
    )
    assert "used for a dish" in browser.get(f"/stock/{ids['apple']}").text

    browser.client.post(prep + "/not-made", data=batch(browser.get(prep), salad, "/prep/not-made"), headers=same)
    assert left_of(browser) == {"apple": 700, "clementine": 200, "pear": 200}
    assert "Taken from the stock" not in browser.get(prep).text
    assert "put back, as the dish was not made" in browser.get(f"/stock/{ids['apple']}").text


def test_what_was_eaten_of_a_batch_keeps_what_went_into_it(new_kitchen: Kitchen, on: date, prep: str) -> None:
    """By hand: of 6 portions with 450 g of apple in them 3 are gone; 225 g come back."""
    browser, salad = new_kitchen.browser(), new_kitchen.children[SALAD]
    new_kitchen.keep(
        "stock", {"food": "apple", "place": "fridge", "bought_on": on.isoformat(), "portions": 5, "portion_grams": 100}
    )
    same = {"Sec-Fetch-Site": "same-origin"}
    browser.client.post(prep + "/made", data=batch(browser.get(prep), salad), headers=same)
    frozen = next(one for one in stock_of(browser) if one["place"] == "freezer")
    answer = browser.client.post(
        f"/v1/stock/{frozen['id']}/events",
        json={"event": "taken", "portions": 3},
        headers={**same, "If-Match": f'"{frozen["version"]}"'},
    )
    assert answer.status_code == 201, answer.text
    browser.client.post(prep + "/not-made", data=batch(browser.get(prep), salad, "/prep/not-made"), headers=same)
    assert left_of(browser) == {"apple": 275}


def test_what_was_counted_since_is_not_put_back(new_kitchen: Kitchen, on: date, prep: str) -> None:
    browser, salad = new_kitchen.browser(), new_kitchen.children[SALAD]
    new_kitchen.keep(
        "stock", {"food": "apple", "place": "fridge", "bought_on": on.isoformat(), "portions": 5, "portion_grams": 100}
    )
    same = {"Sec-Fetch-Site": "same-origin"}
    browser.client.post(prep + "/made", data=batch(browser.get(prep), salad), headers=same)
    apple = next(one for one in stock_of(browser) if one["food"] == "apple")
    answer = browser.client.post(
        f"/v1/stock/{apple['id']}/events",
        json={"event": "counted", "portions": 4},
        headers={**same, "If-Match": f'"{apple["version"]}"'},
    )
    assert answer.status_code == 201, answer.text
    browser.client.post(prep + "/not-made", data=batch(browser.get(prep), salad, "/prep/not-made"), headers=same)
    assert left_of(browser) == {"apple": 400}
