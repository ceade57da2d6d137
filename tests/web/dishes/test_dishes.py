"""The pages of the dishes: put together by searching, what a portion comes to, faults, rights, a conflict."""

import pytest

from tests.web.kitchens import OURS, Browser, Kitchen
from tests.web.reading import Page

NASTY = "<script>alert(1)</script>\u202eneb"


def press(browser: Browser, page: Page, button: str, status: int = 200, **typed: str) -> Page:
    """Send the dish's form by a button that begins so."""
    return browser.send(page, "/dishes/", button, status, **typed)


def add_fruit(browser: Browser, name: str = "fruit cup") -> str:
    """The address of a dish of two apples and 100 g of banana, for two."""
    page = press(browser, browser.get("/dishes/new"), "Find", name=name, portions="2", search="apple")
    page = press(browser, page, "Add apple")
    page = press(browser, page, "Find", **{"amount-0": "2", "search": "banana"})
    page = press(browser, page, "Add banana")
    page = press(browser, page, "Save", **{"amount-1": "100", "unit-1": "g"})
    return browser.address


def kept(browser: Browser, address: str) -> dict:
    """What is stored of a dish."""
    return browser.client.get(f"/v1/recipes/{address.rpartition('/')[2]}").json()


def test_a_dish_is_put_together_from_foods_in_household_measures(small_kitchen: Kitchen) -> None:
    browser = small_kitchen.browser()
    assert "You have no dishes yet." in browser.get("/dishes").text
    address = add_fruit(browser)
    # USDA SR28: a medium apple weighs 182 g.
    foods = [(one["food"], one["grams"]) for one in kept(browser, address)["ingredients"]]
    assert foods == [("apple", 364.0), ("banana", 100.0)]
    page = browser.get(address)
    assert "A portion is about 232 g." in page.text
    assert "Counts as fruit." in page.text
    assert "1 dish" in browser.get("/dishes").text
    assert "fruit cup" in browser.get("/dishes?q=fruit").text
    assert "None of your dishes has “soup”" in browser.get("/dishes?q=soup").text


def test_an_ingredient_is_taken_out_and_a_dish_can_boil_down(small_kitchen: Kitchen) -> None:
    browser = small_kitchen.browser()
    address = add_fruit(browser)
    page = press(browser, browser.get(address), "Save", **{"out-1": "yes", "weighs": "273"})
    assert [one["food"] for one in kept(browser, address)["ingredients"]] == ["apple"]
    assert kept(browser, address)["weight_change_percent"] == -25
    press(browser, page, "Save", name="stewed apple")
    assert kept(browser, address)["weight_change_percent"] == -25


def test_allergens_come_from_its_ingredients_and_packets_are_named(kitchen: Kitchen) -> None:
    asked = {"nickname": "Ash", "standard": "us-school-lunch", "age_group": "grades-k-5"}
    kitchen.keep("children", {**asked, "avoids": [{"allergen": "sesame"}]})
    dish = kitchen.keep(
        "recipes",
        {"name": "toast", "ingredients": [{"food": "bread-rye", "grams": 60}, {"food": "butter", "grams": 10}]},
    )
    page = kitchen.browser().get(f"/dishes/{dish}")
    assert "Allergens in it:" in page.text
    assert "milk" in page.text
    assert any(href == "/packets/new?food=bread-rye" and "Ash" in words for href, words in page.links)


def test_faults_stand_at_their_fields_and_what_was_typed_stays(small_kitchen: Kitchen) -> None:
    browser = small_kitchen.browser()
    page = press(browser, browser.get("/dishes/new"), "Save", 422, name="", portions="some")
    assert {"#name", "#portions", "#search"} <= {href for href, _words in page.links}
    assert ("portions", "some") in page.form("/dishes/new").fields
    address = add_fruit(browser)
    page = press(browser, browser.get(address), "Save", 422, **{"amount-0": "two"})
    assert any(href == "#amount-0" for href, _words in page.links)
    assert ("amount-0", "two") in page.form(address).fields
    page = press(browser, browser.get(address), "Save", 422, weighs="0")
    assert any(href == "#weighs" for href, _words in page.links)
    nothing = press(browser, browser.get("/dishes/new"), "Find", search="zzzzzz")
    assert "No food was found for “zzzzzz”." in nothing.text


@pytest.mark.parametrize(
    "food", ["{", "{01900000-0000-7000-8000-000000000003}", "{}", '{"name": "oats"}', "[]", '{"name": 1e999}']
)
def test_an_ingredient_that_is_no_food_is_told(small_kitchen: Kitchen, food: str) -> None:
    """Neither an id that is known nor a label in full; nothing is changed."""
    browser = small_kitchen.browser()
    address = add_fruit(browser)
    page = press(browser, browser.get(address), "Save", 422, **{"food-0": food})
    assert "Something went wrong here" not in page.text
    assert [one["food"] for one in kept(browser, address)["ingredients"]] == ["apple", "banana"]
    press(browser, browser.get(address), "Find", 200, **{"food-0": food, "search": "pear"})


def test_names_are_shown_as_text(small_kitchen: Kitchen) -> None:
    browser = small_kitchen.browser()
    address = add_fruit(browser, NASTY)
    for where in (address, "/dishes", f"{address}/remove"):
        assert "<script>alert" not in browser.get(where).html
    assert "<bdi>&lt;script&gt;" in browser.get("/dishes").html


def test_an_edit_that_was_overtaken_shows_both_and_can_be_saved_again(small_kitchen: Kitchen) -> None:
    mine, theirs = small_kitchen.browser(), small_kitchen.browser()
    address = add_fruit(mine)
    page = mine.get(address)
    press(theirs, theirs.get(address), "Save", portions="5")
    both = press(mine, page, "Save", 409, portions="3")
    assert "Yours 3 There now 5" in both.text
    press(mine, both, "Save")
    assert kept(mine, address)["portions"] == 3


def test_a_dish_in_use_is_not_removed_another_is(kitchen: Kitchen) -> None:
    browser = kitchen.browser()
    pot = next(href for href, words in browser.get("/dishes").links if words == "rice and bean pot")
    browser.send(browser.get(f"{pot}/remove"), f"{pot}/remove", status=409)
    address = add_fruit(browser)
    browser.send(browser.get(f"{address}/remove"), f"{address}/remove")
    assert browser.address == "/dishes"
    browser.get(address, 404)


@pytest.mark.parametrize(("rights", "see"), [("pack", 200), ("take", 403)])
def test_other_devices_see_or_see_nothing_and_change_nothing(kitchen: Kitchen, rights: str, see: int) -> None:
    pot = next(href for href, words in kitchen.browser().get("/dishes").links if words == "rice and bean pot")
    browser = kitchen.browser(rights, kitchen.children["Rowan"] if rights == "take" else None)
    for address in ("/dishes", pot):
        page = browser.get(address, see)
        assert not any(form.method == "post" and form.action.startswith("/dishes") for form in page.forms)
    token = next(value for name, value in page.forms[-1].fields if name == "token")
    for address in ("/dishes/new", pot, f"{pot}/remove"):
        assert browser.client.post(address, data={"token": token, "do": "save"}, headers=OURS).status_code == 403
