"""Holds a page against the accessibility rules of axe (WCAG 2.2 A and AA)."""

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

RULES = {
    "runOnly": {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}
}


def violations(page: Page) -> list[str]:
    """What is wrong on a page as it is shown: the rule and the first element, a line each."""
    found = Axe().run(page, options=RULES).response["violations"]
    return [f"{one['id']}: {one['help']}: {one['nodes'][0]['html'][:200]}" for one in found]
