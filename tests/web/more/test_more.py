"""The page that leads to all others."""

from datetime import date

from tests.web.kitchens import Kitchen

FOR_ALL = {"/plans", "/children", "/foods", "/dishes", "/stock", "/prices", "/bought"}
NOT_FOLLOWED = ("/static", "/docs")
MOST = 200


def test_it_leads_to_every_page_with_a_sentence(kitchen: Kitchen) -> None:
    page = kitchen.browser().get("/more")
    assert {*FOR_ALL, "/care", "/food-data", "/devices"} <= {href for href, _words in page.links}
    assert "Who you pack for" in page.text


def test_no_link_leads_whoever_packs_to_a_page_that_is_not_for_that_device(kitchen: Kitchen, on: date) -> None:
    """More led to Care, Food data and Devices, and Today to the form of a packet: "This device may not do that"."""
    kitchen.set_out("usual mornings", on)
    browser, seen, to_open = kitchen.browser("pack"), {"/more"}, ["/more", "/"]
    assert {href for href, _words in browser.get("/more").links} >= FOR_ALL
    assert "Read the packet of black beans" in browser.get("/").text
    while to_open and len(seen) < MOST:
        page = browser.get(to_open.pop())  # a page, whatever it is
        for href, _words in page.links:
            address = href.split("#")[0]
            if address.startswith("/") and not address.startswith(NOT_FOLLOWED) and "week=" not in address:
                to_open += [] if address in seen else [address]
                seen.add(address)
    assert len(seen) > 30


def test_a_childs_device_is_not_led_anywhere(kitchen: Kitchen) -> None:
    kitchen.browser("take", kitchen.children["Rowan"]).get("/more", 403)
