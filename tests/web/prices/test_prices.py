"""The pages of the prices: money as people write it, the newest first, faults, rights, a conflict."""

import pytest

from tests.web.kitchens import OURS, Browser, Kitchen

NASTY = "<script>alert(1)</script>\u202eneb"
APPLES = {"amount": "3.29", "currency": "usd", "grams": "1,360", "from": "2026-01-05"}


def give(browser: Browser, food: str = "apple", status: int = 200, **typed: str) -> None:
    """Give a price through the form."""
    browser.send(browser.get(f"/prices/new?food={food}"), "/prices/new", status=status, **{**APPLES, **typed})


def kept(browser: Browser) -> list[dict]:
    """All prices that are stored."""
    return browser.client.get("/v1/prices").json()["items"]


def test_a_price_is_given_and_the_currency_remembered(small_kitchen: Kitchen) -> None:
    browser = small_kitchen.browser()
    assert "No price has been entered yet." in browser.get("/prices").text
    found = browser.send(browser.get("/prices"), "/prices", q="apple")
    assert "/prices/new?food=apple" in {href for href, _words in found.links}
    give(browser)
    assert (kept(browser)[0]["amount_minor"], kept(browser)[0]["pack_grams"]) == (329, 1360)
    page = browser.get("/prices")
    assert "$3.29 for 1,360 g, since Mon 5 Jan" in page.text
    assert "Prices of 1 thing" in page.text
    assert ("currency", "USD") in browser.get("/prices/new").form("/prices/new").fields


@pytest.mark.parametrize(
    ("typed", "currency", "minor"),
    [("3,10", "EUR", 310), ("1.250,5", "EUR", 125050), ("310", "JPY", 310), ("0", "GBP", 0)],
)
def test_money_is_read_as_people_write_it(small_kitchen: Kitchen, typed: str, currency: str, minor: int) -> None:
    browser = small_kitchen.browser()
    give(browser, "school_meal", amount=typed, currency=currency)
    assert [(one["what"], one["amount_minor"]) for one in kept(browser)] == [("school_meal", minor)]


def test_a_form_that_is_sent_twice_keeps_one_price(small_kitchen: Kitchen) -> None:
    browser = small_kitchen.browser()
    page = browser.get("/prices/new?food=apple")
    for _twice in range(2):
        browser.send(page, "/prices/new", **APPLES)
    assert len(kept(browser)) == 1


def test_the_newest_price_of_each_thing_stands_first(kitchen: Kitchen) -> None:
    page = kitchen.browser().get("/prices")
    assert page.text.index("School meal $3.10, since") < page.text.index("$2.95, since")
    assert page.text.index("$3.29 for 1,360 g") < page.text.index("$2.99 for 1,360 g")
    assert "1 older price" in page.text


def test_faults_stand_at_their_fields_and_what_was_typed_stays(small_kitchen: Kitchen) -> None:
    browser = small_kitchen.browser()
    wrong = {"amount": "three", "currency": "dollars", "grams": "", "from": "tomorrow"}
    page = browser.send(browser.get("/prices/new?food=apple"), "/prices/new", status=422, **wrong)
    assert {"#amount", "#currency", "#grams", "#from"} <= {href for href, _words in page.links}
    assert set(wrong.items()) <= set(page.form("/prices/new").fields)
    give(browser, status=422, amount="3.299")
    give(browser)
    give(browser, status=422)
    browser.get("/prices/new?food=no-such-food", 404)


def test_names_are_shown_as_text(small_kitchen: Kitchen) -> None:
    food = small_kitchen.keep("foods", {"name": "<script>alert(1)</script>", "serving": {"grams": 30}})
    browser = small_kitchen.browser()
    give(browser, food, grams="300")
    price = f"/prices/{kept(browser)[0]['id']}"
    for where in ("/prices", "/prices?q=script", price, f"/prices/new?food={food}"):
        assert "<script>alert" not in browser.get(where).html
    page = browser.send(browser.get(price), price, status=422, currency="<b>", amount=NASTY)
    assert "<script>alert" not in page.html


def test_an_edit_that_was_overtaken_shows_both_and_can_be_saved_again(small_kitchen: Kitchen) -> None:
    mine, theirs = small_kitchen.browser(), small_kitchen.browser()
    give(mine)
    price = f"/prices/{kept(mine)[0]['id']}"
    page = mine.get(price)
    theirs.send(theirs.get(price), price, amount="3,49")
    both = mine.send(page, price, status=409, amount="3.59")
    assert "Yours 3.59 There now 3.49" in both.text
    mine.send(both, price)
    assert kept(mine)[0]["amount_minor"] == 359
    mine.send(mine.get(price), f"{price}/remove")
    assert kept(mine) == []


