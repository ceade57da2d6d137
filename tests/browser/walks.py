"""Walks in a browser over every page that links lead to: one of each kind is opened, and looked at in every way."""

import re
from collections.abc import Callable, Iterator

from tests.browser.axe import NOT_OF_PAPER, OF_COLOURS, violations
from tests.browser.looking import Looking
from tests.web.walking import all_routes

LINKS = "all => all.map((one) => one.getAttribute('href'))"
NOT_PAGES = re.compile(r"^/(events|static|docs|v1)\b|/photo$|\.(csv|ics|json|pdf)$")
PAGES = sorted((one.path for one in all_routes() if one.method == "GET"), key=lambda path: path.count("{"))
STARTS = [path for path in PAGES if "{" not in path and not NOT_PAGES.match(path)]


def kind_of(address: str) -> str | None:
    """What kind of page an address leads to: its route, and what is asked of it; None for what is no page of ours."""
    path, _sign, query = address.partition("#")[0].partition("?")
    if NOT_PAGES.search(path):
        return None
    for route in PAGES:
        if re.fullmatch(re.sub(r"\{\w+\}", "[^/]+", route), path):
            return f"{route}?{re.sub(r'=[^&]*', '', query)}"
    return None


def every_page(looking: Looking, starts: list[str] = STARTS) -> Iterator[str]:
    """Open one page of each kind, each time one that a link leads to, and give its address."""
    waiting, kinds = list(starts), set()
    while waiting:
        address = waiting.pop(0)
        kind = kind_of(address)
        if kind is None or kind in kinds:
            continue
        kinds.add(kind)
        if looking.open(address) != 200:  # such as two offers side by side without saying which: not a page to look at
            continue
        yield address
        waiting += looking.page.eval_on_selector_all("a[href^='/']", LINKS)


def in_every_light(looking: Looking, expected: int = 200) -> Iterator[str]:
    """The page as it is, in the dark, with words of twice the size, and on paper."""
    page = looking.page
    yield from looking.wrong(expected=expected)
    page.emulate_media(color_scheme="dark")
    yield from (f"in the dark: {one}" for one in violations(page, OF_COLOURS))  # nothing else changes
    page.emulate_media(color_scheme="light")
    page.evaluate("document.documentElement.style.fontSize = '200%'")
    yield from (f"at 200 %: {one}" for one in [*violations(page), *looking.out_of_room()])
    page.evaluate("document.documentElement.style.fontSize = ''")
    page.emulate_media(media="print")
    yield from (f"on paper: {one}" for one in violations(page, but=NOT_OF_PAPER))
    page.emulate_media(media="screen")


def faults_of(looking: Looking, look: Callable[[Looking], Iterator[str]], starts: list[str] = STARTS) -> list[str]:
    """What is wrong with any of the pages, a line each."""
    found = []
    for address in every_page(looking, starts):
        found += [f"{address}: {one}" for one in look(looking)]
        found += [f"{address}: {one}" for one in looking.sent_too_much()]
    return found
