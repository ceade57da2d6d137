"""A packet looked up by its code: its form comes filled in, and is kept only once it was compared with the packet in hand."""

import re
from collections.abc import Iterator
from html import unescape
from pathlib import Path
from typing import Any

import pytest

from tests.branded_foods import BISCUITS, NO_LIST, invented_index
from tests.lookup.live.stub import CODE, KEY, Answer, Stub, hit, stub_server
from tests.web.kitchens import Browser, Kitchen


@pytest.fixture
def parent(kitchen: Kitchen) -> Browser:
    """A device that may do everything, of a service with an index."""
    return kitchen.browser(branded_foods_file=str(invented_index()))


@pytest.fixture
def stub() -> Iterator[Stub]:
    with stub_server() as served:
        served.answers(hit(7))
        yield served


def links(browser: Browser) -> list[str]:
    """Where the page leads that the browser shows."""
    return [unescape(one) for one in re.findall(r'href="([^"]+)"', browser.last.text)]


def kept(browser: Browser, gtin: str = "012345678905") -> list[dict[str, Any]]:
    """The packets that are kept with a code."""
    return [one for one in browser.client.get("/v1/packets").json()["items"] if one["gtin"] == gtin]


def some_food(browser: Browser) -> str:
    """The id of a food that the page offers for the biscuits."""
    browser.get(f"/packets/new?gtin={BISCUITS}&find=oat+biscuits")
    return next(one for one in links(browser) if one.startswith("/packets/new?food=")).split("=")[1].split("&")[0]


def filled(browser: Browser, gtin: str = BISCUITS) -> Any:
    """The form of a packet that was looked up."""
    return browser.get(f"/packets/new?food={some_food(browser)}&gtin={gtin}")


def test_the_field_takes_what_a_scanner_types(parent: Browser) -> None:
    for at in ("/packets", "/packets/new", "/packets/look-up"):
        form = parent.get(at).form("/packets/look-up")
        assert form.method == "get"
    page = parent.get("/packets/look-up?q=012345678905")
    assert "OAT BISCUITS (MADE UP)" in page.text
    assert "entry of 1 April 2025" in page.text
    assert "copy on this computer as of 13 June 2024" in page.text
    assert any(link.startswith(f"/packets/new?gtin={BISCUITS}") for link in links(parent))


def test_words_find_products_too(parent: Browser) -> None:
    assert "OAT BISCUITS" in parent.get("/packets/look-up?q=oat+bisc").text
    assert "Nothing was found for that" in parent.get("/packets/look-up?q=unicorn").text


@pytest.mark.parametrize("typed", ["0000", "1" * 15, "00-00"])
def test_what_cannot_be_a_code_is_said(parent: Browser, typed: str) -> None:
    page = parent.get(f"/packets/look-up?q={typed}", 422)
    assert "digits" in page.text


def test_without_an_index_it_says_how_to_get_one(kitchen: Kitchen) -> None:
    browser = kitchen.browser()
    assert "packed-lunch branded build" in browser.get("/packets/look-up?q=012345678905").text
    assert "/food-data" in links(browser)


def test_the_form_comes_filled_in_with_source_and_date(parent: Browser) -> None:
    page = filled(parent)
    data = page.form("/packets/new").data()
    assert data["ingredients"] == ["OATS, SUGAR, PALM OIL, SALT, BUTTER (MILK)."]
    assert data["gtin"] == ["012345678905"]
    # 380 kcal, 12 g protein and 10 mg sodium of 100 g are 114, 3.6 and 3 of the serving of 30 g.
    assert (data["figure-energy_kcal"], data["figure-protein_g"], data["figure-sodium_mg"]) == (["114"], ["3.6"], ["3"])
    assert (data["facts_per"], data["serving"], data["serving_unit"]) == (["serving"], ["30"], ["g"])
    assert "Filled in from a database: OAT BISCUITS (MADE UP)." in page.text
    assert "entry of 1 April 2025" in page.text
    assert "Compare every line with the packet in your hand" in page.text


def test_it_is_kept_only_once_somebody_says_that_it_was_compared(parent: Browser) -> None:
    form = filled(parent)
    assert kept(parent) == []
    shown = parent.send(form, "/packets/new", "Show what it means")
    assert "Filled in from a database" in shown.text

    refused = parent.send(shown, "/packets/new", "Save", status=422)
    assert "then tick that you have" in refused.text
    assert kept(parent) == []

    parent.send(refused, "/packets/new", "Save", **{"filled-compared": "yes"})
    (packet,) = kept(parent)
    assert (packet["ingredients"], packet["gtin"]) == ("OATS, SUGAR, PALM OIL, SALT, BUTTER (MILK).", "012345678905")
    assert packet["may_contain"] is None  # the database does not say, so nothing is said for it
    assert "You have read this packet before" in parent.get("/packets/look-up?q=012345678905").text


def test_what_the_packet_says_otherwise_is_kept(parent: Browser) -> None:
    changed = {"ingredients": "Oats, sugar, almonds.", "filled-compared": "yes"}
    shown = parent.send(filled(parent), "/packets/new", "Show what it means", **changed)
    parent.send(shown, "/packets/new", "Save", **changed)
    (packet,) = kept(parent)
    assert packet["ingredients"] == "Oats, sugar, almonds."


def test_what_is_missing_there_stays_empty_and_is_said(parent: Browser) -> None:
    page = filled(parent, NO_LIST)
    data = page.form("/packets/new").data()
    assert data["ingredients"] == [""]
    assert (data["serving"], data["serving_unit"]) == (["240"], ["ml"])
    assert "no list of ingredients that can be read" in page.text.casefold()


def test_a_code_that_is_gone_by_now_leads_back(parent: Browser) -> None:
    page = parent.get(f"/packets/new?food={some_food(parent)}&gtin=4006381333931")
    assert parent.address == "/packets/look-up"
    assert "Nothing was found for that" in page.text


def test_in_spanish(kitchen: Kitchen) -> None:
    browser = kitchen.browser(language="es", branded_foods_file=str(invented_index()))
    page = browser.get("/packets/look-up?q=012345678905")
    assert "ficha del 1 de abril de 2025" in page.text
    assert "Compara cada línea con el envase" in page.text


def test_the_network_is_asked_where_it_is_switched_on(kitchen: Kitchen, stub: Stub, tmp_path: Path) -> None:
    browser = kitchen.browser(food_data_url=stub.url, food_data_cache=str(tmp_path / "kept.sqlite3"))
    page = browser.send(browser.get("/food-data"), "/food-data/live", "Switch it on", api_key=KEY)
    assert KEY not in page.text

    page = browser.get(f"/packets/look-up?q={CODE}")

    assert "INVENTED OAT BARS (Invented Foods)" in page.text
    assert "over the internet" in page.text
    stub.always(Answer({}, 403))
    page = browser.get("/packets/look-up?q=other+words")
    assert "refused the key" in page.text


def test_a_device_that_packs_does_not_look_up(kitchen: Kitchen) -> None:
    browser = kitchen.browser("pack", branded_foods_file=str(invented_index()))
    assert "/packets/look-up" not in [form.action for form in browser.get("/packets").forms]
    browser.get("/packets/look-up?q=012345678905", 403)
