"""A real browser against the real server: Debian's Chromium, driven by Playwright; skipped where there is none."""

import os
import shutil
from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, expect

from service.jobs.household.access.households import today
from service.jobs.household.settings import edit_settings
from service.store.database import Store
from tests.browser.houses import A_MOMENT, House, house_of
from tests.web.kitchens import demo_kitchen

KEPT = b'{"holding": {"insulated": true, "cold_sources": 2, "minutes_until_eaten": 240}}'

CHROMIUM = os.environ.get("CHROMIUM") or shutil.which("chromium") or shutil.which("chromium-browser")
QUIET = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark the tests of this folder, and skip them with the reason where no browser is installed."""
    for item in items:
        if "/tests/browser/" in str(item.path):
            item.add_marker(pytest.mark.browser)
            if CHROMIUM is None:
                item.add_marker(pytest.mark.skip(reason="needs Chromium: apt-get install chromium"))


expect.set_options(timeout=A_MOMENT)  # reached only where something is wrong


@pytest.fixture
def backend() -> str:
    """SQLite: what the pages do on PostgreSQL is tried without a browser, in ``tests/web``."""
    return "sqlite"


@pytest.fixture(scope="session")
def browser_type_launch_args() -> dict[str, Any]:
    """The system's Chromium, without its background traffic."""
    return {"executable_path": CHROMIUM, "args": QUIET}


@pytest.fixture
def house(store: Store, store_url: str, browser: Browser) -> Iterator[House]:
    """The invented family with its usual mornings set out today, served."""
    kitchen = demo_kitchen(store, store_url, today())
    kitchen.set_out("usual mornings", today())
    with house_of(kitchen, browser) as one:
        yield one


@pytest.fixture
def morning(house: House) -> House:
    """That family, which has said how lunches are kept."""
    with house.kitchen.store.writing() as connection:
        edit_settings(connection, house.kitchen.id, KEPT)
    return house
