"""The pages that bring in a recipe: pasted or from a saved page, doubts answered line by line, kept as a dish."""

import pytest

from tests.web.kitchens import OURS, Browser, Kitchen
from tests.web.reading import Page

BEGIN, LINES = "/dishes/bring-in", "/dishes/bring-in/lines"
PAGE = """<html><script type="application/ld+json">{"@type": "Recipe", "name": "Apple <b>pot</b>",
"url": "https://example.org/pot", "recipeYield": "4 servings", "recipeIngredient": ["2 apples", "1 tbsp honey"]}</script></html>"""


def pasted(browser: Browser, lines: str, status: int = 200, **more: str) -> Page:
    return browser.send(browser.get(BEGIN), BEGIN, status=status, lines=lines, **more)


def answered(browser: Browser, page: Page, button: str, status: int = 200, **typed: str) -> Page:
    return browser.send(page, LINES, button, status, **typed)


def kept(browser: Browser) -> dict:
    return browser.client.get(f"/v1/recipes/{browser.address.rpartition('/')[2]}").json()


def test_pasted_lines_become_a_dish_after_what_is_asked_was_answered(small_kitchen: Kitchen) -> None:
    browser = small_kitchen.browser()
    assert any(href == BEGIN for href, _words in browser.get("/dishes").links)
    page = pasted(browser, "2 apples\n1 cup milk\na pinch of cinnamon\nFor the top:", country="US")
    assert "2 lines have something to answer." in page.text
    page = answered(browser, page, "Save", 422, name="warm apples", portions="2")
    assert {"#food-1", "#grams-2"} <= {href for href, _words in page.links}
    page = answered(browser, page, "Read again", **{"words-1": "skim milk", "grams-2": "0.5"})
    assert "0 lines have something to answer." in page.text
    answered(browser, page, "Save")
    dish = kept(browser)
    assert (dish["name"], dish["portions"]) == ("warm apples", 2)
    assert [(one["food"], one["grams"]) for one in dish["ingredients"]] == [
        ("apple", 364.0),
        ("milk-skim", 245.0),
        ("sr28-02010", 0.5),
    ]


def test_a_food_that_is_changed_is_weighed_anew_and_a_weight_that_was_typed_stays(small_kitchen: Kitchen) -> None:
    browser = small_kitchen.browser()
    page = pasted(browser, "1 cup milk\n2 apples", country="US")
    page = answered(browser, page, "Read again", **{"food-0": "milk-whole", "grams-1": "300"})
    fields = dict(page.form(LINES).fields)
    assert (fields["grams-0"], fields["grams-1"]) == ("244", "300")
    page = answered(browser, page, "Read again", **{"food-0": "milk-skim"})
    fields = dict(page.form(LINES).fields)
    assert (fields["grams-0"], fields["grams-1"]) == ("245", "300")


def test_a_saved_page_brings_its_name_and_portions_and_its_address_is_only_text(small_kitchen: Kitchen) -> None:
    browser = small_kitchen.browser()
    page = browser.get(BEGIN)
    data = dict(page.form(BEGIN).fields)
    sent = browser.client.post(BEGIN, data=data, files={"file": ("pot.html", PAGE.encode())}, headers=OURS)
    assert sent.status_code == 200
    page = Page(sent.text)
    assert "From: https://example.org/pot" in page.text
    assert not any("example.org" in href for href, _words in page.links)
    assert "<b>pot" not in page.html
    answered(browser, page, "Save")
    assert kept(browser)["name"] == "Apple pot"
    assert kept(browser)["portions"] == 4
    assert kept(browser)["from_address"] == "https://example.org/pot"
    shown = browser.get(browser.address)
    assert "From: https://example.org/pot" in shown.text
    assert not any("example.org" in href for href, _words in shown.links)
    browser.send(shown, "/dishes/", "Save", name="Pot of apples")
    assert (kept(browser)["name"], kept(browser)["from_address"]) == ("Pot of apples", "https://example.org/pot")
    linked = browser.client.get(f"/v1/foods/{kept(browser)['id']}", headers={"Accept": "application/ld+json"}).json()
    assert linked["url"] == "https://example.org/pot"


def test_weights_are_filled_in_to_a_tenth_and_read_back_in_spanish(small_kitchen: Kitchen) -> None:
    browser = small_kitchen.browser(language="es")
    page = pasted(browser, "1 tbsp olive oil", country="US")
    grams = dict(page.form(LINES).fields)["grams-0"]
    assert "." in grams
    assert len(grams.partition(".")[2]) == 1
    answered(browser, page, "Guardar", name="azúcar", portions="1")
    assert kept(browser)["ingredients"][0]["grams"] == float(grams)


def test_a_line_can_be_left_out_but_not_all(small_kitchen: Kitchen) -> None:
    browser = small_kitchen.browser()
    page = pasted(browser, "2 apples\n1 glug of oil")
    page = answered(browser, page, "Save", 422, name="x", portions="1", **{"out-0": "yes", "out-1": "yes"})
    assert "No line is left for the dish" in page.text
    page = pasted(browser, "2 apples\n1 glug of oil")
    answered(browser, page, "Save", name="apples", portions="1", **{"out-1": "yes"})
    assert [one["food"] for one in kept(browser)["ingredients"]] == ["apple"]


@pytest.mark.parametrize(
    ("content", "remedy"),
    [
        (b"<html></html>", "Copy the lines of ingredients"),
        (b"{", "Save the page or file again"),
        (b"\xff\xfe", "Save the page or file again"),
    ],
)
def test_a_file_without_a_recipe_is_said_at_its_field(small_kitchen: Kitchen, content: bytes, remedy: str) -> None:
    browser = small_kitchen.browser()
    data = dict(browser.get(BEGIN).form(BEGIN).fields)
    sent = browser.client.post(BEGIN, data=data, files={"file": ("a.html", content)}, headers=OURS)
    assert sent.status_code == 422
    page = Page(sent.text)
    assert "#file" in {href for href, _words in page.links}
    assert remedy in page.text


def test_nothing_pasted_and_wrong_numbers_are_said_at_their_fields(small_kitchen: Kitchen) -> None:
    browser = small_kitchen.browser()
    assert "#lines" in {href for href, _words in pasted(browser, " ", 422).links}
    page = pasted(browser, "2 apples")
    page = answered(browser, page, "Save", 422, name="x", portions="some", **{"grams-0": "lots"})
    assert {"#grams-0", "#portions"} <= {href for href, _words in page.links}
    page = answered(browser, page, "Save", 422, portions="1", **{"grams-0": "99999999"})
    assert "Give a number of grams above 0" in page.text


def test_what_was_pasted_is_shown_as_text(small_kitchen: Kitchen) -> None:
    page = pasted(small_kitchen.browser(), "2 <script>alert(1)</script> apples\n1 \u202eegg")
    assert "<script>alert" not in page.html


def test_the_pages_speak_spanish(small_kitchen: Kitchen) -> None:
    browser = small_kitchen.browser(language="es")
    page = pasted(browser, "1 cup milk\n2 apples")
    assert "cambia de un país a otro" in page.text
    assert "Traer otra receta" in page.text
