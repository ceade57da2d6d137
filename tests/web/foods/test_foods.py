"""The pages of the foods: search, own foods from their labels, what they come to, faults, rights, a conflict."""

import pytest

from tests.web.kitchens import OURS, Browser, Kitchen

NASTY = "<script>alert(1)</script>\u202eneb"
CRACKERS = {
    "name": "seed crackers",
    "serving": "4 crackers",
    "grams": "30",
    "ingredients": "Wheat flour, sesame, salt.",
}


def add_crackers(browser: Browser, **more: str) -> str:
    """The crackers' address, added through the form."""
    browser.send(browser.get("/foods/new"), "/foods/new", **{**CRACKERS, **more})
    return browser.address


def test_foods_are_found_with_their_pictures_own_ones_first(kitchen: Kitchen) -> None:
    browser = kitchen.browser()
    found = browser.send(browser.get("/foods"), "/foods", q="rice cake")
    addresses = [address for address, words in found.links if "rice cake" in words]
    assert addresses[0].startswith("/foods/0")
    assert "your own food" in found.text
    assert "pictures.svg#" in found.html
    apple = browser.get("/foods/apple")
    assert "Counts as fruit." in apple.text
    assert ("/packets/new?food=apple", "Read its packet") in apple.links
    browser.get("/foods/no-such-food", 404)


def test_nothing_found_and_no_own_foods_say_what_to_do(small_kitchen: Kitchen) -> None:
    browser = small_kitchen.browser()
    assert "You have no foods of your own yet." in browser.get("/foods").text
    assert "No table has a food by these words." in browser.get("/foods?q=zzzzzz").text
    assert ("/foods/new?name=zzzzzz", "Add a food from its label") in browser.get("/foods?q=zzzzzz").links


def test_a_food_from_its_label_says_what_it_comes_to_and_how_to_find_out_the_rest(small_kitchen: Kitchen) -> None:
    browser = small_kitchen.browser()
    address = add_crackers(browser)
    page = browser.get(address)
    assert "Usual portion: 4 crackers, about 30 g." in page.text
    assert "Allergens in it: wheat and sesame." in page.text
    assert "Its energy: type it from the label" in page.text
    assert "What it counts as: choose it" in page.text
    # Common practice, no source: 30 g of crackers with 130 kcal are about one and a half slices of bread of 81 kcal each.
    page = browser.send(page, address, counts_as="crackers", energy_kcal="130", sodium_mg="1,5")
    assert "Counts as grains." in page.text
    assert "Energy: about as much as 1\u00bd slices of bread." in page.text
    kept = browser.client.get(f"/v1{address}").json()["kept"]
    assert (kept["counts_as"], kept["facts"]["sodium_mg"]) == ("crackers", 1.5)
    page = browser.send(page, address, energy_kcal="")
    assert browser.client.get(f"/v1{address}").json()["kept"]["facts"]["energy_kcal"] is None


def test_salt_and_kilojoules_of_a_label_are_kept_as_sodium_and_kilocalories(small_kitchen: Kitchen) -> None:
    browser = small_kitchen.browser()
    address = add_crackers(browser)
    page = browser.send(browser.get(address), address, energy_kcal="", sodium_mg="", energy_kj="544", salt_g="0,3")
    kept = browser.client.get(f"/v1{address}").json()["kept"]["facts"]
    assert (kept["energy_kcal"], kept["sodium_mg"]) == (130, 120)
    page = browser.send(page, address, status=422, energy_kcal="544", fat_g="4", carbohydrate_g="20", protein_g="3")
    assert "kilojoules, which have a field of their own" in page.text
    assert "#energy_kcal" in {href for href, _words in page.links}


def test_it_can_count_as_a_food_that_is_named(small_kitchen: Kitchen) -> None:
    browser = small_kitchen.browser()
    address = add_crackers(browser)
    page = browser.send(browser.get(address), address, status=422, counts_as="like", like="bannana")
    assert any(href == "#like" and "Did you mean" in words for href, words in page.links)
    page = browser.send(page, address, like="banana")
    assert "Counts as fruit." in page.text
    assert browser.client.get(f"/v1{address}").json()["kept"]["counts_as"] == "banana"


def test_faults_stand_at_their_fields_and_what_was_typed_stays(small_kitchen: Kitchen) -> None:
    browser = small_kitchen.browser()
    page = browser.send(
        browser.get("/foods/new"), "/foods/new", status=422, **{**CRACKERS, "grams": "", "fat_g": "a bit"}
    )
    assert {"#grams", "#fat_g"} <= {href for href, _words in page.links}
    fields = page.form("/foods/new").fields
    assert ("ingredients", CRACKERS["ingredients"]) in fields
    assert ("fat_g", "a bit") in fields
    add_crackers(browser)
    again = browser.send(browser.get("/foods/new"), "/foods/new", status=422, **CRACKERS)
    assert any(href == "#name" for href, _words in again.links)


def test_names_are_shown_as_text(small_kitchen: Kitchen) -> None:
    browser = small_kitchen.browser()
    address = add_crackers(browser, name=NASTY, ingredients=NASTY)
    for where in (address, "/foods", "/foods?q=script", f"{address}/remove"):
        page = browser.get(where)
        assert "<script>alert" not in page.html
    assert "<bdi>&lt;script&gt;" in browser.get("/foods").html


def test_an_edit_that_was_overtaken_shows_both_and_can_be_saved_again(small_kitchen: Kitchen) -> None:
    mine, theirs = small_kitchen.browser(), small_kitchen.browser()
    address = add_crackers(mine)
    page = mine.get(address)
    theirs.send(theirs.get(address), address, grams="31")
    both = mine.send(page, address, status=409, grams="32")
    assert "Yours 32 There now 31" in both.text
    mine.send(both, address)
    assert mine.client.get(f"/v1{address}").json()["kept"]["serving"]["grams"] == 32


def test_a_food_in_use_is_not_removed_another_is(kitchen: Kitchen) -> None:
    browser = kitchen.browser()
    bar = next(href for href, words in browser.get("/foods").links if words == "oat and honey bar")
    refused = browser.send(browser.get(f"{bar}/remove"), f"{bar}/remove", status=409)
    assert "oat and honey bar is still used" in refused.text
    address = add_crackers(browser)
    browser.send(browser.get(f"{address}/remove"), f"{address}/remove")
    assert browser.address == "/foods"
    browser.get(address, 404)


@pytest.mark.parametrize(("rights", "see"), [("pack", 200), ("take", 403)])
def test_other_devices_see_or_see_nothing_and_change_nothing(kitchen: Kitchen, rights: str, see: int) -> None:
    bar = next(href for href, words in kitchen.browser().get("/foods").links if words == "oat and honey bar")
    browser = kitchen.browser(rights, kitchen.children["Rowan"] if rights == "take" else None)
    for address in ("/foods", bar, "/foods/apple"):
        page = browser.get(address, see)
        assert not any(form.method == "post" and form.action.startswith("/foods") for form in page.forms)
    token = next(value for name, value in page.forms[-1].fields if name == "token")
    for address in ("/foods/new", bar, f"{bar}/remove"):
        assert browser.client.post(address, data={"token": token, **CRACKERS}, headers=OURS).status_code == 403
