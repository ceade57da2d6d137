"""A real browser against the real server: Debian's Chromium, driven by Playwright; skipped where there is none."""

import os
import shutil
from typing import Any

import pytest

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


@pytest.fixture(scope="session")
def browser_type_launch_args() -> dict[str, Any]:
    """The system's Chromium, without its background traffic."""
    return {"executable_path": CHROMIUM, "args": QUIET}