@pytest.mark.parametrize(("rights", "see"), [("pack", 200), ("take", 403)])
def test_other_devices_see_or_see_nothing_and_change_nothing(kitchen: Kitchen, rights: str, see: int) -> None:
    price = f"/prices/{kept(kitchen.browser())[0]['id']}"
    browser = kitchen.browser(rights, kitchen.children["Rowan"] if rights == "take" else None)
    page = browser.get("/prices", see)
    assert not any(form.action.startswith("/prices") for form in page.forms)
    assert not any(href.startswith("/prices/") for href, _words in page.links)
    token = next(value for name, value in page.forms[-1].fields if name == "token")
    for address in ("/prices/new", price, f"{price}/remove"):
        assert browser.client.post(address, data={"token": token, **APPLES}, headers=OURS).status_code == 403


def test_a_food_of_the_tables_is_called_as_on_the_shopping_list_with_the_name_of_the_table_beside(
    small_kitchen: Kitchen,
) -> None:
    """SR 28 calls food 11124 "Carrots, raw"; the shopping list calls it by the lunch food's name."""
    browser = small_kitchen.browser()
    found = browser.send(browser.get("/prices"), "/prices", q="carrots, raw")
    assert "carrot, raw Carrots, raw" in found.text
    form = browser.get("/prices/new?food=sr28-11124")
    assert "Price of carrot, raw" in form.text
    give(browser, "sr28-11124")
    page = browser.get("/prices").text
    assert page.index("carrot, raw") < page.index("Carrots, raw") < page.index("$3.29")
    give(browser)  # a lunch food has one name
    assert page.count("Carrots, raw") == 1


def test_packs_of_two_weights_stand_side_by_side_and_one_that_is_sold_no_more_is_ended(small_kitchen: Kitchen) -> None:
    browser = small_kitchen.browser()
    give(browser)
    page = browser.get("/prices/new?food=apple")
    assert "$3.29 for 1,360 g" in page.text  # and what to do where that pack is no longer sold
    assert f"/prices/{kept(browser)[0]['id']}" in {href for href, _words in page.links}
    give(browser, grams="500", amount="1.50", **{"from": "2026-02-02"})
    page = browser.get("/prices")
    assert page.text.index("$1.50 for 500 g, since Mon 2 Feb") < page.text.index("$3.29 for 1,360 g, since Mon 5 Jan")
    assert "older price" not in page.text
    assert "Prices of 1 thing" in page.text
    price = f"/prices/{next(one['id'] for one in kept(browser) if one['pack_grams'] == 500)}"
    wrong = browser.send(browser.get(price), price, status=422, until="2026-02-01")
    assert "#until" in {href for href, _words in wrong.links}
    browser.send(browser.get(price), price, until="2026-03-01")
    assert "$1.50 for 500 g, since Mon 2 Feb, ended on Sun 1 Mar" in browser.get("/prices").text
    assert ("until", "2026-03-01") in browser.get(price).form(price).fields
    browser.send(browser.get(price), price, until="", grams="450")  # the maker's pack has shrunk
    assert sorted((one["pack_grams"], one["until"]) for one in kept(browser)) == [(450, None), (1360, None)]


def test_a_price_in_another_currency_is_marked_and_the_others_of_the_food_are_not(small_kitchen: Kitchen) -> None:
    browser = small_kitchen.browser()
    give(browser)
    give(browser, "pear")
    give(browser, grams="500", currency="EUR", **{"from": "2025-12-01"})
    assert browser.get("/prices").text.count("Most of your prices are in USD") == 1


def test_the_last_day_is_asked_for_and_shown_in_spanish(small_kitchen: Kitchen) -> None:
    browser = small_kitchen.browser()
    give(browser, "school_meal", until="2026-06-19")
    browser.send(browser.get("/care"), "/language", language="es")
    assert "terminó el vie 19 jun" in browser.get("/prices").text
    assert "Último día, si termina" in browser.get("/prices/new").text
    assert "El último día no puede ser anterior al primero" in browser.send(
        browser.get("/prices/new"), "/prices/new", status=422, amount="1", currency="USD", until="2020-01-01"
    ).text  # fmt: skip
