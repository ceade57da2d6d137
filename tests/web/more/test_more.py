"""The page that leads to all others."""

from tests.web.kitchens import Kitchen


def test_it_leads_to_every_page_with_a_sentence(kitchen: Kitchen) -> None:
    page = kitchen.browser("pack").get("/more")
    for address in ("/children", "/foods", "/dishes", "/prices", "/bought", "/care", "/devices"):
        assert address in {href for href, _words in page.links}
    assert "Who you pack for" in page.text


def test_a_childs_device_is_not_led_anywhere(kitchen: Kitchen) -> None:
    kitchen.browser("take", kitchen.children["Rowan"]).get("/more", 403)
