"""The invented family behind a real server, and the browsers of its devices."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

from playwright.sync_api import Browser, BrowserContext, Page

from service.jobs.household.access.sign_in_links import NewLink, make_link
from tests.served import Server, served
from tests.web.kitchens import Kitchen

PHONE = {"width": 390, "height": 844}
TABLET = {"width": 1280, "height": 800}
A_MOMENT = 60_000
"""Milliseconds that a busy machine is given for a click, a page or what is expected of it."""


@dataclass
class House:
    """A kitchen whose pages are served, and a browser to open them with. ``devices``: what each device has of its own."""

    kitchen: Kitchen
    server: Server
    browser: Browser
    devices: list[BrowserContext] = field(default_factory=list)

    @property
    def address(self) -> str:
        """Where the pages are."""
        return f"http://127.0.0.1:{self.server.port}"

    def stranger(self, **context: Any) -> Page:
        """A page on a new device that is not signed in."""
        made: BrowserContext = self.browser.new_context(**{"viewport": PHONE, "locale": "en-GB", **context})
        made.set_default_timeout(A_MOMENT)
        self.devices.append(made)
        return made.new_page()

    def device(self, rights: str = "keep", child: str | None = None, **context: Any) -> Page:
        """A page on a new device that is signed in by a link, as a person does it."""
        page = self.stranger(**context)
        self.sign_in(page, rights, child)
        return page

    def sign_in(self, page: Page, rights: str = "keep", child: str | None = None) -> None:
        """Open a new link on a device, and press its button."""
        with self.kitchen.store.writing() as connection:
            link = make_link(connection, self.kitchen.id, NewLink.model_validate({"rights": rights, "child": child}))
        page.goto(self.address + link.path)
        page.get_by_role("button", name="Use this device").click()
        page.wait_for_url(lambda url: link.path not in url)


@contextmanager
def house_of(kitchen: Kitchen, browser: Browser, **environment: str) -> Iterator[House]:
    """Serve a kitchen's pages on a port of its own; every page is closed before the server stops.

    ``environment``: other settings of the service.
    """
    with served(PACKED_LUNCH_DATABASE_URL=kitchen.url, **environment) as server:
        house = House(kitchen, server, browser)
        try:
            yield house
        finally:
            for one in house.devices:
                one.close()
