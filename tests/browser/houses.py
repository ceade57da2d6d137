"""The invented family behind a real server, and the browsers of its devices."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from playwright.sync_api import Browser, BrowserContext, Page

from service.jobs.household.access.sign_in_links import NewLink, make_link
from tests.served import Server, served
from tests.web.kitchens import Kitchen

PHONE = {"width": 390, "height": 844}
TABLET = {"width": 1280, "height": 800}


@dataclass
class House:
    """A kitchen whose pages are served, and a browser to open them with."""

    kitchen: Kitchen
    server: Server
    browser: Browser

    @property
    def address(self) -> str:
        """Where the pages are."""
        return f"http://127.0.0.1:{self.server.port}"

    def device(self, rights: str = "keep", child: str | None = None, **context: Any) -> Page:
        """A page on a new device that is signed in by a link, as a person does it."""
        made: BrowserContext = self.browser.new_context(**{"viewport": PHONE, "locale": "en-GB", **context})
        page = made.new_page()
        with self.kitchen.store.writing() as connection:
            link = make_link(connection, self.kitchen.id, NewLink.model_validate({"rights": rights, "child": child}))
        page.goto(self.address + link.path)
        page.get_by_role("button", name="Use this device").click()
        page.wait_for_url(lambda url: link.path not in url)
        return page


@contextmanager
def house_of(kitchen: Kitchen, browser: Browser) -> Iterator[House]:
    """Serve a kitchen's pages on a port of its own."""
    with served(PACKED_LUNCH_DATABASE_URL=kitchen.url) as server:
        yield House(kitchen, server, browser)
