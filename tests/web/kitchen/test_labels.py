"""Labels of a plan: chosen on a form, for what is made and for what is in the stock, in a language of their own."""

from datetime import date, timedelta
from io import BytesIO

import pytest
from babel.dates import format_date
from pypdf import PdfReader

from tests.web.kitchen.plans import PORTIONS, SALAD, SANDWICH, day, planned, stock_of
from tests.web.kitchens import Kitchen


@pytest.fixture
def labels(new_kitchen: Kitchen, on: date) -> str:
    """The address of the labels of a plan."""
    return f"/plans/{planned(new_kitchen, on)}/labels"


def test_a_label_for_each_portion_is_preset_and_comes_as_a_pdf(new_kitchen: Kitchen, on: date, labels: str) -> None:
    browser = new_kitchen.browser()
    page = browser.get(labels)
    form = page.form(labels + ".pdf")
    numbers = {name.rpartition(":")[2]: value for name, value in form.fields if new_kitchen.children[SALAD] in name}
    assert numbers == {"freezer": "4", "fridge": "2"}
    assert "A4, 3 across, 7 down, each 63.5 by 38 mm" in page.text
    answer = browser.client.get(form.action, params=form.data(sheet="a4-3x7", start="4", language="es"))
    assert answer.headers["content-type"] == "application/pdf"
    assert answer.headers["content-disposition"] == 'attachment; filename="labels.pdf"'


def test_what_goes_into_the_freezer_says_how_long_it_thaws(new_kitchen: Kitchen, on: date) -> None:
    """Rounded up: planned, in 21 hours for the 20 and a half of the plan; from the stock, in one for a quarter of an hour."""
    planned(new_kitchen, on)
    salad = new_kitchen.children[SALAD]
    thawing = {"food": salad, "batch_portions": PORTIONS, "fridge_days": 2, "thaw_hours": 20.5}
    dishes = [thawing, {"food": SANDWICH, "batch_portions": PORTIONS}]
    page = f"/plans/{planned(new_kitchen, on, 'thawing', dishes=dishes)}/labels"
    crumbs = {"name": "crumbs", "ingredients": [{"food": "apple", "grams": 9}], "portions": 1, "thaw_hours": 0.25}
    of_stock = {"food": new_kitchen.keep("recipes", crumbs), "place": "freezer", "portions": 1, "made_on": day(on, -1)}
    entry = new_kitchen.keep("stock", of_stock)
    browser = new_kitchen.browser()
    form = browser.get(page).form(page + ".pdf")
    only = {name: "" for name, _value in form.fields if name.startswith("of-") and salad not in name}
    answer = browser.client.get(form.action, params=form.data(**{**only, f"of-{entry}": "1"}))
    text = "".join(one.extract_text() for one in PdfReader(BytesIO(answer.content)).pages)
    assert [text.count(said) for said in (SALAD, "Thaw in the fridge: 21 hours", "Thaw in the fridge: 1 hour")] == [
        6,
        4,
        1,
    ]


def test_what_is_in_the_stock_can_be_labelled_and_what_is_over_cannot(
    new_kitchen: Kitchen, on: date, labels: str
) -> None:
    salad = new_kitchen.children[SALAD]
    kept = {"food": salad, "place": "freezer", "portions": 3}
    entry = new_kitchen.keep("stock", {**kept, "made_on": day(on, -1)})
    over = new_kitchen.keep("stock", {**kept, "place": "fridge", "made_on": day(on, -60)})
    fields = dict(new_kitchen.browser().get(labels).form(labels).fields)
    assert f"of-{entry}" in fields
    assert f"of-{over}" not in fields
    # The last day in the freezer may well be one of next year.
    assert f"made {format_date(on - timedelta(1), 'd MMMM y', 'en')}" in new_kitchen.browser().get(labels).text


def test_a_batch_that_was_made_is_labelled_from_the_stock(new_kitchen: Kitchen, on: date, labels: str) -> None:
    """With the code that leads to its entry; not a second time as something still to be made."""
    browser, salad = new_kitchen.browser(), new_kitchen.children[SALAD]
    prep = browser.get(labels.replace("labels", "prep"))
    form = next(one for one in prep.forms if salad in dict(one.fields).get("line", ""))
    browser.client.post(form.action, data=form.data(), headers={"Sec-Fetch-Site": "same-origin"})
    fields = dict(browser.get(labels).form(labels).fields)
    assert {f"of-{one['id']}" for one in stock_of(browser)} <= set(fields)
    assert not [one for one in fields if one.startswith("of-make:") and salad in one]


def test_faults_stand_at_their_fields(new_kitchen: Kitchen, labels: str) -> None:
    browser = new_kitchen.browser()
    form = browser.get(labels).form(labels + ".pdf")
    for typed, said in (
        ({"start": "99"}, "is not a position on a sheet of 8 labels"),
        ({"start": "two"}, "two is not a whole number."),
        ({"sheet": "a5"}, "Choose one of the sheets."),
        ({"language": "xx"}, "Choose one of the languages."),
        (dict.fromkeys((name for name, _value in form.fields if name.startswith("of-")), ""), "Type how many labels"),
    ):
        page = browser.client.get(form.action, params=form.data(**typed))
        assert page.status_code == 422, typed
        assert said in page.text, typed
        assert 'role="alert"' in page.text
