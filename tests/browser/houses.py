"""The invented family behind a real server, and the browsers of its devices."""

import socket
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass, field
from threading import Thread
from typing import Any

import uvicorn
from playwright.sync_api import Browser, BrowserContext, Page

from service.jobs.household.access.sign_in_links import NewLink, make_link
from service.web.app import create_app
from tests.api.clients import settings_of
from tests.served import served
from tests.web.kitchens import Kitchen

PHONE = {"width": 390, "height": 844}
TABLET = {"width": 1280, "height": 800}
A_MOMENT = 60_000
"""Milliseconds that a busy machine is given for a click, a page or what is expected of it."""


@dataclass
class House:
    """A kitchen whose pages are served, and a browser to open them with. ``devices``: what each device has of its own."""

    kitchen: Kitchen
    port: int
    browser: Browser
    devices: list[BrowserContext] = field(default_factory=list)

    @property
    def address(self) -> str:
        """Where the pages are."""
        return f"http://127.0.0.1:{self.port}"

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
def in_this_process(url: str) -> Iterator[int]:
    """A store's pages on a port of this process, by the server that ``packed-lunch serve`` runs; the port.

    A new application with its own counts for each test, but no process that starts and reads all tables for seconds.
    """
    app = create_app(settings_of(database_url=url, allowed_hosts=""))
    server = uvicorn.Server(uvicorn.Config(app, log_level="warning", access_log=False, server_header=False))
    app.state.stopping = lambda: server.should_exit
    with socket.create_server(("127.0.0.1", 0)) as listening:
        thread = Thread(target=server.run, args=([listening],))
        thread.start()
        try:
            yield listening.getsockname()[1]
        finally:
            server.should_exit = True
            thread.join()


@contextmanager
def in_its_own_process(url: str) -> Iterator[int]:
    """The same by ``packed-lunch serve`` itself."""
    with served(PACKED_LUNCH_DATABASE_URL=url) as server:
        yield server.port


@contextmanager
def house_of(
    kitchen: Kitchen, browser: Browser, serving: Callable[[str], AbstractContextManager[int]] = in_this_process
) -> Iterator[House]:
    """Serve a kitchen's pages on a port of its own; every page is closed before the server stops."""
    with serving(kitchen.url) as port:
        house = House(kitchen, port, browser)
        try:
            yield house
        finally:
            for one in house.devices:
                one.close()
