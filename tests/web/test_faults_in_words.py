"""What a form says of a wrong value: in the words of the page, in its language, and nothing that only a program would say."""

import re
from datetime import date

import pytest

from service.reference.messages import LANGUAGE, ON_PAGES, catalogue, page_catalogue, spoken
from tests.web.kitchens import Browser, Kitchen
from tests.web.reading import Page

JARGON = re.compile(r"JSON|/v1/|YYYY|finite|\b[a-z]+_[a-z]+\b|known values|control character|[0-9a-f]{8}-[0-9a-f]{4}")
WRONG = ("lots", "-5", "1e9", "nan", "1/0", "x" * 3000, "\N{RED APPLE}", "999999999999")
MEAL = "/bought/day/2026-12-01"


@pytest.fixture
def parent(kitchen: Kitchen) -> Browser:
    """A device that may do everything."""
    return kitchen.browser()


def jargon(page: Page) -> list[str]:
    return JARGON.findall(page.text.replace("sodium_mg", ""))


def test_how_lunches_are_kept_cold(parent: Browser) -> None:
    page = parent.get("/set-out")
    for wrong in WRONG:
        for field in ("packs", "hours"):
            answer = parent.send(page, "/set-out/kept", status=422, insulated="yes", **{field: wrong})
            assert jargon(answer) == [], (field, wrong)
    hours = parent.send(page, "/set-out/kept", status=422, insulated="yes", hours="30")
    assert "“30” is more than 24 hours. Type 24 or less." in hours.text


def test_a_figure_of_the_schools_meal(parent: Browser) -> None:
    page = parent.get(MEAL)
    for wrong in WRONG:
        answer = parent.send(page, MEAL, status=422, name="Soup", sodium_mg=wrong)
        assert jargon(answer) == [], wrong
    lots = parent.send(page, MEAL, status=422, name="Soup", sodium_mg="lots")
    assert "lots cannot be read as a number. Type it in digits, such as 35 or 4.5." in lots.text


def test_the_price_of_the_schools_meal(parent: Browser) -> None:
    page = parent.get("/bought")
    for wrong in ("", *WRONG):
        answer = parent.send(page, "/bought/price", status=422, amount=wrong, currency="USD")
        assert "Type the price in digits, such as 3.10" in answer.text, wrong
        assert jargon(answer) == jargon(page), wrong


def test_a_table_says_its_line_in_the_language_of_the_page(parent: Browser) -> None:
    parent.client.headers["Accept-Language"] = "es"
    page = parent.get("/bought")
    answer = parent.send(page, "/bought/table", status=422, table="date,name\n2026-02-30,Soup")
    assert "Línea 2, date: «2026-02-30» no es un día." in answer.text
    nothing = parent.send(page, "/bought/table", status=422, table="date,name")
    assert "Empieza con una línea de nombres de columnas" in nothing.text


def test_a_name_that_is_taken_is_said_without_the_id_of_the_other(kitchen: Kitchen, parent: Browser, on: date) -> None:
    offer = kitchen.set_out("usual mornings", on)
    page = parent.get("/set-out")
    copy = next(one for one in page.forms if one.action == "/set-out/new" and one.data().get("old") == [offer])
    answer = parent.client.post(
        copy.action, data=copy.data(name="usual mornings"), headers={"Sec-Fetch-Site": "same-origin"}
    )
    assert answer.status_code == 422
    assert "There is an offer called usual mornings already. Give this one another name." in Page(answer.text).text


def test_the_most_that_is_taken_is_not_below_the_least(kitchen: Kitchen, parent: Browser, on: date) -> None:
    offer = kitchen.set_out("usual mornings", on)
    page = parent.get(f"/set-out/{offer}")
    answer = parent.send(page, f"/set-out/{offer}/take", status=422, at_least="2", at_most="1")
    assert "“1” is less than 2, the least that is taken." in answer.text
    assert jargon(answer) == []


def test_pages_have_words_of_their_own_and_replies_to_programs_keep_theirs() -> None:
    code = "remedy.float-type"
    assert catalogue().texts[code] == "Give a JSON number."
    assert page_catalogue().texts[code] == "Type it in digits, such as 3.5."
    assert spoken() is catalogue("en")
    on_pages, language = ON_PAGES.set(True), LANGUAGE.set("es")
    try:
        assert spoken() is page_catalogue("es")
    finally:
        ON_PAGES.reset(on_pages)
        LANGUAGE.reset(language)
