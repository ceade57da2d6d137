"""Holds a page against the accessibility rules of axe (WCAG 2.2 A and AA)."""

from collections.abc import Sequence
from typing import Any

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]


OF_COLOURS = ["color-contrast", "link-in-text-block"]
NOT_OF_PAPER = ["target-size", "page-has-heading-one"]
"""Nothing is pressed on paper, and nobody goes through it from heading to heading."""


def violations(page: Page, rules: Sequence[str] = (), but: Sequence[str] = ()) -> list[str]:
    """What is wrong on a page as it is shown: the rule and the first element, a line each; by all rules or by some."""
    only: Any = {"type": "rule", "values": list(rules)} if rules else {"type": "tag", "values": TAGS}
    options = {"runOnly": only, "resultTypes": ["violations"], "rules": {one: {"enabled": False} for one in but}}
    found = Axe().run(page, options=options).response["violations"]
    return [f"{one['id']}: {one['help']}: {one['nodes'][0]['html'][:200]}" for one in found]
